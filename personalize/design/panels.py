"""Panels of a piece: their names, turns, safe zones, and which of them face each other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from personalize.design.creases import ToldCrease, folds_along, hinged, widest_deg
from personalize.design.design import Panel
from personalize.design.facing import wrong_faces
from personalize.design.folding import Folding
from personalize.design.glue import glue_lines, glue_of, rings_of, tabs, takes_glue
from personalize.design.keep_off import Edge, all_edges, free_parts
from personalize.design.lines import FoundLines
from personalize.design.places import Draft, PanelZone, panels_of, partners_of
from personalize.design.pose import Hinge, lying_on
from personalize.design.reading import Stance
from personalize.design.spec import DesignSpec, PanelSpec
from personalize.design.style import TypeStyle
from personalize.design.text_area import TextArea, area_in, with_points
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.faces import Faces, cut_into_panels, shared_border
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, cleared, common, plainer
from personalize.units import FLATTEN_MM

LEAST_ROOM_MM = (2.5, 7.5)
"""A zone narrower or shorter holds no name: one em and three of the smallest type (7 pt).
Judgement."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Regions of a piece with their text turns, and which of them carry text."""

    panels: tuple[Panel, ...]
    loose_creases: int
    folding: Folding
    crease_degs: tuple[float, ...]
    """Largest angle by which each drawn crease is folded."""
    glue: tuple[Contour, ...] = ()
    """Edges of the areas that take adhesive."""
    glued: tuple[Region, ...] = ()
    """Panels that take adhesive as a whole."""


def lay_out(
    lines: FoundLines,
    spec: DesignSpec,
    styles: dict[str, TypeStyle],
    page_height_mm: float,
    taken: Sequence[Contour] = (),
    *,
    told: Sequence[ToldCrease] = (),
    areas: Sequence[TextArea] = (),
) -> Layout:
    """Cut the piece into panels and prepare those that carry text.

    `styles` gives the type style of each panel by name ("" for the design's own); words
    keep out of what is `taken`, as they keep out of holes, and stay in the text `areas`.
    `told` says how creases are folded.
    """
    faces = faces_of(lines)
    if not faces.panels:
        raise refuse(spec.place, "the outline encloses no panel.", "Draw a larger outline.")
    hinges = hinged(faces.panels, told)
    degs = tuple(map(widest_deg, folds_along(lines.creases, hinges)))
    spec = with_points(spec, areas, page_height_mm)
    drafts, folding, glued = (
        _told(faces.panels, spec, page_height_mm, hinges)
        if spec.panels and not spec.wordless
        else _untold(faces.panels, spec, hinges, rings_of(glue_lines(lines.lines)))
    )
    if spec.wordless:
        bare = replace(folding, worded={}, sure=frozenset())
        return Layout((), len(faces.loose_ends), bare, degs, glue_of(lines, ()))
    if wrong := wrong_faces(drafts, folding, spec, page_height_mm):
        raise InputError(wrong)
    drafts = _in_areas(drafts, areas, told=bool(spec.panels))
    edges = all_edges(lines, degs, glued, spec)
    if spec.parted and not spec.panels:
        drafts = _with_room(drafts, edges)
        kept = {draft.name: draft.faces for draft in drafts}
        folding = replace(folding, worded=kept)
    rings = [contour.flattened(FLATTEN_MM) for contour in taken]
    edges += [Edge(ring, True, spec.margins.hole) for ring in rings]
    free = _without(drafts, rings, spec) if taken else drafts
    zones = _zones(free, edges, spec, page_height_mm)
    panels = panels_of(drafts, zones, faces.panels, styles, page_height_mm)
    every = glue_of(lines, glued)
    return Layout(panels, len(faces.loose_ends), folding, degs, every, tuple(glued))


def faces_of(lines: FoundLines) -> Faces:
    """Cut a piece into its panels."""
    creases = [crease.flattened(FLATTEN_MM) for crease in lines.creases]
    return cut_into_panels(
        lines.outline.flattened(FLATTEN_MM),
        [hole.flattened(FLATTEN_MM) for hole in lines.holes],
        [crease for crease in creases if len(crease) > 1],
        [slit.flattened(FLATTEN_MM) for slit in lines.slits],
    )


def _in_areas(
    drafts: Sequence[Draft], areas: Sequence[TextArea], *, told: bool
) -> list[Draft]:
    """Give panels the text areas that were drawn in them."""
    return [
        replace(d, area=area_in(areas, d.region, d.name if told else None)) for d in drafts
    ]


def _with_room(drafts: Sequence[Draft], edges: Sequence[Edge]) -> list[Draft]:
    """Keep the panels that have room for words; those that face others stand alone then."""
    kept = [
        draft
        for draft in drafts
        if any(_is_room(part.box) for part in free_parts(draft, edges))
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
    regions: tuple[Region, ...],
    spec: DesignSpec,
    hinges: tuple[Hinge, ...],
    glued: Sequence[Points],
) -> tuple[list[Draft], Folding, list[Region]]:
    """Name the panels of a drawing that comes without a TOML file; give its glue tabs.

    `glued` are edges of glue areas: what they cover carries no words.
    """
    at = tabs(regions)
    worded = [
        i
        for i, region in enumerate(regions)
        if i not in at and not takes_glue(region, glued)
    ]
    if not worded:
        worded, at = list(range(len(regions))), ()
    names, front = _named(regions, worded, hinges)
    for number, i in enumerate(at, 1):
        names[i] = f"tab{number}" if number > 1 else "tab"
    stance = Stance(0.0, spec.lying)
    folding = Folding(regions, tuple(names), front, hinges, stance, spec.viewer)
    facing = {frozenset(pair[:2]) for pair in folding.back_to_back}
    paired = len(worded) == 2 and frozenset(worded) in facing
    other = {i: names[worded[1 - n]] if paired else None for n, i in enumerate(worded)}
    order = [front, *(i for i in worded if i != front)]
    drafts = [
        Draft(
            None,
            names[i],
            regions[i],
            folding.poses[i],
            other[i],
            folding.reading(i).turn_deg,
            i != front,
            i,
        )
        for i in order
    ]
    told = {names[i]: other[i] for i in worded}
    return drafts, replace(folding, worded=told), [regions[i] for i in at]


def _named(
    regions: Sequence[Region], worded: Sequence[int], hinges: Sequence[Hinge]
) -> tuple[list[str], int]:
    """Name every region, by its place among those with words; say which is the front."""
    names = [f"bare panel{i + 1}" for i in range(len(regions))]
    for number, i in enumerate(worded, 1):
        names[i] = f"panel{number}"
    front = worded[0]
    if len(worded) == 1:
        names[front] = "front"
    elif len(worded) == 2 and any({h.first, h.second} == set(worded) for h in hinges):
        front = worded[_front_of([regions[i] for i in worded])]
        for i in worded:
            names[i] = "front" if i == front else "back"
    return names, front


def _told(
    regions: tuple[Region, ...],
    spec: DesignSpec,
    page_height_mm: float,
    hinges: tuple[Hinge, ...],
) -> tuple[list[Draft], Folding, list[Region]]:
    """Prepare the panels of a TOML file; give its glue tabs. Raises InputError."""
    indices = _matched(regions, spec, page_height_mm)
    every = list(zip(spec.panels, indices, strict=True))
    worded = [pair for pair in every if not pair[0].glue]
    if not worded:
        raise refuse(
            spec.panels[0].place,
            "every panel takes glue, and none is left for words.",
            "Add a [[panel]] without glue = true.",
        )
    partners = partners_of(spec.panels)
    first, root = worded[0]
    folding = Folding(
        regions,
        _names(len(regions), {index: panel for panel, index in every}),
        root,
        hinges,
        Stance(first.turn_deg or 0.0, spec.lying),
        spec.viewer,
        {panel.name: partners.get(panel.name) for panel, _ in worded},
        frozenset(
            panel.name
            for panel, _ in worded
            if panel.turn_deg is not None or panel.viewer is not None
        ),
    )
    drafts = [_draft(panel, index, folding, partners) for panel, index in worded]
    return drafts, folding, [regions[index] for panel, index in every if panel.glue]


def _draft(
    panel: PanelSpec, index: int, folding: Folding, partners: Mapping[str, str]
) -> Draft:
    """Prepare one panel of a TOML file."""
    turn = panel.turn_deg
    if turn is None:
        turn = folding.reading(index, panel.viewer).turn_deg
    return Draft(
        panel,
        panel.name,
        folding.regions[index],
        folding.poses[index],
        partners.get(panel.name),
        turn,
        False,
        index,
    )


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
        parts = free_parts(draft, edges)
        back: Affine | None = None
        other = by_name.get(draft.faces or "")
        if other is not None:
            back = lying_on(draft.pose, other.pose)
            assert back is not None  # wrong faces were told before
            theirs = [p.mapped(back) for p in free_parts(other, edges)]
            parts = tuple(z for a in parts for b in theirs for z in common(a, b))
        if not parts:
            problems.append(_no_zone(draft, spec))
            continue
        zone = plainer(_chosen(parts, draft, page_height_mm))
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
    if draft.area is not None and draft.spec is not None:
        return Problem(
            draft.spec.area_place,
            f"area = {draft.spec.area!r} leaves no room for text on panel {draft.name!r}.",
            "Draw it larger, inside the panel, off creases, holes and glue.",
        )
    return Problem(
        draft.spec.place if draft.spec else spec.place,
        f"panel {draft.name!r} ({x1 - x0:.1f} x {y1 - y0:.1f} mm) has no room for text"
        " once the margins are kept.",
        "Make the panel larger or the distances under [margins] smaller.",
    )
