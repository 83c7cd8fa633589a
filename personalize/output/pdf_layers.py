"""Die lines in a PDF for a print shop: a layer and an ink of its own for each kind.

Layers are optional content groups (ISO 32000-1, 8.11). What a layer is for stands in its
GTS_Metadata as ISO 19593-1 has it; groups and types are those of the PDF Association's
Arlington model (GTS_ProcStepsGroup, GTS_ProcStepsType), which was read, not the standard
itself. The inks are separations that overprint (ISO 32000-1, 8.6.6.4 and 8.6.7): they
knock nothing out of the artwork, and a shop leaves their plates off.
"""

from collections.abc import Iterable, Sequence

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from personalize.design.design import DesignLine, LineKind
from personalize.geometry.affine import Affine
from personalize.output.pdf_content import TO_PT, Part, path
from personalize.units import PT_PER_MM, number

LINE_MM = 0.2
LEGEND = "Legend"
_SEEN_AS = (0.35, 0.75, 0.0, 0.15)
"""How every die line looks where there is no such ink: cyan, magenta, yellow, black. One
look for all: kinds are told apart by pattern and by the names of their layers."""
_DASHES_MM: dict[LineKind, tuple[float, ...]] = {
    LineKind.CREASING: (3, 1.5),
    LineKind.PERFORATING: (1, 1),
    LineKind.PARTIAL_CUTTING: (6, 1, 1, 1),
    LineKind.GLUING: (0.5, 1),
}


class Layers:
    """The layers of a document; each is made when it is first used."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self._pdf = pdf
        self._groups: dict[str, pikepdf.Object] = {}
        self._inks = Dictionary()

    def lines(self, lines: Iterable[DesignLine], at: Affine) -> list[Part]:
        """Draw die lines, each on the layer of its kind; `at` maps piece mm to page mm."""
        by_kind: dict[LineKind, list[str]] = {}
        for line in lines:
            by_kind.setdefault(line.kind, []).append(
                f"{path(line.contour.transformed(at), TO_PT)} S"
            )
        parts: list[Part] = []
        for kind in sorted(by_kind):
            self._group(kind.value, "Structural", kind.value)
            self._inks[f"/{kind.value}"] = self._ink(kind.value)
            dashes = " ".join(number(d * PT_PER_MM) for d in _DASHES_MM.get(kind, ()))
            parts += [
                f"/OC /{kind.value} BDC",
                f"q /Over gs /{kind.value} CS 1 SCN {number(LINE_MM * PT_PER_MM)} w"
                f" [{dashes}] 0 d",
                *by_kind[kind],
                "Q",
                "EMC",
            ]
        return parts

    def legend(self, parts: Sequence[Part]) -> list[Part]:
        """Put what is only to be read, beside the piece, on a layer of its own."""
        self._group(LEGEND, LEGEND, None)
        return [f"/OC /{LEGEND} BDC", *parts, "EMC"]

    def resources(self) -> dict[str, Dictionary]:
        """Give what the parts name."""
        over = Dictionary(Type=Name.ExtGState, OP=True, op=True, OPM=1)
        return {
            "Properties": Dictionary({f"/{n}": g for n, g in self._groups.items()}),
            "ColorSpace": self._inks,
            "ExtGState": Dictionary(Over=over),
        }

    def finish(self) -> None:
        """Tell the document of its layers: all are seen, in the order of their names."""
        groups = Array([group for _, group in sorted(self._groups.items())])
        shown = Dictionary(
            Name=String("Artwork with all lines"), BaseState=Name.ON, Order=groups
        )
        self._pdf.Root.OCProperties = Dictionary(OCGs=groups, D=shown)

    def _group(self, name: str, group: str, kind: str | None) -> None:
        if name in self._groups:
            return
        step = Dictionary(GTS_ProcStepsGroup=Name(f"/{group}"))
        if kind is not None:
            step.GTS_ProcStepsType = Name(f"/{kind}")
        self._groups[name] = self._pdf.make_indirect(
            Dictionary(Type=Name.OCG, Name=String(name), GTS_Metadata=step)
        )

    def _ink(self, name: str) -> pikepdf.Object:
        """A separation whose full tint looks as `_SEEN_AS`."""
        seen = [pikepdf.Object.parse(number(part).encode()) for part in _SEEN_AS]
        tint = Dictionary(
            FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=Array(seen), N=1
        )
        space = Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, tint])
        return self._pdf.make_indirect(space)
