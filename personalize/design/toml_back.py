"""Read [back] of a design's TOML file: its picture, its panels, its versions."""

from collections.abc import Mapping
from typing import Any

from personalize.design.spec import BackSpec
from personalize.design.toml_artwork import selectors, version_specs
from personalize.design.toml_panels import PanelReader
from personalize.design.toml_type import type_spec
from personalize.errors import Problem

_KEYS = ("svg", "show", "type", "panel", "version")


def back_spec(
    file: str, text: str, table: Mapping[str, Any]
) -> tuple[BackSpec, list[Problem]]:
    """Give what [back] says, and what is wrong with it."""
    reader = PanelReader(file, text, "back")
    reader.known_keys("", 0, table, _KEYS)
    svg, show = reader.text("", 0, table, "svg"), selectors(reader, "", 0, table)
    if svg is not None and show:
        reader.problem(
            reader.place("", 0, "show"),
            "the back is a drawing of its own (svg) or layers of the design's (show), and"
            " not both.",
            "Leave one of them out.",
        )
    panels = reader.panels(table)
    for panel in panels:
        if panel.faces is not None:
            reader.problem(
                panel.place,
                f"panel {panel.name!r} of the back cannot face another.",
                "Leave faces out: a panel faces one that it is folded onto.",
            )
    spec = BackSpec(
        place=reader.place(""),
        svg=svg,
        show=show,
        panels=panels,
        versions=version_specs(reader, table, None),
        type=type_spec(reader, "type", 0, reader.table(table, "type")),
        type_place=reader.place("type", 0, "font"),
    )
    return spec, reader.problems
