"""Write proof.html: every piece as it will be printed, flat and as folded.

One self-contained page: no script, no network, the artwork once. Letters are drawn from
the same glyphs, places and sizes that go to print. Lines are told apart by pattern and
word: outline solid, crease dashed, safe zone dotted.
"""

import base64
import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files

from fontTools.pens.svgPathPen import SVGPathPen

from personalize.design.artwork import render_artwork
from personalize.design.chosen import NOTHING_CHOSEN, Chosen, Picture
from personalize.design.design import Design
from personalize.design.pictures import preview
from personalize.finding import Finding, Severity
from personalize.fold.across import faces_of
from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region, grown
from personalize.messages.table import Source
from personalize.output.colour_glyphs import svg_layers
from personalize.output.cut_svg import path_data
from personalize.sheet.paper import Paper
from personalize.type.compose import ComposedText
from personalize.units import number

PX_PER_MM = 8.0
"""Resolution of the artwork on the page: about 200 px per inch, sharp when printed."""
_EDGE_MM = 2.0
"""Room round each picture."""
_WORDS = {Severity.ERROR: "Must be mended", Severity.WARNING: "Look at this"}
_WORDS |= {Severity.NOTE: "Good to know"}
_SHOWN_ROWS = 12
"""Findings of one rule that are listed one by one before the rest is folded away."""


@dataclass(frozen=True, slots=True)
class _Card:
    """One piece on the page."""

    row: int
    weight: int
    html: str


class ProofPage:
    """A proof under way; pieces go in one by one."""

    def __init__(
        self,
        name: str,
        designs: Sequence[Design],
        source: Source,
        findings: Sequence[Finding],
    ) -> None:
        """Begin a proof of one design or several, under the name of the run."""
        self._name, self._designs = name, designs
        self._source, self._findings = source, findings
        self._nth = {design.name: i for i, design in enumerate(designs)}
        self._faces = {design.name: faces_of(design) for design in designs}
        self._glyphs: dict[tuple[Font, int, bool], str] = {}
        self._cards: list[_Card] = []
        self._artworks: dict[tuple[str, str], int] = {}
        self._pictures: dict[Picture, int] = {}
        self._by_row: dict[int, list[Finding]] = {}
        for finding in findings:
            if finding.row is not None:
                self._by_row.setdefault(finding.row, []).append(finding)

    def _tail(self, design: Design) -> str:
        """What the names of a design's things end in; nothing for the first one."""
        nth = self._nth[design.name]
        return f"-d{nth}" if nth else ""

    def add(
        self,
        design: Design,
        row: int,
        copies: Sequence[int],
        texts: Sequence[ComposedText],
        chosen: Chosen = NOTHING_CHOSEN,
    ) -> None:
        """Show a piece and say how many copies of it there are."""
        found = [
            one for one in self._by_row.get(row, []) if one.design in (None, design.name)
        ]
        grave = [f.severity for f in found if f.severity is not Severity.NOTE]
        weight = list(Severity).index(grave[0]) if grave else 2
        worst = f" {found[0].severity}" if found else ""
        notes = "".join(_finding_item(finding, with_row=False) for finding in found)
        many = f"{len(copies)} copies" if len(copies) > 1 else "1 piece"
        if chosen.version is not None:
            many = f"{chosen.version.name}, {many}"
        if len(self._designs) > 1:
            many = f"{design.name}, {many}"
        said = " / ".join(dict.fromkeys(text.text for text in texts)) or "no words"
        sizes = "; ".join(_size_words(text) for text in texts)
        self._cards.append(
            _Card(
                row,
                weight,
                f'<article class="piece{worst}" id="{self._anchor(row)}">'
                f"<h3>Row {row} <bdi>{escape(said)}</bdi><small>{escape(many)}</small></h3>"
                f'<div class="views">{self._views(design, texts, chosen)}</div>'
                f'<p class="sizes">{escape(sizes)}</p>'
                + (f"<ul>{notes}</ul>" if notes else "")
                + "</article>\n",
            )
        )

    def _anchor(self, row: int) -> str:
        """Name a card: the first of a row by the row, so that findings lead there."""
        same = sum(card.row == row for card in self._cards)
        return f"row-{row}-{same + 1}" if same else f"row-{row}"

    def _views(self, design: Design, texts: Sequence[ComposedText], chosen: Chosen) -> str:
        """Show the piece flat, and each face as the eye will see it."""
        key = f"t{len(self._cards)}"
        drawn = {text.panel: self._text(text) for text in texts}
        groups = "".join(
            f'<g id="{key}-{i}">{drawn[panel.name]}</g>'
            for i, panel in enumerate(design.panels)
            if panel.name in drawn
        )
        under, tail = self._under(design, chosen), self._tail(design)
        flat = _picture(
            _view(design.artwork.box_mm), f'{under}<use href="#lines{tail}"/>{groups}'
        )
        faces = "".join(
            self._face(i, design, key, drawn, under)
            for i in range(len(self._faces[design.name]))
        )
        return f"<figure>{flat}<figcaption>flat</figcaption></figure>{faces}"

    def _under(self, design: Design, chosen: Chosen) -> str:
        """Draw what lies under the words: the artwork, and the row's own picture."""
        version = chosen.version.name if chosen.version else ""
        at = self._artworks.setdefault((design.name, version), len(self._artworks))
        out = f'<use href="#art-{at}"/>'
        if chosen.picture is not None:
            nth = self._pictures.setdefault(chosen.picture, len(self._pictures))
            clip = f"clip-own{self._tail(design)}"
            out += f'<g clip-path="url(#{clip})"><use href="#own-{nth}"/></g>'
        return out

    def _face(
        self, i: int, design: Design, key: str, drawn: dict[str, str], under: str
    ) -> str:
        """Show a face of the folded piece as the eye will see it."""
        faces, tail = self._faces[design.name], self._tail(design)
        face = faces[i]
        matrix = _matrix(face.to_view)
        words = "".join(
            f'<use href="#{key}-{index}" transform="{matrix}"/>'
            for index, panel in enumerate(design.panels)
            if panel.of == face.panel.of and panel.name in drawn
        )
        picture = _picture(
            _view(face.region.box),
            f'<use href="#paper-{i}{tail}"/><g clip-path="url(#clip-{i}{tail})">'
            f'<g transform="{_matrix(face.to_view)}">{under}</g></g>'
            f'<use href="#brim-{i}{tail}"/>{words}',
        )
        label = f"folded, {face.panel.of}" if len(faces) > 1 else "cut out"
        return f"<figure>{picture}<figcaption>{escape(label)}</figcaption></figure>"

    def _text(self, text: ComposedText) -> str:
        """Draw the glyphs of a text in the flat piece, over their rim."""
        rim, wide = "", 0.0
        if text.soft:
            shape = "".join(_rings(part) for part in text.soft)
            rim = f'<path d="{shape}" fill="{text.rim_colour.css}"/>'
        elif text.rim is not None:
            wide = 2 * text.rim.mm / text.size_mm
            rim = (
                f'<g fill="none" stroke="{text.rim_colour.css}" stroke-linejoin="round">'
                f"{self._letters(text, wide)}</g>"
            )
        return f'{rim}<g fill="{text.colour.css}">{self._letters(text)}</g>'

    def _letters(self, text: ComposedText, stroke_em: float = 0.0) -> str:
        """Draw the glyphs of a text; with a stroke of a width in em, or as they are."""
        out, rim = [], stroke_em > 0
        for line in text.lines:
            place = text.line_to_piece(line)
            for run in line.shaped.runs:
                upem = run.font.face.upem / run.scale
                wide = f' stroke-width="{stroke_em * upem:.0f}"' if stroke_em else ""
                onto = place @ Affine(1 / upem, 0, 0, 1 / upem, 0, 0)
                uses = "".join(
                    f'<use href="#{self._glyph(run.font, gid, rim=rim)}" x="{x * upem:.0f}"'
                    + (f' y="{y * upem:.0f}"' if y else "")
                    + "/>"
                    for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
                    if run.font.face.ink(gid) is not None
                )
                out.append(f'<g transform="{_matrix(onto)}"{wide}>{uses}</g>')
        return "".join(out)

    def _glyph(self, font: Font, gid: int, *, rim: bool) -> str:
        """Name a glyph's outline, which is drawn once for the whole page.

        A rim goes round the outline alone: layers have fills and a scale of their own.
        """
        key = (font, gid, bool(font.face.layers(gid)) and not rim)
        if key not in self._glyphs:
            self._glyphs[key] = f"g{len(self._glyphs)}"
        return self._glyphs[key]

    def html(self, pieces: int, sheets: int, paper: Paper) -> str:
        """Give the whole page."""
        style = files("personalize.output").joinpath("proof.css").read_text("utf-8")
        digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        gravest: dict[int, int] = {}
        for card in self._cards:
            gravest[card.row] = min(card.weight, gravest.get(card.row, card.weight))
        # Pieces of one message stand together, in the order of their designs.
        cards = sorted(self._cards, key=lambda card: (gravest[card.row], card.row))
        name = escape(self._name)
        policy = f"default-src 'none'; img-src data:; style-src 'sha256-{digest}'"
        return (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<title>Proof: {name}</title>\n<style>{style}</style>\n</head>\n<body>\n"
            f"{self._definitions()}\n"
            f"<header><h1>{name}</h1>{self._summary(pieces, sheets, paper)}</header>\n"
            f"<main>\n{self._problems()}\n"
            '<section class="pieces"><h2>Every piece</h2>\n'
            f"{_LEGEND}\n{''.join(card.html for card in cards)}</section>\n"
            "</main>\n</body>\n</html>\n"
        )

    def _summary(self, pieces: int, sheets: int, paper: Paper) -> str:
        count = {s: sum(f.severity is s for f in self._findings) for s in Severity}
        facts = [
            (f"{pieces}", "piece" if pieces == 1 else "pieces"),
            (f"{sheets}", f"sheet{'s' * (sheets != 1)} of {paper.name}")
            if sheets
            else ("no", "sheets written yet"),
            (f"{count[Severity.ERROR]}", "to mend"),
            (f"{count[Severity.WARNING]}", "to look at"),
        ]
        tiles = "".join(f"<li><b>{n}</b> {escape(words)}</li>" for n, words in facts)
        return (
            f'<p class="source">from <bdi>{escape(self._source.file)}</bdi></p>'
            f"{_decided(self._source)}"
            f'<ul class="facts">{tiles}</ul>'
        )

    def _problems(self) -> str:
        """List the findings, worst first; what concerns no row by itself comes first."""
        care = [f for f in self._findings if f.rule.startswith("care-")]
        parts = [f'<aside class="care">{_care_text(care)}</aside>'] if care else []
        for severity in Severity:
            found = [f for f in self._findings if f.severity is severity and f not in care]
            if not found:
                continue
            items = [_finding_item(finding, with_row=True) for finding in found]
            # Notes are folded away as a whole: not twice.
            most = len(items) if severity is Severity.NOTE else _SHOWN_ROWS
            shown, rest = items[:most], items[most:]
            body = f"<ul>{''.join(shown)}</ul>"
            if rest:
                body += (
                    f"<details><summary>{len(rest)} more</summary>"
                    f"<ul>{''.join(rest)}</ul></details>"
                )
            heading = f"{_WORDS[severity]} ({len(found)})"
            if severity is Severity.NOTE:
                body = f"<details><summary>{heading}</summary>{body}</details>"
            else:
                body = f"<h3>{heading}</h3>{body}"
            parts.append(f'<div class="{severity}">{body}</div>')
        heading = "Before you print" if parts else "Nothing to mend"
        return f'<section class="found"><h2>{heading}</h2>{"".join(parts)}</section>'

    def _definitions(self) -> str:
        """What all pieces share: artwork, lines, faces and glyph outlines."""
        parts = [*self._drawn_under()]
        for design in self._designs:
            tail = self._tail(design)
            parts.append(f'<g id="lines{tail}">{_lines(design)}</g>')
            for i, face in enumerate(self._faces[design.name]):
                key = f"{i}{tail}"
                shape, ground = _rings(face.region), _rings(grown(face.region, 0.3))
                parts.append(f'<clipPath id="clip-{key}"><path d="{shape}"/></clipPath>')
                parts.append(f'<path id="paper-{key}" class="paper" d="{ground}"/>')
                parts.append(f'<path id="brim-{key}" class="brim" d="{shape}"/>')
        for (font, gid, coloured), key in self._glyphs.items():
            if coloured:
                layers = svg_layers(font.face.layers(gid), key)
                em = f'<g transform="scale({font.face.upem})">{layers}</g>'
                parts.append(f'<g id="{key}">{em}</g>')
                continue
            pen = SVGPathPen(None, ntos=lambda v: f"{v:.0f}")
            font.face.draw(gid, pen)
            parts.append(f'<path id="{key}" d="{pen.getCommands()}"/>')
        return (
            '<svg class="defs" width="0" height="0" aria-hidden="true"><defs>'
            + "\n".join(parts)
            + "</defs></svg>"
        )

    def _drawn_under(self) -> Iterator[str]:
        """Artwork and pictures that pieces show, each once, in the frame of the piece."""
        by_name = {design.name: design for design in self._designs}
        for (name, version), at in self._artworks.items():
            art = by_name[name].artwork_of(version)
            x0, y0, x1, y1 = art.box_mm
            png = render_artwork(art.svg, PX_PER_MM, name=art.file)
            place = Affine(x1 - x0, 0, 0, y1 - y0, x0, y0)
            yield _image(f"art-{at}", png, place)
        for picture, at in self._pictures.items():
            png = preview(picture.path, round(picture.width_mm * PX_PER_MM))
            yield _image(f"own-{at}", png, picture.place)
        for design in self._designs:
            if design.picture is not None:
                edge, tail = path_data(design.picture.contour), self._tail(design)
                yield f'<clipPath id="clip-own{tail}"><path d="{edge}"/></clipPath>'


def _lines(design: Design) -> str:
    """Draw outline, holes and creases, and the safe zones, over the artwork."""
    out = [
        f'<path class="line {line.kind.value}" d="{path_data(line.contour)}"/>'
        for line in design.lines
    ]
    out += [f'<path class="zone" d="{_rings(panel.zone)}"/>' for panel in design.panels]
    return "".join(out)


_LEGEND = (
    '<p class="legend">'
    '<span><i class="solid"></i> outline, where the blade goes</span>'
    '<span><i class="dashed"></i> crease, where it folds</span>'
    '<span><i class="dotted"></i> safe zone, where the words stay</span></p>'
)


def _decided(source: Source) -> str:
    """Tell how the list was read, folded away."""
    if not source.decisions:
        return ""
    items = "".join(f"<li><bdi>{escape(said)}</bdi></li>" for said in source.decisions)
    return f"<details><summary>How the list was read</summary><ul>{items}</ul></details>"


def _care_text(care: Sequence[Finding]) -> str:
    """Cautions stand open: nobody unfolds a list to be warned."""
    return "".join(
        f"<p><b>Take care.</b> {escape(f.says)} {escape(f.do)}</p>" for f in care
    )


def _finding_item(finding: Finding, *, with_row: bool) -> str:
    place = ""
    if with_row and finding.row is not None:
        place = f'<a href="#row-{finding.row}">Row {finding.row}</a> '
    place_of = " / ".join(p for p in (finding.panel, finding.block) if p)
    panel = f"<i>{escape(place_of)}</i> " if place_of else ""
    return (
        f'<li class="{finding.severity}">{place}{panel}<bdi>{escape(finding.says)}</bdi>'
        f" <em>{escape(finding.do)}</em></li>"
    )


def _size_words(text: ComposedText) -> str:
    lines = f"{len(text.said)} lines" if len(text.said) > 1 else "1 line"
    lines = lines if text.bent is None else "round a ring"
    return f"{text.panel}: {text.size_pt:.1f} pt, {lines}"


def _view(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = box
    return (x0 - _EDGE_MM, y0 - _EDGE_MM, x1 + _EDGE_MM, y1 + _EDGE_MM)


def _picture(box: tuple[float, float, float, float], inner: str) -> str:
    """An SVG element that shows a box of the piece, y up."""
    x0, y0, x1, y1 = box
    width, height = number(x1 - x0, 2), number(y1 - y0, 2)
    return (
        f'<svg viewBox="0 0 {width} {height}" width="{width}mm">'
        f'<g transform="matrix(1 0 0 -1 {number(-x0)} {number(y1)})">{inner}</g></svg>'
    )


def _image(key: str, png: bytes, place: Affine) -> str:
    """Embed a picture that fills the unit square of `place`."""
    data = base64.b64encode(png).decode("ascii")
    matrix = _matrix(place @ Affine(1, 0, 0, -1, 0, 1))
    return (
        f'<image id="{key}" href="data:image/png;base64,{data}" width="1" height="1"'
        f' preserveAspectRatio="none" transform="{matrix}"/>'
    )


def _matrix(by: Affine) -> str:
    linear = " ".join(number(v, 7) for v in by.tuple[:4])
    return f"matrix({linear} {number(by.e)} {number(by.f)})"


def _rings(region: Region) -> str:
    return "".join(
        "M" + " ".join(f"{number(x, 2)} {number(y, 2)}" for x, y in ring) + "Z"
        for ring in _points(region)
    )


def _points(region: Region) -> Iterable[Sequence[tuple[float, float]]]:
    return (region.outer, *region.holes)
