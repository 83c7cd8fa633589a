"""Read [[panel]], its [[panel.block]] and its rings from a design's TOML file."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from personalize.design.design import BLOCK_JOINT
from personalize.design.reading import VIEWERS
from personalize.design.spec import BlockSpec, PanelSpec, RingSpec
from personalize.design.toml_type import TYPE_KEYS, type_spec
from personalize.design.toml_values import Values
from personalize.messages.pattern import Pattern, parse_pattern

PANEL_KEYS = ("name", "at", "text", "faces", "turn_deg", "viewer", "ring", "block", "gap")
AREA_KEYS = ("area", "print_area", "glue")
BLOCK_KEYS = ("name", "share", "text", "ring")
RING_KEYS = ("centre", "radius", "depth", "reading", "middle_deg", "most_deg")
READINGS = ("outward", "inward")
MOST_MM = 1000.0
MOST_DEG = 340.0
"""A text that runs further round meets its own beginning."""


class PanelReader(Values):
    """Reads the panels of a design."""

    def __init__(self, file: str, text: str, within: str = "") -> None:
        super().__init__(file, text, within)
        self._blocks_before = 0

    def panels(self, data: Mapping[str, Any]) -> tuple[PanelSpec, ...]:
        """Read all panels; one that has no words of its own takes those it faces."""
        value = data.get("panel", [])
        if not _are_tables(value):
            self.problem(
                self.place("", 0, "panel"),
                "a panel must be a table of its own.",
                "Write [[panel]], with two brackets on each side.",
            )
            return ()
        panels = tuple(self._panel(nth, panel) for nth, panel in enumerate(value))
        names = [panel.name for panel in panels]
        for nth, panel in enumerate(panels):
            if panel.name in names[:nth]:
                self.problem(
                    self.place("panel", nth, "name"),
                    f"two panels are called {panel.name!r}.",
                    "Give each its own name.",
                )
            others = [name for name in names if name != panel.name]
            if panel.faces is not None and panel.faces not in others:
                self.problem(
                    self.place("panel", nth, "faces"),
                    f"there is no other panel called {panel.faces!r} to face.",
                    f"Use one of {', '.join(others)}." if others else "Leave faces out.",
                )
        return tuple(_like_its_face(panel, panels) for panel in panels)

    def _panel(self, nth: int, data: Mapping[str, Any]) -> PanelSpec:
        self.known_keys("panel", nth, data, PANEL_KEYS + AREA_KEYS + TYPE_KEYS)
        if data.get("glue") is True:
            return self._glue_panel(nth, data)
        blocks = self._blocks(nth, data)
        if blocks:
            for key in ("text", "ring"):
                if key in data:
                    self.problem(
                        self.place("panel", nth, key),
                        f"a panel with blocks has no {key} of its own.",
                        "Say it in a block.",
                    )
        elif "gap" in data:
            self.problem(
                self.place("panel", nth, "gap"),
                "gap is the distance between blocks, and there are none.",
                "Leave it out, or write [[panel.block]] below the panel.",
            )
        return PanelSpec(
            place=self.place("panel", nth, "at"),
            name=self._name("panel", nth, data) or f"panel{nth + 1}",
            at=self.point("panel", nth, data, "at", "a point inside the panel"),
            pattern=self._pattern("panel", nth, data),
            faces=self.text("panel", nth, data, "faces"),
            turn_deg=self.number("panel", nth, data, "turn_deg", -360, 360),
            type_place=self.place("panel", nth, "font"),
            type=type_spec(self, "panel", nth, data),
            blocks=blocks,
            gap=self.number("panel", nth, data, "gap", 0, MOST_MM),
            ring=self._ring("panel", nth, data),
            viewer=self.choice("panel", nth, data, "viewer", VIEWERS),
            **self._area(nth, data),
        )

    def _glue_panel(self, nth: int, data: Mapping[str, Any]) -> PanelSpec:
        """Read a panel that takes adhesive: it has a name and a place, and no words."""
        for key in data:
            if key not in ("name", "at", "glue") and key in PANEL_KEYS + AREA_KEYS:
                self.problem(
                    self.place("panel", nth, key),
                    f"a panel that takes glue has no words, and so no {key}.",
                    "Leave it out, or glue = true.",
                )
        return PanelSpec(
            place=self.place("panel", nth, "at"),
            name=self._name("panel", nth, data) or f"panel{nth + 1}",
            at=self.point("panel", nth, data, "at", "a point inside the panel"),
            pattern=None,
            faces=None,
            turn_deg=None,
            type_place=self.place("panel", nth, "font"),
            type=type_spec(self, "panel", nth, data),
            glue=True,
        )

    def _area(self, nth: int, data: Mapping[str, Any]) -> dict[str, Any]:
        """Read the drawn text area of a panel."""
        self.flag("panel", nth, data, "glue")
        shown = self.flag("panel", nth, data, "print_area")
        area = self.text("panel", nth, data, "area")
        if area is None and shown is not None and "area" not in data:
            self.problem(
                self.place("panel", nth, "print_area"),
                "print_area says whether the shape of area is printed, and there is none.",
                'Leave it out, or write area = "#name-box".',
            )
        place = self.place("panel", nth, "area")
        return {"area": area, "area_place": place, "print_area": bool(shown)}

    def _blocks(self, panel: int, data: Mapping[str, Any]) -> tuple[BlockSpec, ...]:
        value = data.get("block", [])
        if not _are_tables(value):
            self.problem(
                self.place("panel", panel, "block"),
                "a block must be a table of its own.",
                "Write [[panel.block]], with two brackets on each side.",
            )
            return ()
        first = self._blocks_before
        self._blocks_before += len(value)
        blocks = tuple(self._block(first + i, block) for i, block in enumerate(value))
        names = [block.name for block in blocks]
        for i, name in enumerate(names):
            if name in names[:i]:
                self.problem(
                    self.place("panel.block", first + i, "name"),
                    f"two blocks of a panel are called {name!r}.",
                    "Give each its own name.",
                )
        return blocks

    def _block(self, nth: int, data: Mapping[str, Any]) -> BlockSpec:
        table = "panel.block"
        self.known_keys(table, nth, data, BLOCK_KEYS + TYPE_KEYS)
        name = self._name(table, nth, data) or f"block{nth + 1}"
        ring = self._ring(table, nth, data)
        if ring is not None and "share" in data:
            self.problem(
                self.place(table, nth, "share"),
                "a block on a ring has no share of the height.",
                "Leave it out; the ring's depth says how high its letters may be.",
            )
        return BlockSpec(
            place=self.place(table, nth, "name"),
            name=name,
            share=self.number(table, nth, data, "share", 0.001, 1000),
            pattern=self._pattern(table, nth, data) or parse_pattern("{" + name + "}"),
            type_place=self.place(table, nth, "font"),
            type=type_spec(self, table, nth, data),
            ring=ring,
        )

    def _name(self, table: str, nth: int, data: Mapping[str, Any]) -> str | None:
        name = self.text(table, nth, data, "name")
        what = "block" if table.endswith("block") else "panel"
        if not name:
            example = "dish" if what == "block" else "front"
            self.problem(
                self.place(table, nth),
                f"a {what} has no name.",
                f'Write name = "{example}".',
            )
        elif "{" in name or "}" in name:
            self.problem(
                self.place(table, nth, "name"),
                f"the name {name!r} holds a brace.",
                f"Leave braces to the text of a {what}.",
            )
        elif BLOCK_JOINT in name:
            self.problem(
                self.place(table, nth, "name"),
                f"the name {name!r} holds a stroke between spaces.",
                "That stands between a panel and its block: leave it out.",
            )
        else:
            return name
        return None

    def _ring(self, table: str, nth: int, data: Mapping[str, Any]) -> RingSpec | None:
        if "ring" not in data:
            return None
        value = data["ring"]
        place = self.place(table, nth, "ring")
        if not isinstance(value, dict):
            self.problem(
                place,
                "ring must be a table.",
                'Write ring = {}, or for example ring = { reading = "inward" }.',
            )
            return None
        inside = f"{table}.ring"
        told = len(self.problems)
        self.known_keys(inside, nth, value, RING_KEYS)
        spec = RingSpec(
            place=place,
            centre=self.point(inside, nth, value, "centre", "the centre of the ring"),
            radius=self.number(inside, nth, value, "radius", 1, MOST_MM),
            depth=self.number(inside, nth, value, "depth", 0.5, MOST_MM),
            reading=self.choice(inside, nth, value, "reading", READINGS) or READINGS[0],
            middle_deg=self.number(inside, nth, value, "middle_deg", -360, 360),
            most_deg=self.number(inside, nth, value, "most_deg", 1, MOST_DEG),
        )
        # A ring is written on one line, or as a table that is not counted by its panel.
        self.problems[told:] = [replace(p, place=place) for p in self.problems[told:]]
        return spec

    def _pattern(self, table: str, nth: int, data: Mapping[str, Any]) -> Pattern | None:
        text = self.text(table, nth, data, "text")
        if text is None:
            return None
        try:
            return parse_pattern(text)
        except ValueError as error:
            self.problem(
                self.place(table, nth, "text"),
                f"the text {text!r} cannot be read: {error}",
                "A heading stands between { and }; write {{ or }} for a brace itself.",
            )
            return None


def _are_tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(v, dict) for v in value)


def _like_its_face(panel: PanelSpec, panels: Sequence[PanelSpec]) -> PanelSpec:
    """Give a panel that says nothing of its own the blocks or ring of the one it faces."""
    if panel.blocks or panel.pattern is not None or panel.ring is not None:
        return panel
    for other in panels:
        faced = other.name == panel.faces or other.faces == panel.name
        if other is not panel and faced and (other.blocks or other.ring):
            blocks = tuple(
                replace(b, ring=b.ring and _mirrored(b.ring)) for b in other.blocks
            )
            gap = panel.gap if panel.gap is not None else other.gap
            ring = other.ring and _mirrored(other.ring)
            return replace(panel, blocks=blocks, gap=gap, ring=ring)
    return panel


def _mirrored(ring: RingSpec) -> RingSpec:
    """Give the ring as it lies on the other face: seen from behind, left is right."""
    middle = None if ring.middle_deg is None else -ring.middle_deg
    return replace(ring, centre=None, middle_deg=middle)
