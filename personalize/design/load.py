"""Load a design from disk: its TOML if there is one, its SVG, its fonts."""

from dataclasses import fields, replace
from pathlib import Path

from personalize import bundled
from personalize.design.artwork import artwork_svg
from personalize.design.design import Artwork, Colour, Design, TypeStyle
from personalize.design.lines import find_lines
from personalize.design.panels import lay_out
from personalize.design.places import slot_name
from personalize.design.spec import DesignSpec, TypeSpec
from personalize.design.svg import parse_svg
from personalize.design.toml import parse_design_toml
from personalize.errors import InputError, Problem, refuse
from personalize.fonts.catalogue import find_font
from personalize.geometry.zone import grown, region_of
from personalize.units import FLATTEN_MM

DEFAULT_FONT = "Nunito Bold"
BLACK = Colour(0.0, 0.0, 0.0)
REVERSED_MIN_PT = 10.0
"""Least size of light text on dark, unless the design says otherwise. Common practice,
no source."""


def sample_names() -> tuple[str, ...]:
    """Names of the bundled designs."""
    return tuple(sorted(p.stem for p in bundled.folder("samples").glob("*.toml")))


def load_design(source: str | Path) -> Design:
    """Load a design by the path of its SVG or TOML file, or by a bundled name.

    Raises InputError with everything that is wrong with it.
    """
    toml_path, svg_path = _files(source)
    spec = DesignSpec(place=svg_path.name if svg_path else str(source))
    folder = (toml_path or svg_path or Path()).parent
    if toml_path is not None:
        spec = parse_design_toml(_text(toml_path), toml_path.name)
        svg_path = svg_path or _named_svg(spec, toml_path)
    assert svg_path is not None
    return _build(spec, svg_path, folder)


def _files(source: str | Path) -> tuple[Path | None, Path | None]:
    """Find the TOML and the SVG that a name stands for; either may be None."""
    path = Path(source)
    if not path.is_file() and str(source) in sample_names():
        path = bundled.folder("samples") / f"{source}.toml"
    if not path.is_file():
        raise refuse(
            str(source) if path.name == str(source) else path.name,
            "there is no such design.",
            f"Give an SVG or TOML file, or one of {', '.join(sample_names())}.",
        )
    if path.suffix.casefold() == ".toml":
        return path, None
    beside = path.with_suffix(".toml")
    return (beside if beside.is_file() else None), path


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse(path.name, "it is not UTF-8 text.", "Save it as UTF-8.") from None
    except OSError as error:
        raise refuse(
            path.name, f"it cannot be read ({error.strerror}).", "Check its permissions."
        ) from None


def _named_svg(spec: DesignSpec, toml_path: Path) -> Path:
    name = spec.svg or f"{toml_path.stem}.svg"
    folder = toml_path.parent.resolve()
    path = (folder / name).resolve()
    if not path.is_relative_to(folder):
        raise refuse(
            toml_path.name,
            f"the drawing {name!r} lies outside the design's folder.",
            "Put it beside the TOML file.",
        )
    if not path.is_file():
        raise refuse(
            toml_path.name,
            f"the drawing {name!r} is not in its folder.",
            'Put it there, or name it: svg = "....svg".',
        )
    return path


def _build(spec: DesignSpec, svg_path: Path, folder: Path) -> Design:
    try:
        data = svg_path.read_bytes()
    except OSError as error:
        raise refuse(
            svg_path.name,
            f"it cannot be read ({error.strerror}).",
            "Check its permissions.",
        ) from None
    drawing = parse_svg(data, svg_path.name)
    styles = _styles(spec, folder)
    lines = find_lines(drawing, spec.lines, spec.lines_place or spec.place)
    layout = lay_out(lines, spec, styles, drawing.height_mm)
    silhouette = region_of(
        lines.outline.flattened(FLATTEN_MM),
        [hole.flattened(FLATTEN_MM) for hole in lines.holes],
    )
    bleed = grown(region_of(lines.outline.flattened(FLATTEN_MM)), spec.margins.bleed)
    return Design(
        name=spec.name or svg_path.stem,
        file=svg_path.name,
        use=spec.use,
        outline=lines.outline,
        holes=lines.holes,
        creases=lines.creases,
        lines=lines.lines,
        silhouette=silhouette,
        bleed=bleed,
        panels=layout.panels,
        margins=spec.margins,
        stick=spec.stick,
        artwork=Artwork(
            artwork_svg(drawing, lines.keys, bleed.box), bleed.box, svg_path.name
        ),
        loose_creases=layout.loose_creases,
        size_stated=drawing.size_stated,
    )


def _styles(spec: DesignSpec, folder: Path) -> dict[str, TypeStyle]:
    """Type style of the design (""), of each panel and of each block, fonts found."""
    problems = []
    styles: dict[str, TypeStyle] = {}
    wanted = [("", spec.type_place or spec.place, spec.type)]
    for panel in spec.panels:
        own = _over(panel.type, spec.type)
        wanted.append((panel.name, panel.type_place, own))
        wanted += [
            (slot_name(panel.name, block), block.type_place, _over(block.type, own))
            for block in panel.blocks
        ]
    for name, place, told in wanted:
        try:
            styles[name] = _style(told, folder, place)
        except InputError as error:
            problems += [p for p in error.problems if p not in problems]
    problems += _mixed_rules(styles, wanted)
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


def _over(own: TypeSpec, shared: TypeSpec) -> TypeSpec:
    """Fill what a panel or block does not say from what stands around it."""
    names = [f.name for f in fields(TypeSpec)]
    told = {n: v for n in names if (v := getattr(own, n)) is not None}
    return replace(shared, **told)


def _style(told: TypeSpec, folder: Path, place: str) -> TypeStyle:
    colour = told.colour or BLACK
    font = find_font(told.font or DEFAULT_FONT, folder, place)
    style = TypeStyle(font=font, colour=colour)
    if colour.luminance > 0.5:
        style = replace(style, min_pt=REVERSED_MIN_PT)
    names = [f.name for f in fields(TypeSpec) if f.name not in {"font", "colour"}]
    rest = {key: value for key in names if (value := getattr(told, key)) is not None}
    return replace(style, **rest)
