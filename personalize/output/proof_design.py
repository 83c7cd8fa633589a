"""What all pieces of one design share on the proof: artwork, lines, faces, leaves."""

import json
from collections.abc import Iterator, Sequence
from html import escape

from personalize.design.artwork_render import render_artwork
from personalize.design.chosen import Chosen, Picture
from personalize.design.design import CUT_SHIFT_MM, Design, LineKind
from personalize.design.pictures import preview
from personalize.design.short_bleed import short_of
from personalize.fold.across import Face, faces_of
from personalize.fold.drift import Drift, Edges
from personalize.fold.steps import FoldSteps, fold_steps
from personalize.geometry.affine import Affine, Point
from personalize.geometry.zone import Region, cleared, grown
from personalize.output.cut_svg import path_data
from personalize.output.proof_draw import Box, image, matrix, picture, rings, roomy
from personalize.type.spread import Spread
from personalize.units import FLATTEN_MM, number

PX_PER_MM = 8.0
"""Resolution of the artwork on the page: about 200 px per inch, sharp when printed."""
RING_MM = 2.0
"""Round a place where bleed is missing."""
LINE_WORDS = {
    LineKind.CUTTING: "outline, where the blade goes",
    LineKind.PARTIAL_CUTTING: "cut half through",
    LineKind.CREASING: "crease, where it folds",
    LineKind.PERFORATING: "perforation, where it tears",
    LineKind.GLUING: "edge of the glue",
}


class DesignShown:
    """One design on the page. `key` begins the names of all that it defines."""

    def __init__(
        self,
        key: str,
        design: Design,
        printed: Region,
        spreads: Sequence[Spread],
        *,
        cut_shift_mm: float = CUT_SHIFT_MM,
        bare: Sequence[Point] = (),
    ) -> None:
        """Make ready; a cut may be so far off; at `bare` places bleed is missing."""
        self.cut_shift_mm = cut_shift_mm
        self.bare = bare
        self.key, self.design, self.printed, self.spreads = key, design, printed, spreads
        self.edges = Edges(design)
        # A back is shown open: folded, it is inside.
        self.folding: FoldSteps | None = None if design.is_back else fold_steps(design)
        self._faces = faces_of(design)
        self._artworks: dict[str, int] = {}
        self._pictures: dict[Picture, int] = {}
        self._short: dict[tuple[str, bool], tuple[Region, ...]] = {}

    @property
    def kinds(self) -> tuple[LineKind, ...]:
        """Kinds of lines that this design has."""
        there = {line.kind for line in self.design.lines}
        return tuple(kind for kind in LINE_WORDS if kind in there)

    def under(self, chosen: Chosen) -> str:
        """Draw what lies under the words: the artwork, and the row's own picture."""
        version = chosen.version_name
        at = self._artworks.setdefault(version, len(self._artworks))
        out = f'<use href="#{self.key}-art-{at}"/>'
        if chosen.picture is not None:
            nth = self._pictures.setdefault(chosen.picture, len(self._pictures))
            own = f'<use href="#{self.key}-own-{nth}"/>'
            out += f'<g clip-path="url(#{self.key}-clip-own)">{own}</g>'
        return out

    def short(self, chosen: Chosen) -> tuple[Region, ...]:
        """Give the areas past the cut lines where a piece lacks ink."""
        pictured = chosen.picture is not None
        key = (chosen.version_name, pictured)
        if key not in self._short:
            art = self.design.artwork_of(chosen.version_name)
            lacking = short_of(self.design, art, self.cut_shift_mm)
            if pictured and self.design.picture is not None:
                # Taken as covering its area.
                ring = [self.design.picture.contour.flattened(FLATTEN_MM)]
                lacking = tuple(p for part in lacking for p in cleared(part, ring))
            self._short[key] = lacking
        return self._short[key]

    def _marked(self, chosen: Chosen) -> str:
        """Mark the areas that lack ink, in what is seen of a piece once its cut drifts."""
        if not self.short(chosen):
            return ""
        nth = list(self._short).index((chosen.version_name, chosen.picture is not None))
        return f'<use href="#{self.key}-short-{nth}"/>'

    def views(self, name: str, printed: str, chosen: Chosen) -> str:
        """Show a piece flat, and each face as the eye will see it.

        `printed` is all that is printed of the piece; it is drawn once, as `name`.
        """
        flat = picture(
            roomy(self.printed.box),
            f'<g id="{name}">{printed}</g><use class="die" href="#{self.key}-lines"/>',
        )
        label = "the back, flat" if self.design.is_back else "flat"
        short = self._marked(chosen)
        faces = "".join(
            self._face(i, face, name, short) for i, face in enumerate(self._faces)
        )
        under = f"<figcaption>{label}</figcaption>"
        return f'<figure class="{self.key}-flat">{flat}{under}</figure>{faces}'

    def _face(self, i: int, face: Face, name: str, short: str) -> str:
        """Show a face of the folded piece, cut where the blade goes.

        `short` marks where ink is lacking past the cut: seen as soon as the cut drifts.
        """
        key = f"{self.key}-face-{i}"
        shown = picture(
            roomy(face.region.box),
            f'<g transform="{matrix(face.to_view)}">'
            f'<g class="die" clip-path="url(#{key})"><use href="#{key}-paper"/>'
            f'<g class="print"><use href="#{name}"/>{short}</g></g>'
            f'<use class="die" href="#{key}-brim"/></g>',
        )
        several = len(self._faces) > 1
        folded = "open" if self.design.is_back else "folded"
        label = f"{folded}, {escape(face.panel.of)}" if several else "cut out"
        label += ", turned over" if self.design.is_back and not several else ""
        return f'<figure class="{key}">{shown}<figcaption>{label}</figcaption></figure>'

    def cut_out(
        self, name: str, drift: Drift | None, bare: Sequence[Region], box: Box | None = None
    ) -> str:
        """Show a piece cut astray or as planned, bare paper marked; all of it or a box."""
        dx, dy = (drift.dx_mm, drift.dy_mm) if drift else (0.0, 0.0)
        back = f'<g transform="translate({number(-dx)} {number(-dy)})">'
        marked = "".join(f'<path class="bare" d="{rings(part)}"/>' for part in bare)
        return picture(
            box or roomy(self.design.box_mm),
            f'<g transform="translate({number(dx)} {number(dy)})">'
            f'<g clip-path="url(#{self.key}-cut)"><use href="#{self.key}-paper"/>'
            f'{back}<use href="#{name}"/></g></g><use href="#{self.key}-brim"/></g>'
            f'<use class="planned" href="#{self.key}-brim"/>{marked}',
        )

    def definitions(self) -> Iterator[str]:
        """Give what the pieces refer to."""
        key = self.key
        yield from self._clipped("print", self.printed)
        yield from self._clipped("cut", self.design.silhouette)
        for i, face in enumerate(self._faces):
            yield from self._clipped(f"face-{i}", face.panel.region)
        yield from self._drawn_under()
        for nth, lacking in enumerate(self._short.values()):
            if not lacking:
                continue
            name, shape = f"{key}-short-{nth}", "".join(map(rings, lacking))
            # Its own clip, so that the mark's edge does not reach into the piece.
            yield f'<clipPath id="{name}-in"><path d="{shape}"/></clipPath>'
            clip = f'clip-path="url(#{name}-in)"'
            yield f'<g id="{name}" {clip}><path class="bare" d="{shape}"/></g>'
        yield f'<g id="{key}-lines">{self._lines()}</g>'
        if self.folding is not None:
            for i, leaf in enumerate(self.folding.leaves):
                yield from self._clipped(f"leaf-{i}", leaf)

    def _clipped(self, name: str, region: Region) -> Iterator[str]:
        """Give a region as a clip, as paper and as a fine edge."""
        key, shape = f"{self.key}-{name}", rings(region)
        yield f'<clipPath id="{key}"><path d="{shape}"/></clipPath>'
        if name != "print":
            # Paper reaches past its clip, so that no light shows at the edge.
            wide = rings(grown(region, 0.3))
            yield f'<path id="{key}-paper" class="paper" d="{wide}"/>'
            yield f'<path id="{key}-brim" class="brim" d="{shape}"/>'
        if name == "cut":
            yield f'<use id="{self.key}-paper" href="#{key}-paper"/>'
            yield f'<use id="{self.key}-brim" href="#{key}-brim"/>'

    def _drawn_under(self) -> Iterator[str]:
        """Artwork and pictures that pieces show, each once, in the frame of the piece."""
        for version, at in self._artworks.items():
            art = self.design.artwork_of(version)
            x0, y0, x1, y1 = art.box_mm
            png = render_artwork(art.svg, PX_PER_MM, name=art.file, fonts=art.fonts)
            shown = image(png, Affine(x1 - x0, 0, 0, y1 - y0, x0, y0))
            clip = f'clip-path="url(#{self.key}-print)"'
            yield f'<g id="{self.key}-art-{at}" {clip}>{shown}</g>'
        for own, at in self._pictures.items():
            png = preview(own.path, round(own.width_mm * PX_PER_MM))
            yield f'<g id="{self.key}-own-{at}">{image(png, own.place)}</g>'
        area = self.design.picture
        if area is not None:
            edge = path_data(area.contour)
            yield f'<clipPath id="{self.key}-clip-own"><path d="{edge}"/></clipPath>'

    def _lines(self) -> str:
        """Draw all lines and the safe zones, each with a pale line below it.

        So they can be seen on light and on dark artwork.
        """
        out = []
        for line in self.design.lines:
            drawn = path_data(line.contour)
            out.append(f'<path class="line under {line.kind.value}" d="{drawn}"/>')
            out.append(f'<path class="line {line.kind.value}" d="{drawn}"/>')
        for panel in self.design.panels:
            drawn = rings(panel.zone)
            out.append(f'<path class="zone under" d="{drawn}"/>')
            out.append(f'<path class="zone" d="{drawn}"/>')
        for x, y in self.bare:
            ring = f'cx="{number(x, 2)}" cy="{number(y, 2)}" r="{RING_MM:g}"'
            out.append(f'<circle class="gap under" {ring}/><circle class="gap" {ring}/>')
        return "".join(out)

    def style(self) -> str:
        """Give widths that keep all pictures of a piece at one scale."""
        views = [("flat", self.printed.box)]
        views += [(f"face-{i}", face.region.box) for i, face in enumerate(self._faces)]
        return "".join(
            f".{self.key}-{name}{{flex-grow:{_wide(box)};"
            f"max-width:calc({_wide(box)}mm*var(--most,1.3))}}\n"
            for name, box in views
        )

    def folding_data(self) -> str | None:
        """Give the steps of folding as JSON: numbers only."""
        if self.folding is None:
            return None
        steps = [
            [[s.leaf, *(round(v, 4) for v in s.onto.tuple), s.shade] for s in step]
            for step in self.folding.steps
        ]
        return json.dumps(
            {"folded": self.folding.folded, "steps": steps}, separators=(",", ":")
        )

    def stage(self) -> str:
        """Give the picture in which a piece is folded: its leaves, without a piece yet."""
        if self.folding is None:
            return ""
        leaves = "".join(
            f'<g class="leaf"><use class="back" href="#{key}-paper"/>'
            f'<g class="face" clip-path="url(#{key})"><use href="#{key}-paper"/>'
            '<use class="piece-here"/></g>'
            f'<use class="shade" href="#{key}-paper" clip-path="url(#{key})"/>'
            f'<use href="#{key}-brim"/></g>'
            for key in (f"{self.key}-leaf-{i}" for i in range(len(self.folding.leaves)))
        )
        shown = picture(roomy(self.folding.box), leaves)
        return f'<template id="{self.key}-stage">{shown}</template>'


def _wide(box: Box) -> str:
    x0, _, x1, _ = roomy(box)
    return number(x1 - x0, 1)
