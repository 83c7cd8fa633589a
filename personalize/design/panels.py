"""Panels of a piece: their names, turns, safe zones, and which of them face each other."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from personalize.design.creases import ToldCrease, folds_along, hinged, widest_deg
from personalize.design.design import Margins, Panel, Stick, TypeStyle
from personalize.design.facing import wrong_faces
from personalize.design.folding import Folding
from personalize.design.lines import FoundLines
from personalize.design.places import Draft, PanelZone, panels_of
from personalize.design.pose import SHUT_DEG, Hinge, lying_on
from personalize.design.reading import Stance
from personalize.design.spec import DesignSpec, PanelSpec
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.faces import cut_into_panels, shared_border
from personalize.geometry.path import Contour, distances
from personalize.geometry.zone import Region, cleared, common, keep_away, region_of
from personalize.units import FLATTEN_MM

Edge = tuple[Points, bool, float]
"""A line that text keeps away from, whether it is closed, and how far."""
LEAST_ROOM_MM = (2.5, 7.5)
"""A zone narrower or shorter holds no name: one em and three of the smallest type (7 pt).
Judgement."""
STICK_EXTRA_MM = 2.0
"""Text keeps this much more from the part of the paper that goes round a stick."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Regions of a piece with their text turns, and which of them carry text."""

    panels: tuple[Panel, ...]
    loose_creases: int
    folding: Folding
    crease_degs: tuple[float, ...]
    """Largest angle by which each drawn crease is folded."""


def lay_out(
    lines: FoundLines,
    spec: DesignSpec,
    styles: dict[str, TypeStyle],
    page_height_mm: float,
    taken: Sequence[Contour] = (),
    *,
    told: Sequence[ToldCrease] = (),
) -> Layout:
    """Cut the piece into panels and prepare those that carry text.

    `styles` gives the type style of each panel by name ("" for the design's own); words
    keep out of what is `taken`, as they keep out of holes. `told` says how creases are
    folded.
    """
    outline = lines.outline.flattened(FLATTEN_MM)
    holes = [hole.flattened(FLATTEN_MM) for hole in lines.holes]
    creases = [crease.flattened(FLATTEN_MM) for crease in lines.creases]
    faces = cut_into_panels(outline, holes, [c for c in creases if len(c) > 1])
    if not faces.panels:
        raise refuse(spec.place, "the outline encloses no panel.", "Draw a larger outline.")
    hinges = hinged(faces.panels, told)
    degs = tuple(map(widest_deg, folds_along(lines.creases, hinges)))
    drafts, folding = (
        _told(faces.panels, spec, page_height_mm, hinges)
        if spec.panels and not spec.wordless
        else _untold(faces.panels, spec, hinges)
    )
    if spec.wordless:
        bare = replace(folding, worded={}, sure=frozenset())
        return Layout((), len(faces.loose_ends), bare, degs)
    wrong = wrong_faces(drafts, folding, spec, page_height_mm)
    if wrong:
        raise InputError(wrong)
    edges = _edges(lines, degs, spec.margins, spec.stick)
    if spec.parted and not spec.panels:
        drafts = _with_room(drafts, edges)
        kept = {draft.name: draft.faces for draft in drafts}
        folding = replace(folding, worded=kept)
    rings = [contour.flattened(FLATTEN_MM) for contour in taken]
    edges += [(ring, True, spec.margins.hole) for ring in rings]
    free = _without(drafts, rings, spec) if taken else drafts
    zones = _zones(free, edges, spec, page_height_mm)
    panels = panels_of(drafts, zones, faces.panels, styles, page_height_mm)
    return Layout(panels, len(faces.loose_ends), folding, degs)


def _with_room(drafts: Sequence[Draft], edges: Sequence[Edge]) -> list[Draft]:
    """Keep the panels that have room for words; those that face others stand alone then."""
    kept = [
        draft
        for draft in drafts
        if any(_is_room(part.box) for part in keep_away(draft.region, edges))
    ]
    names = {draft.name for draft in kept}
    return [d if d.faces in names else replace(d, faces=None) for d in kept]


def _is_room(box: tuple[float, float, float, float]) -> bool:
    sides = sorted((box[2] - box[0], box[3] - box[1]))
    return sides[0] >= LEAST_ROOM_MM[0] and sides[1] >= LEAST_ROOM_MM[1]


def _without(
    drafts: Sequence[Draft], rings: Sequence[Points], spec: DesignSpec
) -> list[Draft]:
    """Take from the panels what is taken. Raises InputError where nothing is left."""
    left = [cleared(draft.region, rings) for draft in drafts]
    problems = [
        _no_zone(draft, spec)
        for draft, parts in zip(drafts, left, strict=True)
        if not parts
    ]
    if problems:
        raise InputError(problems)
    return [replace(d, region=parts[0]) for d, parts in zip(drafts, left, strict=True)]


def _front_of(regions: Sequence[Region]) -> int:
    """Choose the front of two panels: the right one, or the lower across a level crease.

    A standing tent shows its lower panel upright, and a flag seen with its stick at the
    left shows the panel right of the crease.
    """
    border = shared_border(regions[0], regions[1])
    (ax, ay), (bx, by) = border or ((0.0, 0.0), (0.0, 1.0))
    upright = abs(by - ay) >= abs(bx - ax)
    if upright:
        return max(range(2), key=lambda i: regions[i].centroid[0])
    return min(range(2), key=lambda i: regions[i].centroid[1])


def _untold(
    regions: tuple[Region, ...], spec: DesignSpec, hinges: tuple[Hinge, ...]
) -> tuple[list[Draft], Folding]:
    """Name the panels of a drawing that comes without a TOML file."""
    names = [f"panel{i + 1}" for i in range(len(regions))]
    front = 0
    if len(regions) == 1:
        names = ["front"]
    elif len(regions) == 2 and hinges:
        front = _front_of(regions)
        names = ["back", "back"]
        names[front] = "front"
    stance = Stance(0.0, spec.lying)
    folding = Folding(regions, tuple(names), front, hinges, stance, spec.viewer)
    paired = len(regions) == 2 and bool(folding.back_to_back)
    worded = {name: names[1 - i] if paired else None for i, name in enumerate(names)}
    order = [front, *(i for i in range(len(regions)) if i != front)]
    return [
        Draft(
            None,
            names[i],
            regions[i],
            folding.poses[i],
            names[1 - i] if paired else None,
            folding.reading(i).turn_deg,
            i != front,
            i,
        )
        for i in order
    ], replace(folding, worded=worded)


def _told(
    regions: tuple[Region, ...],
    spec: DesignSpec,
    page_height_mm: float,
    hinges: tuple[Hinge, ...],
) -> tuple[list[Draft], Folding]:
    """Prepare the panels of a TOML file. Raises InputError."""
    indices = _matched(regions, spec, page_height_mm)
    partners = _partners(spec.panels)
    folding = Folding(
        regions,
        _names(len(regions), dict(zip(indices, spec.panels, strict=True))),
        indices[0],
        hinges,
        Stance(spec.panels[0].turn_deg or 0.0, spec.lying),
        spec.viewer,
        {panel.name: partners.get(panel.name) for panel in spec.panels},
        frozenset(
            panel.name
            for panel in spec.panels
            if panel.turn_deg is not None or panel.viewer is not None
        ),
    )
    return [
        Draft(
            panel,
            panel.name,
            regions[index],
            folding.poses[index],
            partners.get(panel.name),
            panel.turn_deg
            if panel.turn_deg is not None
            else folding.reading(index, panel.viewer).turn_deg,
            False,
            index,
        )
        for panel, index in zip(spec.panels, indices, strict=True)
    ], folding


def _names(count: int, panels: Mapping[int, PanelSpec]) -> tuple[str, ...]:
    """Name every region; those without words by their number, apart from the others."""
    taken = {panel.name for panel in panels.values()}
    names = []
    for i in range(count):
        name = panels[i].name if i in panels else f"panel{i + 1}"
        while i not in panels and name in taken:
            name = f"bare {name}"
        names.append(name)
    return tuple(names)


def _matched(
    regions: tuple[Region, ...], spec: DesignSpec, page_height_mm: float
) -> list[int]:
    """Find the region of every panel of a TOML file. Raises InputError."""
    problems: list[Problem] = []
    indices: list[int] = []
    for panel in spec.panels:
        index, problem = _region_for(panel, regions, page_height_mm)
        if problem is None and index in indices:
            other = spec.panels[indices.index(index)].name
            problem = Problem(
                panel.place,
                f"panels {other!r} and {panel.name!r} are the same part of the piece.",
                "Point each at its own side of the crease.",
            )
        if problem is not None:
            problems.append(problem)
        indices.append(index)
    if problems:
        raise InputError(problems)
    return indices


def _region_for(
    panel: PanelSpec, regions: tuple[Region, ...], page_height_mm: float
) -> tuple[int, Problem | None]:
    if panel.at is not None:
        point = (panel.at[0], page_height_mm - panel.at[1])
        for index, region in enumerate(regions):
            if region.contains(point):
                return index, None
        return 0, Problem(
            panel.place,
            f"the point [{panel.at[0]:g}, {panel.at[1]:g}] of panel {panel.name!r} lies"
            " outside the piece.",
            "Give a point inside the panel, in mm from the drawing's top left corner.",
        )
    if len(regions) == 1:
        return 0, None
    if len(regions) == 2 and panel.name in ("front", "back"):
        front = _front_of(regions)
        return (front if panel.name == "front" else 1 - front), None
    return 0, Problem(
        panel.place,
        f"the piece has {len(regions)} panels, and which of them is"
        f" {panel.name!r} is not told.",
        "Add a point inside it, for example at = [30, 20].",
    )


def _partners(panels: Sequence[PanelSpec]) -> dict[str, str]:
    """Make `faces` hold both ways."""
    partners: dict[str, str] = {}
    for panel in panels:
        if panel.faces is not None:
            partners[panel.name] = panel.faces
            partners[panel.faces] = panel.name
    return partners


def stick_allowance_mm(stick: Stick) -> float:
    """Distance that text keeps from a crease that goes round a stick.

    Half a turn round diameter d in paper of thickness t takes pi (d + t) / 2, half of it
    on each side; derived. Twice the diameter at least, so that the words do not begin to
    bend away (judgement).
    """
    round_mm = math.pi * (stick.diameter_mm + stick.thickness_mm) / 4
    return max(2 * stick.diameter_mm, round_mm + STICK_EXTRA_MM)


def crease_margin_mm(
    margins: Margins, stick: Stick | None, angle_deg: float = 180.0
) -> float:
    """Distance that text keeps from a crease: its margin, or the stick's allowance.

    A stick is where the crease is folded shut; paper goes round none at a lesser angle.
    """
    round_it = stick is not None and angle_deg >= SHUT_DEG
    return max(margins.crease, stick_allowance_mm(stick) if stick and round_it else 0.0)


def _edges(
    lines: FoundLines, degs: Sequence[float], margins: Margins, stick: Stick | None
) -> list[Edge]:
    """Lines that text keeps away from, each with its distance.

    Curves come in chords. Where a curve lies nearer to the text than its chords (inside a
    bay, round a hole), the distance grows by as much.
    """
    creases = zip(lines.creases, degs, strict=True)
    wanted = [
        (lines.outline, margins.outline),
        *((hole, margins.hole) for hole in lines.holes),
        *((crease, crease_margin_mm(margins, stick, deg)) for crease, deg in creases),
    ]
    out = []
    for contour, distance_mm in wanted:
        points = contour.flattened(FLATTEN_MM)
        if len(points) > 1:
            away = _bulge(contour, points, outwards=contour is not lines.outline)
            out.append((points, contour.closed, distance_mm + away))
    return out


def _bulge(contour: Contour, chords: Points, *, outwards: bool) -> float:
    """How far a curve leaves its chords on the side where the text is."""
    near = contour.flattened(FLATTEN_MM / 20)
    if len(near) == len(chords):
        return 0.0
    if contour.closed:
        region = region_of(chords)
        near = np.array([p for p in near if region.contains(tuple(p)) != outwards])
    return float(distances(near, chords, closed=contour.closed).max(initial=0.0))


def _zones(
    drafts: Sequence[Draft],
    edges: Sequence[Edge],
    spec: DesignSpec,
    page_height_mm: float,
) -> dict[str, PanelZone]:
    """Safe zones by panel name; panels that face each other get mirrored ones."""
    by_name = {draft.name: draft for draft in drafts}
    zones: dict[str, PanelZone] = {}
    problems = []
    for draft in drafts:
        if draft.name in zones:
            continue
        parts = keep_away(draft.region, edges)
        back: Affine | None = None
        other = by_name.get(draft.faces or "")
        if other is not None:
            back = lying_on(draft.pose, other.pose)
            assert back is not None  # wrong faces were told before
            theirs = [p.mapped(back) for p in keep_away(other.region, edges)]
            parts = tuple(z for a in parts for b in theirs for z in common(a, b))
        if not parts:
            problems.append(_no_zone(draft, spec))
            continue
        zone = _chosen(parts, draft, page_height_mm)
        zones[draft.name] = PanelZone(zone, back)
        if other is not None and back is not None:
            forth = back.inverse()
            zones[other.name] = PanelZone(zone.mapped(forth), forth)
    if problems:
        raise InputError(problems)
    return zones


def _chosen(parts: Sequence[Region], draft: Draft, page_height_mm: float) -> Region:
    """Take the part that the panel's point lies in, else the largest."""
    if draft.spec is not None and draft.spec.at is not None:
        point: Point = (draft.spec.at[0], page_height_mm - draft.spec.at[1])
        for part in parts:
            if part.contains(point):
                return part
    return max(parts, key=lambda p: p.area_mm2)


def _no_zone(draft: Draft, spec: DesignSpec) -> Problem:
    x0, y0, x1, y1 = draft.region.box
    return Problem(
        draft.spec.place if draft.spec else spec.place,
        f"panel {draft.name!r} ({x1 - x0:.1f} x {y1 - y0:.1f} mm) has no room for text"
        " once the margins are kept.",
        "Make the panel larger or the distances under [margins] smaller.",
    )
