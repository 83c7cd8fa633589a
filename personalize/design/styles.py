"""Type styles of a design, its panels and their blocks, with their fonts found."""

from collections.abc import Sequence
from dataclasses import fields, replace
from pathlib import Path

from personalize.design.places import slot_name
from personalize.design.spec import DesignSpec, TypeSpec
from personalize.design.style import Colour, Rim, TypeStyle
from personalize.errors import InputError, Problem, refuse
from personalize.fonts.catalogue import Font, find_font
from personalize.fonts.choice import Part

DEFAULT_FONT = "Nunito Bold"
_STYLE_KEYS = {f.name for f in fields(TypeStyle)} - {"font", "colour", "rim"}
BLACK = Colour(0.0, 0.0, 0.0)
RIM_MM = {"line": 0.6, "soft": 1.5}
"""How far a rim reaches unless told. On busy art 0.6 mm (common practice, no source); a
shape under all the words needs more to look like one. Judgement."""


def styles_of(spec: DesignSpec, folder: Path) -> dict[str, TypeStyle]:
    """Type style of the design (""), of each panel and of each block, fonts found."""
    problems = []
    styles: dict[str, TypeStyle] = {}
    wanted = [("", spec.type_place or spec.place, spec.type)]
    for panel in spec.panels:
        own = over(panel.type, spec.type)
        wanted.append((panel.name, panel.type_place, own))
        wanted += [
            (slot_name(panel.name, block), block.type_place, over(block.type, own))
            for block in panel.blocks
        ]
    for name, place, told in wanted:
        try:
            styles[name] = _style(told, folder, place)
            if name or not spec.panels:
                _needs_language(styles[name], spec, place)
        except InputError as error:
            problems += [p for p in error.problems if p not in problems]
    if "allergen" in spec.use:
        styles = {name: replace(one, allergen=True) for name, one in styles.items()}
    problems += _mixed_rules(styles, wanted) + _unlike_faces(styles, spec)
    if problems:
        raise InputError(problems)
    return styles


def _mixed_rules(
    styles: dict[str, TypeStyle], wanted: list[tuple[str, str, TypeSpec]]
) -> list[Problem]:
    """Tell of groups whose texts ask for different rules of sizes."""
    rules: dict[str, str] = {}
    problems = []
    for name, place, _ in wanted:
        style = styles.get(name)
        if name and style and style.size_group:
            first = rules.setdefault(style.size_group, style.sizes)
            if style.sizes != first:
                problems.append(
                    Problem(
                        place,
                        f"{name!r} asks for sizes = {style.sizes!r}, and others of its"
                        f" size_group {style.size_group!r} for {first!r}.",
                        "Give all of a group the same rule.",
                    )
                )
    return problems


def _unlike_faces(styles: dict[str, TypeStyle], spec: DesignSpec) -> list[Problem]:
    """Tell of panels that face each other and ask for unlike rules: they share one size."""
    panels = {panel.name: panel for panel in spec.panels}
    pairs = {
        frozenset((panel.name, panel.faces))
        for panel in spec.panels
        if panel.faces in panels
    }
    problems = []
    for nth, back in enumerate(spec.panels):
        fronts = [p for p in spec.panels[:nth] if frozenset((p.name, back.name)) in pairs]
        for front in fronts:
            for block in back.blocks or (None,):
                if block and block.name not in [b.name for b in front.blocks]:
                    continue
                names = slot_name(front.name, block), slot_name(back.name, block)
                told = (block.type, back.type) if block else (back.type,)
                place = block.type_place if block else back.type_place
                problems += _unlike(styles, names, told, place)
    return problems


def _unlike(
    styles: dict[str, TypeStyle],
    names: tuple[str, str],
    told: Sequence[TypeSpec],
    place: str,
) -> list[Problem]:
    front, back = names
    problems = []
    for key in ("sizes", "size_group"):
        own = next((v for spec in told if (v := getattr(spec, key)) is not None), None)
        other = getattr(styles[front], key) if front in styles else own
        # A group holds for both where only one says it.
        if own is not None and own != other and (other or key == "sizes"):
            problems.append(
                Problem(
                    place,
                    f"{back!r} asks for {key} = {own!r}, and {front!r}, which it faces, for"
                    f" {other!r}.",
                    "The two share one size: give both the same, or leave it out here.",
                )
            )
    return problems


def over(own: TypeSpec, shared: TypeSpec) -> TypeSpec:
    """Fill what a panel or block does not say from what stands around it.

    Where it names a font of its own, nothing that is said of another font holds.
    """
    if own.font is not None:
        none = {"font_member": None, "font_instance": None, "font_axes": None}
        shared = replace(shared, **none, script_face=None)
    names = [f.name for f in fields(TypeSpec)]
    told = {n: v for n in names if (v := getattr(own, n)) is not None}
    return replace(shared, **told)


def _font(told: TypeSpec, folder: Path, place: str) -> Font:
    """Find the font that is told, and the one for emoji beside it."""
    part = Part(told.font_member, told.font_instance, told.font_axes or ())
    font = find_font(told.font or DEFAULT_FONT, folder, place, part)
    if told.emoji_font is None:
        return font
    pictures = replace(find_font(told.emoji_font, folder, place), role="emoji")
    return replace(font, emoji=pictures)


def _style(told: TypeSpec, folder: Path, place: str) -> TypeStyle:
    colour = told.colour or BLACK
    style = TypeStyle(font=_font(told, folder, place), colour=colour)
    if told.min_pt is not None:
        style = replace(style, reversed_min_pt=told.min_pt, script_min_pt=told.min_pt)
    style = replace(style, rim=_rim(told))
    names = [f.name for f in fields(TypeSpec) if f.name in _STYLE_KEYS]
    rest = {key: value for key in names if (value := getattr(told, key)) is not None}
    style = replace(style, **rest)
    # On a small package the letters' own height is the floor, unless the design says one.
    bare = style.is_small_package and told.min_pt is None
    return replace(style, min_pt=0.0) if bare else style


def _rim(told: TypeSpec) -> Rim | None:
    """Give the rim that is asked for."""
    if told.rim in (None, "none"):
        return None
    mm = told.rim_mm or RIM_MM[told.rim]
    return Rim(told.rim, mm, told.rim_colour)


def _needs_language(style: TypeStyle, spec: DesignSpec, place: str) -> None:
    """Refuse hyphens without a language, where they are asked for."""
    if style.hyphenate and not style.language:
        raise refuse(
            spec.type_place if spec.type.hyphenate else place,
            "words can be hyphenated only by the rules of a language.",
            'Write, for example, language = "de", or leave hyphenate out.',
        )
