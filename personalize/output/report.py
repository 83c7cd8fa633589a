"""Write report.json: every piece, its texts and place, every sheet and finding.

Its contract is docs/report.schema.json. Boxes are in sheet mm, y up.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from personalize.design.design import Design
from personalize.finding import Finding
from personalize.geometry.affine import IDENTITY, Affine
from personalize.messages.table import Source
from personalize.sheet.fill import Placed, Sheet
from personalize.sheet.machine import Correction
from personalize.type.compose import ComposedText
from personalize.type.sizes import SizeSet

MARKER = "personalize_report"
"""Key that tells a folder of ours from somebody's own; its value is a format number."""
FORMAT = 1
REPORT_FILE = "report.json"


class Report:
    """A report under way; sheets go in one by one."""

    def __init__(
        self,
        source: Source,
        rows: int,
        sizes: Iterable[tuple[Design, Sequence[SizeSet]]],
    ) -> None:
        """Begin a report on `rows` messages of a table, set in designs."""
        self._sizes = [_size_set(design, one) for design, sets in sizes for one in sets]
        self._source = {
            "file": source.file,
            "encoding": source.encoding,
            "delimiter": source.delimiter,
            "worksheet": source.worksheet,
            "heading_row": source.heading_row,
            "decisions": list(source.decisions),
            "rows": rows,
        }
        self._pieces: list[str] = []
        self._sheets: list[dict[str, Any]] = []
        self._marks: list[dict[str, Any]] = []
        self._zones: dict[tuple[str, str, Affine], tuple[list[float], float]] = {}

        self._correction: dict[str, Any] = {"print": None, "back": None, "cut": None}

    def tell_correction(self, correction: Correction) -> None:
        """Take note of how files differ from the paper: machines not true, or face down."""
        self._correction = {
            name: None if by == IDENTITY else [round(v, 6) for v in by.tuple]
            for name, by in (
                ("print", correction.print),
                ("back", correction.back),
                ("cut", correction.cut),
            )
        }

    def add_sheet(self, sheet: Sheet) -> None:
        """Take note of a sheet and its pieces, and of its other side."""
        behind = iter(sheet.back.placed if sheet.back is not None else ())
        for placed in sheet.placed:
            entry = self._piece(sheet, placed)
            other = next(behind) if placed.piece.back is not None else None
            entry["back"] = None if other is None else self._back(other)
            # Kept as text: a tenth of the memory that the dictionaries take.
            self._pieces.append(_dumped(entry))
        self._add_side(sheet)
        if sheet.back is not None:
            self._add_side(sheet.back)
        if not self._marks:
            self._marks = [
                {"kind": mark.look.value, "centre_mm": _rounded(mark.centre)}
                for mark in sheet.marks
            ]

    def _add_side(self, sheet: Sheet) -> None:
        self._sheets.append(
            {
                "number": sheet.number,
                "side": sheet.side,
                "paper": sheet.paper.name,
                "width_mm": round(sheet.paper.width_mm, 4),
                "height_mm": round(sheet.paper.height_mm, 4),
                "pieces": sum(placed.piece.row is not None for placed in sheet.placed),
                "filled": sum(placed.piece.row is None for placed in sheet.placed),
                "cut_file": sheet.cut_file,
                "designs": list(dict.fromkeys(p.piece.design.name for p in sheet.placed)),
                "stock": sheet.stock,
            }
        )

    def _piece(self, sheet: Sheet, placed: Placed) -> dict[str, Any]:
        piece = placed.piece
        return {
            "row": piece.row,
            "copy": piece.copy,
            "design": piece.design.name,
            "version": piece.version,
            "picture": piece.picture.file if piece.picture else None,
            "sheet": sheet.number,
            **self._lying(placed),
        }

    def _back(self, placed: Placed) -> dict[str, Any]:
        piece = placed.piece
        told = {"design": piece.design.name, "version": piece.version}
        return {**told, **self._lying(placed)}

    def _lying(self, placed: Placed) -> dict[str, Any]:
        """Tell the place of a side of a piece, and its texts."""
        piece, at = placed.piece, placed.at
        return {
            "at": [round(v, 6) for v in at.tuple],
            "texts": [
                _text(piece.design, text, at, self._zone(piece.design, text.panel, at))
                for text in piece.texts
            ],
        }

    def _zone(self, design: Design, panel: str, at: Affine) -> tuple[list[float], float]:
        """Box and area of a safe zone at a place; places are the same on every sheet."""
        key = (design.name, panel, at)
        if key not in self._zones:
            zone = design.panel(panel).zone
            self._zones[key] = (_rounded(zone.mapped(at).box), round(zone.area_mm2, 3))
        return self._zones[key]

    def json(self, findings: Iterable[Finding], files: Iterable[str]) -> str:
        """Give the report as text."""
        head = {MARKER: FORMAT, "source": self._source}
        tail = {
            "sheets": self._sheets,
            "marks": self._marks,
            "sizes": self._sizes,
            "correction": self._correction,
            "findings": [finding_entry(finding) for finding in findings],
            "files": sorted({*files, REPORT_FILE}),
        }
        pieces = ",\n".join(self._pieces)
        return f'{_dumped(head)[:-1]},\n"pieces": [\n{pieces}\n],\n{_dumped(tail)[1:]}\n'


def finding_entry(finding: Finding) -> Mapping[str, Any]:
    """Give a finding as the report has it."""
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "row": finding.row,
        "design": finding.design,
        "column": finding.column,
        "panel": finding.panel,
        "block": finding.block,
        "says": finding.says,
        "do": finding.do,
        "figures": dict(finding.figures),
    }


def _place(design: Design, name: str) -> dict[str, str | None]:
    """Name a panel and its block, if it has several."""
    panel = design.panel(name)
    return {"panel": panel.of, "block": panel.block}


def _size_set(design: Design, one: SizeSet) -> dict[str, Any]:
    return {
        "design": design.name,
        "places": [_place(design, name) for name in one.places],
        "rule": one.rule,
        "steps_pt": list(one.steps_pt),
    }


def _text(
    design: Design, text: ComposedText, at: Affine, zone: tuple[list[float], float]
) -> dict[str, Any]:
    ink = text.ink_box(at)
    return {
        **_place(design, text.panel),
        "text": text.text,
        "font": text.font,
        "size_pt": text.size_pt,
        "largest_pt": text.largest_pt,
        "colour": text.colour.css,
        "rim": text.rim.kind if text.rim else None,
        "leading_pt": round(text.leading_pt, 3),
        "x_height_mm": round(text.x_height_mm, 4),
        "lines": list(text.said),
        "turn_deg": round(text.turn_deg, 6),
        "ink_mm": _rounded(ink) if ink else None,
        "zone_box_mm": zone[0],
        "zone_mm2": zone[1],
    }


def _rounded(values: Iterable[float]) -> list[float]:
    return [round(v, 4) for v in values]


def _dumped(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
