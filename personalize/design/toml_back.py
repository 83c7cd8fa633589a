"""Read [back] of a design's TOML file: its picture, its panels, its versions."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from personalize.design.spec import ArtworkSpec, BackSpec
from personalize.design.toml_artwork import selectors, version_specs
from personalize.design.toml_file_artwork import file_of
from personalize.design.toml_panels import PanelReader
from personalize.design.toml_type import type_spec
from personalize.errors import Problem

_KEYS = ("svg", "show", "file", "page", "type", "panel", "version")


def back_spec(
    file: str, text: str, table: Mapping[str, Any], usual: ArtworkSpec | None
) -> tuple[BackSpec, list[Problem]]:
    """Give what [back] says, and what is wrong with it.

    `usual` is the front's [artwork].
    """
    reader = PanelReader(file, text, "back")
    reader.known_keys("", 0, table, _KEYS)
    svg, show = reader.text("", 0, table, "svg"), selectors(reader, "", 0, table)
    named = [key for key in ("svg", "show", "file", "page") if key in table]
    if len(named) > 1 and named != ["file", "page"]:
        reader.problem(
            reader.place("", 0, named[1]),
            "the back is a drawing of its own (svg), layers of the design's (show), or a"
            " picture or a PDF page (file, page).",
            "Keep one of them.",
        )
    art = None
    if "file" in table or "page" in table:
        # A place on the front is none on the back.
        turned = replace(usual, at=None) if usual is not None else None
        art = file_of(reader, "", 0, table, turned)
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
        versions=version_specs(reader, table, art),
        artwork=art,
        type=type_spec(reader, "type", 0, reader.table(table, "type")),
        type_place=reader.place("type", 0, "font"),
    )
    return spec, reader.problems
