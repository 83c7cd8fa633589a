"""Composed texts: what is said on each panel, at which size, and where every glyph goes.

Two passes over a batch. `survey` finds how large each text can be and keeps only
numbers; once the sizes of the batch are chosen, `compose` sets each text at its size.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from personalize.design.design import Design, Panel, Ring
from personalize.design.style import Colour, Rim
from personalize.fonts.glyphs import Box
from personalize.geometry.affine import IDENTITY, Affine, Point, rotation
from personalize.geometry.zone import Region
from personalize.messages.table import Message
from personalize.type.choose_fonts import Missing
from personalize.type.contain import Shape
from personalize.type.fit import EARN, Fitting, Rules, Setting
from personalize.type.itemise import cased, is_blank
from personalize.type.manner import Manner
from personalize.type.rim import ring_inside, room_inside, soft_shape
from personalize.type.ring import RingFitting
from personalize.type.shape import Paragraph, ShapedLine
from personalize.type.sizes import down
from personalize.units import PT_PER_MM


@dataclass(frozen=True, slots=True)
class ComposedLine:
    """One shaped line and where its origin stands (mm, reading frame)."""

    shaped: ShapedLine
    origin: Point
    turn_deg: float = 0.0
    """Counter-clockwise turn about the origin (letters on an arc)."""


@dataclass(frozen=True, slots=True)
class ComposedText:
    """A text set in a panel."""

    panel: str
    text: str
    font: str
    colour: Colour
    size_pt: float
    largest_pt: float
    leading_pt: float
    x_height_mm: float
    turn_deg: float
    to_piece: Affine
    """From the reading frame (mm) to the flat piece (mm)."""
    lines: tuple[ComposedLine, ...]
    """Lines of the text; on a ring its parts, each with a turn."""
    bent: ShapedLine | None = None
    """The whole line before it was bent round a ring."""
    rim: Rim | None = None
    soft: tuple[Region, ...] = ()
    """Shape of a soft rim, in piece mm."""

    @property
    def rim_colour(self) -> Colour:
        """Colour of the rim, where there is one."""
        told = self.rim.colour if self.rim is not None else None
        return told or self.colour.opposite

    @property
    def said(self) -> tuple[str, ...]:
        """Words of each line as it is read."""
        lines = (line.shaped for line in self.lines) if self.bent is None else (self.bent,)
        return tuple(line.text for line in lines)

    @property
    def size_mm(self) -> float:
        """The em in mm."""
        return self.size_pt / PT_PER_MM

    def line_to_piece(self, line: ComposedLine) -> Affine:
        """Map from the em of a line to the flat piece."""
        x, y = line.origin
        place = self.to_piece @ Affine(self.size_mm, 0, 0, self.size_mm, x, y)
        return place @ rotation(line.turn_deg) if line.turn_deg else place

    def ink_box(self, onto: Affine) -> Box | None:
        """Box round the ink of all lines, mapped from the piece by `onto`."""
        corners = []
        for line in self.lines:
            if line.shaped.ink is not None:
                x0, y0, x1, y1 = line.shaped.ink
                place = onto @ self.line_to_piece(line)
                corners += [place(p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        if not corners:
            return None
        xs, ys = zip(*corners, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Survey:
    """What the first pass keeps of the text of one panel."""

    panel: str
    text: str
    largest_pt: float
    floor_pt: float
    sizes_mm: Mapping[int, float]
    """S(k), the largest size with k lines, capped, as far as it had to be found."""
    level_pt: float
    """Largest size at which the text stands at the height of its panel's centre, where
    leaving it would not earn `EARN`; else `largest_pt`."""
    level_mm: Mapping[int, float] | None
    """S(k) at that height; None where the text need not stay there."""
    ink: NDArray[np.float64]
    """Ink of every possible line, see `Paragraph.ink_table`."""
    colour: Colour
    missing: tuple[Missing, ...]
    borrowed: Mapping[str, str]
    """Characters set in another font than the design's, by the name of that font."""
    shown: str = ""
    """The text as it is set: in capitals, say."""
    unspaced: str = ""
    """Letters of joined scripts, left unspaced though the design asks for spacing."""


def texts_of(design: Design, message: Message, n: int, total: int) -> dict[str, str]:
    """Words of each panel for a piece.

    Where a panel is left empty and the one that it faces is not, it repeats its words.
    """
    texts = {p.name: p.pattern.expand(message, n, total) for p in design.panels}
    for panel in design.panels:
        if panel.faces and is_blank(texts[panel.name]):
            texts[panel.name] = texts[panel.faces]
    return {name: text for name, text in texts.items() if not is_blank(text)}


def is_numbered(design: Design) -> bool:
    """Whether the pieces of one message may differ (a pattern counts pieces)."""
    return any(panel.pattern.counts for panel in design.panels)


class Typesetter:
    """Sets the texts of one design. Keeps its panels' shapes ready."""

    def __init__(self, design: Design) -> None:
        self.design = design
        straight = [panel for panel in design.panels if panel.ring is None]
        self._rooms = {
            panel.name: room_inside(panel, panel.zone).mapped(panel.to_reading)
            for panel in straight
        }
        self._shapes = {panel.name: Shape(self._rooms[panel.name]) for panel in straight}
        # In a set each text stands at one height, unless a place off it earns a lot.
        self._level = {
            panel.name: Shape(self._rooms[panel.name], level=True)
            for panel in straight
            if panel.style.sizes != "largest"
            and panel.align not in ("top", "bottom")
            and not self._shapes[panel.name].is_rectangle
        }
        self._rings = {panel.name: _upright(panel) for panel in design.panels if panel.ring}
        self._rules = {panel.name: _rules(panel) for panel in design.panels}

    def survey(
        self, texts: Mapping[str, str], colour: Colour | None = None
    ) -> tuple[Survey, ...]:
        """Find the largest size of each panel's text, in a colour or the panel's own."""
        return tuple(self._survey(name, text, colour) for name, text in texts.items())

    def _survey(self, name: str, text: str, own: Colour | None) -> Survey:
        panel = self.design.panel(name)
        paragraph = _paragraph(panel, text)
        colour = panel.style.colour if own is None else own
        floor = panel.style.floor_pt(colour)
        about = _About(name, text, colour, floor)
        if name in self._rings:
            size_mm = self._bending(paragraph, name).largest()
            return _surveyed(about, paragraph, {1: size_mm}, size_mm, _NO_INK)
        fitting = Fitting(paragraph, self._shapes[name], self._rules[name])
        _, largest_mm = fitting.largest(floor / PT_PER_MM)
        survey = _surveyed(about, paragraph, fitting.known, largest_mm, fitting.ink)
        if name in self._level:
            level = Fitting(
                paragraph, self._level[name], self._rules[name], ink=fitting.ink
            )
            _, centred_mm = level.largest(floor / PT_PER_MM)
            if largest_mm < EARN * centred_mm and centred_mm * PT_PER_MM >= floor:
                return replace(
                    survey, level_pt=centred_mm * PT_PER_MM, level_mm=level.known
                )
        return survey

    def _bending(self, paragraph: Paragraph, name: str) -> RingFitting:
        rules = self._rules[name]
        return RingFitting(paragraph, self._rings[name], rules.align, rules.cap_mm)

    def compose(self, survey: Survey, size_pt: float) -> ComposedText:
        """Set a surveyed text at a size (in points, at most its largest)."""
        panel = self.design.panel(survey.panel)
        paragraph = _paragraph(panel, survey.text)
        if panel.name in self._rings:
            return self._bent(survey, paragraph, size_pt)
        level = survey.level_mm is not None and size_pt <= down(survey.level_pt)
        shapes = self._level if level else self._shapes
        known = survey.level_mm if level else survey.sizes_mm
        most_pt = survey.level_pt if level else survey.largest_pt
        rules = self._rules[panel.name]
        fitting = Fitting(paragraph, shapes[panel.name], rules, known, survey.ink)
        floor_mm = survey.floor_pt / PT_PER_MM
        if size_pt >= down(most_pt):
            setting = _rounded(fitting, fitting.at_largest(floor_mm))
        else:
            setting = fitting.at(size_pt / PT_PER_MM) or fitting.at_largest(floor_mm)
        starts = (0, *(last + 1 for last in setting.breaks[:-1]))
        lines = tuple(
            ComposedLine(paragraph.line(first, last), origin)
            for first, last, origin in zip(
                starts, setting.breaks, setting.origins, strict=True
            )
        )
        text = self._composed(survey, lines, down(setting.size_mm * PT_PER_MM))
        return replace(text, leading_pt=setting.leading_em * text.size_pt)

    def _bent(self, survey: Survey, paragraph: Paragraph, size_pt: float) -> ComposedText:
        """Set a text round its ring."""
        fitting = self._bending(paragraph, survey.panel)
        size_pt = min(size_pt, down(survey.largest_pt))
        lines = tuple(
            ComposedLine(shaped, origin, turn_deg)
            for shaped, origin, turn_deg in fitting.at(size_pt / PT_PER_MM)
        )
        return replace(self._composed(survey, lines, size_pt), bent=fitting.line)

    def _composed(
        self, survey: Survey, lines: tuple[ComposedLine, ...], size_pt: float
    ) -> ComposedText:
        panel = self.design.panel(survey.panel)
        text = ComposedText(
            panel=panel.name,
            text=survey.text,
            font=panel.style.font.name,
            colour=survey.colour,
            size_pt=size_pt,
            largest_pt=down(max(survey.largest_pt, survey.level_pt)),
            leading_pt=0.0,
            x_height_mm=panel.style.font.face.x_height * size_pt / PT_PER_MM,
            turn_deg=panel.turn_deg,
            to_piece=panel.to_reading.inverse(),
            lines=lines,
            rim=panel.style.rim,
        )
        if text.rim is None or text.rim.kind != "soft":
            return text
        return replace(text, soft=_soft(text, text.rim, panel))


def _paragraph(panel: Panel, text: str) -> Paragraph:
    """Make a panel's text ready, in its capitals; the cell's own words stay in `typed`."""
    style = panel.style
    manner = Manner(
        style.direction,
        style.features,
        style.letter_spacing_em,
        style.hyphenate,
        typed=text,
    )
    shown = cased(text, style.case, style.language)
    return Paragraph(shown, style.font, style.language, manner)


_NO_INK: NDArray[np.float64] = np.empty((0, 0, 4))


@dataclass(frozen=True, slots=True)
class _About:
    """Which text a survey is of."""

    panel: str
    text: str
    colour: Colour
    floor_pt: float


def _surveyed(
    about: _About,
    paragraph: Paragraph,
    sizes_mm: Mapping[int, float],
    largest_mm: float,
    ink: NDArray[np.float64],
) -> Survey:
    largest_pt = largest_mm * PT_PER_MM
    return Survey(
        about.panel,
        about.text,
        largest_pt,
        about.floor_pt,
        sizes_mm,
        largest_pt,
        None,
        ink,
        about.colour,
        paragraph.missing,
        paragraph.borrowed,
        paragraph.text,
        paragraph.unspaced,
    )


def _rounded(fitting: Fitting, setting: Setting) -> Setting:
    """Round a size down to a thousandth of a point, its lines placed anew."""
    size_mm = down(setting.size_mm * PT_PER_MM) / PT_PER_MM
    return fitting.again(setting, size_mm)


def _soft(text: ComposedText, rim: Rim, panel: Panel) -> tuple[Region, ...]:
    """Give the shape under a text, in piece mm."""
    upright = replace(text, to_piece=IDENTITY)
    boxes = []
    for line in text.lines:
        if line.shaped.ink is not None:
            x0, y0, x1, y1 = line.shaped.ink
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            boxes.append(upright.line_to_piece(line).many(corners))
    zone = panel.zone.mapped(panel.to_reading)
    return tuple(part.mapped(text.to_piece) for part in soft_shape(boxes, rim.mm, zone))


def _upright(panel: Panel) -> Ring:
    """Give a panel's ring in its reading frame."""
    ring, by = panel.ring, panel.to_reading
    assert ring is not None
    within = ring.within.mapped(by) if ring.within else None
    return ring_inside(panel, replace(ring, centre=by(ring.centre), within=within))


def _rules(panel: Panel) -> Rules:
    style = panel.style
    return Rules(style.max_lines, style.width_share, panel.align, style.max_pt / PT_PER_MM)
