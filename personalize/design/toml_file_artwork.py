"""Keys of [artwork]: its edge, and a PDF page or a picture printed under the words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from personalize.design.pdf_page import BOXES
from personalize.design.spec import ArtworkSpec, TraceSpec
from personalize.design.toml_values import Values

_TRACE_KEYS = ("offset_mm", "tolerance_mm", "specks_mm2")
_PDF_KEYS = ("page", "box")
_PICTURE_KEYS = ("size_mm", "width_mm", "px_per_inch")
_FILE_KEYS = ("file", "at", "trace", *_PDF_KEYS, *_PICTURE_KEYS, *_TRACE_KEYS)
_KEYS = ("extend_edge", *_FILE_KEYS)
PDF = (".pdf",)
PICTURES = (".png", ".jpg", ".jpeg", ".jpe")
_MOST_PAGE = 100_000


def extends_edge(values: Values, data: Mapping[str, Any]) -> bool:
    """Read whether the artwork's edge colours are continued into the bleed."""
    table = values.table(data, "artwork")
    values.known_keys("artwork", 0, table, _KEYS)
    return bool(values.flag("artwork", 0, table, "extend_edge"))


def artwork_spec(values: Values, data: Mapping[str, Any]) -> ArtworkSpec | None:
    """Read the file of [artwork]; None where the drawing is it, or it cannot be used."""
    table = data.get("artwork")
    if not isinstance(table, dict) or not set(table) & set(_FILE_KEYS):
        return None
    place = values.place("artwork", 0, "file")
    file = (values.text("artwork", 0, table, "file") or "").strip()
    if not file.casefold().endswith((*PDF, *PICTURES)):
        if "file" not in table or isinstance(table["file"], str):
            values.problem(
                place,
                f"the artwork {file!r} is no PDF, PNG or JPEG file."
                if file
                else "the artwork has no file.",
                'Write file = "flag.pdf" or "flag.png"; an SVG is named by svg above.',
            )
        return None
    _refuse_keys(values, table, file)
    _refuse_twice(values, table)
    return ArtworkSpec(
        place,
        file,
        _page(values, "artwork", 0, table),
        values.choice("artwork", 0, table, "box", BOXES),
        _pair(values, table, "at", -5000),
        _pair(values, table, "size_mm", 1),
        values.number("artwork", 0, table, "width_mm", 1, 5000),
        values.number("artwork", 0, table, "px_per_inch", 10, 10_000),
        _trace(values, table),
        table.get("extend_edge") is True,
    )


def file_of(
    values: Values,
    name: str,
    nth: int,
    table: Mapping[str, Any],
    usual: ArtworkSpec | None,
) -> ArtworkSpec | None:
    """Read the file and page of a table; what they do not say is as in [artwork]."""
    place = values.place(name, nth, "file" if "file" in table else "page")
    given = values.text(name, nth, table, "file")
    file = (given or "").strip() if "file" in table or usual is None else usual.file
    is_pdf = file.casefold().endswith(PDF)
    if not is_pdf and not file.casefold().endswith(PICTURES):
        values.problem(
            place,
            f"the picture {file!r} is no PDF, PNG or JPEG file."
            if file
            else "a page of no file is asked for.",
            'Write file = "plum.png" or "plum.pdf"; a drawing is named by svg.',
        )
        return None
    if "page" in table and not is_pdf:
        values.problem(
            values.place(name, nth, "page"),
            f"{file} is a picture, which has no pages.",
            "Leave page out.",
        )
    page = _page(values, name, nth, table)
    if usual is None or usual.file.casefold().endswith(PDF) is not is_pdf:
        at = None if usual is None else usual.at
        return ArtworkSpec(place, file, page, at=at)
    return replace(usual, place=place, file=file, page=page)


def _refuse_twice(values: Values, table: Mapping[str, Any]) -> None:
    sizes = [key for key in ("size_mm", "width_mm", "px_per_inch") if key in table]
    if len(sizes) > 1:
        values.problem(
            values.place("artwork", 0, sizes[1]),
            f"{' and '.join(sizes)} say the size twice.",
            "Keep one of them.",
        )


def _refuse_keys(values: Values, table: Mapping[str, Any], file: str) -> None:
    is_pdf = file.casefold().endswith(PDF)
    for key in _PICTURE_KEYS if is_pdf else _PDF_KEYS:
        if key in table:
            other = "a PDF page" if is_pdf else "a picture"
            do = "its size is its own" if is_pdf else "it has none"
            values.problem(
                values.place("artwork", 0, key),
                f"{key} says nothing of {other}.",
                f"Leave it out: {do}.",
            )
    if is_pdf and table.get("extend_edge") is True:
        values.problem(
            values.place("artwork", 0, "extend_edge"),
            "extend_edge is for drawings and pictures, not for a PDF page.",
            "Let the page itself reach past the outline.",
        )
    if table.get("trace") is True:
        if "at" in table:
            values.problem(
                values.place("artwork", 0, "at"),
                "at says nothing where the outline is traced.",
                "Leave it out: the lines are the picture's own.",
            )
        return
    for key in _TRACE_KEYS:
        if key in table:
            values.problem(
                values.place("artwork", 0, key),
                f"{key} is for an outline that is traced.",
                "Write trace = true, or leave it out.",
            )


def _page(values: Values, name: str, nth: int, table: Mapping[str, Any]) -> int:
    page = table.get("page", 1)
    if type(page) is int and 1 <= page <= _MOST_PAGE:
        return page
    values.problem(
        values.place(name, nth, "page"),
        "page must be a whole number from 1.",
        "Write, for example, page = 2.",
    )
    return 1


def _trace(values: Values, table: Mapping[str, Any]) -> TraceSpec | None:
    if not values.flag("artwork", 0, table, "trace"):
        return None
    usual = TraceSpec()
    moved = values.number("artwork", 0, table, "offset_mm", -100, 100)
    within = values.number("artwork", 0, table, "tolerance_mm", 0.02, 2)
    specks = values.number("artwork", 0, table, "specks_mm2", 0, 10_000)
    return TraceSpec(
        usual.offset_mm if moved is None else moved,
        usual.tolerance_mm if within is None else within,
        usual.specks_mm2 if specks is None else specks,
    )


def _pair(
    values: Values, table: Mapping[str, Any], key: str, low: float
) -> tuple[float, float] | None:
    given = table.get(key)
    if given is None:
        return None
    if (
        isinstance(given, Sequence)
        and len(given) == 2
        and all(type(v) in (int, float) and low <= v <= 5000 for v in given)
    ):
        return (float(given[0]), float(given[1]))
    what = "width, height" if key == "size_mm" else "left, top"
    values.problem(
        values.place("artwork", 0, key),
        f"{key} must be two numbers in mm: {what}.",
        f"Write, for example, {key} = [10, 12].",
    )
    return None
