"""Panels made ready: the places for texts on each, what they share, how they align."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from personalize.design.blocks import GAP_MM, Place, place_blocks, place_ring
from personalize.design.design import BLOCK_JOINT, Panel
from personalize.design.pose import Pose
from personalize.design.spec import BlockSpec, PanelSpec
from personalize.design.style import TypeStyle
from personalize.design.toml_type import AWAY_FROM_CREASE, TOWARD_CREASE
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, rotation
from personalize.geometry.faces import shared_border
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, common
from personalize.messages.pattern import parse_pattern

SAME_MM2 = 1e-6
"""Two zones that differ by less are one."""


@dataclass(frozen=True, slots=True)
class PanelZone:
    """A panel's safe zone, and the map from the flat panel that it faces to it."""

    region: Region
    from_face: Affine | None = None


@dataclass(frozen=True, slots=True)
class Draft:
    """A panel before its zone is known."""

    spec: PanelSpec | None
    name: str
    region: Region
    pose: Pose
    faces: str | None
    turn_deg: float
    optional: bool
    index: int = 0
    """Place among the regions of the piece."""
    area: Contour | None = None
    """Text area that the maker drew in it."""


def panels_of(
    drafts: Sequence[Draft],
    zones: Mapping[str, PanelZone],
    regions: tuple[Region, ...],
    styles: Mapping[str, TypeStyle],
    page_height_mm: float,
) -> tuple[Panel, ...]:
    """Make the places for texts of all panels, those that lie back to back alike."""
    problems: list[Problem] = []
    places: dict[str, list[Place]] = {}
    for draft in drafts:
        zone = zones[draft.name]
        faced = places.get(draft.faces or "", [])
        try:
            own = _places(draft, zone, page_height_mm, faced)
            places[draft.name] = [_shared(p, faced, zone, draft) for p in own]
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    for draft in drafts:  # a pair's second one may have less room than the first
        zone, faced = zones[draft.name], places.get(draft.faces or "", [])
        places[draft.name] = [_shared(p, faced, zone, draft) for p in places[draft.name]]
    panels = []
    for draft in drafts:
        beside = {p.block.name for p in places.get(draft.faces or "", []) if p.block}
        for place in places[draft.name]:
            style = styles.get(slot_name(draft.name, place.block), styles[""])
            align, problem = _alignment(draft, style.align, regions, drafts)
            if problem is not None and problem not in problems:
                problems.append(problem)
            panels.append(_panel(draft, place, style, align, beside))
    if problems:
        raise InputError(problems)
    return tuple(panels)


def _panel(
    draft: Draft, place: Place, style: TypeStyle, align: str, beside: set[str]
) -> Panel:
    """Make one place; `beside` are the names of the blocks on the other face."""
    block, own = place.block, draft.spec.pattern if draft.spec else None
    faces = draft.faces
    if block is not None:
        faces = slot_name(faces, block) if faces and block.name in beside else None
    elif beside:
        faces = None
    return Panel(
        name=slot_name(draft.name, block),
        region=draft.region,
        zone=place.zone,
        pattern=block.pattern if block else own or parse_pattern("{" + draft.name + "}"),
        style=style,
        turn_deg=draft.turn_deg,
        faces=faces,
        optional=draft.optional,
        block=block.name if block else None,
        align=align,
        ring=place.ring,
        area=draft.area,
    )


def slot_name(panel: str, block: BlockSpec | None) -> str:
    """Name a place for a text: its panel, with its block where there are several."""
    return panel if block is None else panel + BLOCK_JOINT + block.name


def _places(
    draft: Draft, zone: PanelZone, page_height_mm: float, faced: Sequence[Place]
) -> list[Place]:
    """Share a panel's zone among its blocks. Raises InputError."""
    spec = draft.spec
    if spec is None or not (spec.blocks or spec.ring):
        return [Place(None, zone.region)]
    rings = [b.ring for b in spec.blocks if b.ring] if spec.blocks else [spec.ring]
    centre = None
    for place in faced:
        if place.ring is not None and zone.from_face is not None:
            centre = zone.from_face(place.ring.centre)
    ringed = [
        place_ring(
            ring, zone.region, draft.region, page_height_mm, centre, alone=len(rings) == 1
        )
        for ring in rings
        if ring is not None
    ]
    if not spec.blocks:
        return ringed
    gap = GAP_MM if spec.gap is None else spec.gap
    upright = rotation(-draft.turn_deg)
    return place_blocks(spec.blocks, ringed, zone.region, upright, gap)


def _shared(place: Place, faced: Sequence[Place], zone: PanelZone, draft: Draft) -> Place:
    """Keep of a block's band what the block of its name on the other face has too."""
    for other in faced:
        pair = (place.block and place.block.name) == (other.block and other.block.name)
        if pair and place.ring is None and other.ring is None and place.block is not None:
            assert zone.from_face is not None
            parts = common(place.zone, other.zone.mapped(zone.from_face))
            if parts and parts[0].area_mm2 > place.zone.area_mm2 - SAME_MM2:
                return place
            if not parts:
                raise refuse(
                    place.block.place,
                    f"block {place.block.name!r} stands in other parts of panels"
                    f" {draft.name!r} and {draft.faces!r}, which face each other.",
                    "Give it the same share and order on both.",
                )
            return replace(place, zone=parts[0])
    return place


def _alignment(
    draft: Draft, align: str, regions: Sequence[Region], drafts: Sequence[Draft]
) -> tuple[str, Problem | None]:
    """Say to which side text goes that stands toward the crease, or away from it.

    The crease is the one to the panel that this one faces, else the longest. On the other
    face left and right change places by themselves, since its crease lies on the other
    side as it is read.
    """
    if align not in (TOWARD_CREASE, AWAY_FROM_CREASE):
        return align, None
    faced = [other.region for other in drafts if other.name == draft.faces]
    others = faced or [region for region in regions if region is not draft.region]
    borders = [b for region in others if (b := shared_border(draft.region, region))]
    if not borders:
        return "centre", Problem(
            draft.spec.type_place if draft.spec else draft.name,
            f"panel {draft.name!r} has no crease for its text to stand by.",
            'Write align = "centre", "start" or "end".',
        )
    upright = rotation(-draft.turn_deg)
    (ax, ay), (bx, by) = map(upright, max(borders, key=lambda ends: math.dist(*ends)))
    cx, cy = upright(draft.region.centroid)
    x, y = by - ay, ax - bx  # across the crease; turned towards it below
    if x * (ax - cx) + y * (ay - cy) < 0:
        x, y = -x, -y
    if align == AWAY_FROM_CREASE:
        x, y = -x, -y
    if abs(x) >= abs(y) * (1 - 1e-6):
        return "right" if x > 0 else "left", None
    return "top" if y > 0 else "bottom", None


def partners_of(panels: Sequence[PanelSpec]) -> dict[str, str]:
    """Make `faces` hold both ways."""
    partners: dict[str, str] = {}
    for panel in panels:
        if panel.faces is not None:
            partners[panel.name] = panel.faces
            partners[panel.faces] = panel.name
    return partners
