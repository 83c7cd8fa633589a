"""What a row chooses of a design beside its words: version, colour of words, picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from personalize.design.design import Design, PictureArea, Version
from personalize.design.files import beside
from personalize.design.picture_file import UnusablePictureError
from personalize.design.pictures import picture_size
from personalize.design.style import Colour
from personalize.design.toml_values import parse_colour
from personalize.design.version_choice import version_faults
from personalize.errors import InputError
from personalize.finding import Finding, Severity
from personalize.geometry.affine import Affine, rotation
from personalize.messages.reserved import PICTURE, TEXT_COLOUR
from personalize.messages.table import Message
from personalize.rules import Rule
from personalize.units import MM_PER_INCH

WARN_PX_PER_INCH = 200.0
LEAST_PX_PER_INCH = 120.0
"""Coarser pictures look soft, or show their pixels. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A row's own picture, placed."""

    file: str
    """As the row names it."""
    path: Path
    place: Affine
    """From the unit square (y up) to piece mm."""
    width_mm: float
    px_per_inch: float


@dataclass(frozen=True, slots=True)
class Chosen:
    """What one row chooses."""

    version: Version | None = None
    colour: Colour | None = None
    """Of all words of the piece; None for each panel's own."""
    picture: Picture | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def version_name(self) -> str:
        """Name of the version; empty where the design has none."""
        return self.version.name if self.version is not None else ""


NOTHING_CHOSEN = Chosen()


def chosen_by(
    message: Message, design: Design, folder: Path | None, others: Sequence[Design] = ()
) -> Chosen:
    """Tell what a row chooses, with a finding for each choice that cannot be kept.

    `folder` is where the list lies: pictures are looked for there and below. `others` are
    all designs of the run, which share the column of versions.
    """
    found = list(version_faults(message, design, others))
    version = design.version(message.version)
    colour = version.colour if version is not None else None
    if message.text_colour:
        own = parse_colour(message.text_colour)
        if own is None:
            found.append(_no_colour(message))
        colour = own or colour
    picture = None
    if design.picture is not None and message.picture:
        picture = _picture(message, design.picture, folder, found)
    elif design.picture is not None:
        found.append(_no_picture(message))
    return Chosen(version, colour, picture, tuple(found))


def _no_picture(message: Message) -> Finding:
    says = "There is no picture for this piece; the design is printed as it is."
    do = "Name a file under picture, if there should be one."
    return Finding(Rule.NO_PICTURE, Severity.NOTE, says, do, message.row, PICTURE)


def _no_colour(message: Message) -> Finding:
    return Finding(
        Rule.NOT_A_COLOUR,
        Severity.ERROR,
        f"{message.text_colour!r} is not a solid colour.",
        "Write it as in a web page, such as #2d1b3d or navy, or leave the cell empty.",
        message.row,
        TEXT_COLOUR,
    )


def _picture(
    message: Message, area: PictureArea, folder: Path | None, found: list[Finding]
) -> Picture | None:
    try:
        path = beside(folder or Path(), message.picture, "picture")
        width, height = picture_size(path)
    except InputError as error:
        problem = error.problems[0]
        found.append(_fault(message, Rule.MISSING_PICTURE, problem.says, problem.do))
        return None
    except (UnusablePictureError, OSError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        says = f"{message.picture!r} cannot be printed: {reason}."
        found.append(
            _fault(message, Rule.UNUSABLE_PICTURE, says, "Choose another picture.")
        )
        return None
    picture = placed(message.picture, path, (width, height), area)
    found += _coarse(message, picture)
    return picture


def _fault(message: Message, rule: Rule, says: str, do: str) -> Finding:
    says = says[:1].upper() + says[1:]
    return Finding(rule, Severity.ERROR, says, do, message.row, PICTURE)


def placed(file: str, path: Path, size_px: tuple[int, int], area: PictureArea) -> Picture:
    """Place a picture in its area: as large as the way of fitting allows, in the middle."""
    upright = area.contour.transformed(rotation(-area.turn_deg))
    x0, y0, x1, y1 = upright.bounds()
    across, up = (x1 - x0) / size_px[0], (y1 - y0) / size_px[1]
    scale = max(across, up) if area.fit == "cover" else min(across, up)
    width, height = size_px[0] * scale, size_px[1] * scale
    corner = ((x0 + x1 - width) / 2, (y0 + y1 - height) / 2)
    place = rotation(area.turn_deg) @ Affine(width, 0, 0, height, *corner)
    return Picture(file, path, place, width, MM_PER_INCH / scale)


def _coarse(message: Message, picture: Picture) -> list[Finding]:
    density = picture.px_per_inch
    if density >= WARN_PX_PER_INCH:
        return []
    error = density < LEAST_PX_PER_INCH
    return [
        Finding(
            Rule.COARSE_PICTURE,
            Severity.ERROR if error else Severity.WARNING,
            f"{picture.file!r} has {density:.0f} pixels to the inch where it is printed:"
            f" it will {'show its pixels' if error else 'look a little soft'}.",
            f"Take a larger picture: {WARN_PX_PER_INCH:.0f} to the inch look sharp.",
            message.row,
            PICTURE,
            figures={"px_per_inch": round(density, 1)},
        )
    ]
