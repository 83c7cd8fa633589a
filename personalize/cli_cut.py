"""Options of `make` for the cut files, and their reading."""

from collections.abc import Callable
from typing import Any

import click

from personalize.cli_values import distance_mm
from personalize.cut_files import CutOptions
from personalize.design.design import LineKind
from personalize.errors import refuse
from personalize.job import together
from personalize.options import ALSO
from personalize.output.cut_dxf import CURVES
from personalize.sheet.uncut import CREASE_DASHES, NICK_MM, PERFORATION, CutRules
from personalize.units import length_mm

MOST_NICKS = 99
MOST_NICK_MM = 5.0
LEAST_AROUND_MM, MOST_AROUND_MM = 0.5, 100.0
_TOLD = ("creases", "perforations", "nicks", "around")


def cut_options(function: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options on cut files."""
    for decorator in (
        click.option("--count", type=int, help="So many pieces, without words."),
        click.option(
            "--also",
            multiple=True,
            callback=all_kinds,
            help=f"Further files: {', '.join(ALSO)}.",
        ),
        click.option(
            "--creases",
            type=click.Choice(["lines", "dashes"]),
            help="Creases as dashes: for machines without a scoring tool"
            " [as the design asks, else lines].",
        ),
        click.option(
            "--perforations",
            type=click.Choice(["lines", "dashes"]),
            help="PartingLines as dashes: for machines without a perforating tool"
            " [as the design asks, else lines].",
        ),
        click.option(
            "--nicks", help="N,MM: N uncut bridges that hold each piece, such as 4,0.5."
        ),
        click.option(
            "--dxf-curves",
            type=click.Choice(CURVES),
            help="Curves in cut.dxf: splines are true, polylines are for old readers"
            f" [{CURVES[0]}].",
        ),
        click.option("--around", help="Cut round all pieces of a sheet, so far away."),
    ):
        function = decorator(function)
    return function


def read_cut_options(given: dict[str, Any]) -> CutOptions:
    """Read the options; raises InputError with all that is wrong with them."""
    nicks, around = together(
        lambda: _nicks(given.get("nicks")),
        lambda: _around(given.get("around")),
    )
    dashes = {}
    if given.get("creases") == "dashes":
        dashes[LineKind.CREASING] = CREASE_DASHES
    if given.get("perforations") == "dashes":
        dashes[LineKind.PERFORATING] = PERFORATION
    return CutOptions(
        CutRules(dashes, nicks[0], nicks[1], around),
        given.get("dxf_curves") or CURVES[0],
        frozenset(name for name in _TOLD if given.get(name) is not None),
    )


def all_kinds(
    _context: click.Context, _option: click.Parameter, given: tuple[str, ...]
) -> str | None:
    """Join what is asked for again and again, so that no file is left out in silence."""
    return ",".join(given) if given else None


def read_also(text: str | None) -> frozenset[str]:
    """Read which further files are asked for. Raises InputError for one not known."""
    kinds = [kind.strip().casefold() for kind in (text or "").split(",") if kind.strip()]
    unknown = [kind for kind in kinds if kind not in ALSO]
    if unknown or (text is not None and not kinds):
        says = f"{(unknown[0] if unknown else text)!r} names no kind of file that is known."
        raise refuse("--also", says, f"Use {', '.join(ALSO)}.")
    return frozenset(kinds)


_MACHINES_ALONE = frozenset({"dxf", "together", "marks", "shop", "ganged"})


def refuse_machine_files(also: frozenset[str], cut: CutOptions) -> None:
    """Refuse what only a machine can use, where hands cut."""
    asked = sorted(also & _MACHINES_ALONE)
    if not asked and cut == CutOptions():
        return
    what = f"--also {','.join(asked)}" if asked else "how a machine cuts"
    raise refuse(
        "--by-hand",
        f"{what} is asked for, and nothing is written for a machine.",
        "Leave that out, or --by-hand.",
    )


def _nicks(text: str | None) -> tuple[int, float]:
    if text is None:
        return 0, NICK_MM
    number, _, width = text.partition(",")
    try:
        count, mm = int(number), length_mm(width) if width.strip() else NICK_MM
    except ValueError:
        count, mm = -1, 0.0
    if not (0 <= count <= MOST_NICKS and 0.1 <= mm <= MOST_NICK_MM):
        raise refuse(
            "--nicks",
            f"{text!r} is no number of nicks with their length.",
            f"Write 4,0.5 for four nicks of 0.5 mm (at most {MOST_NICKS}, from 0.1 to"
            f" {MOST_NICK_MM:g} mm).",
        )
    return count, mm


def _around(text: str | None) -> float | None:
    if text is None:
        return None
    return distance_mm("--around", text, LEAST_AROUND_MM, MOST_AROUND_MM)
