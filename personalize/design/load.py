"""Load a design from disk: its TOML if there is one, its lines and artwork, its fonts."""

from dataclasses import dataclass
from pathlib import Path

from personalize import bundled
from personalize.design.design import Design
from personalize.design.files import bytes_of
from personalize.design.lines import find_lines
from personalize.design.panels import lay_out
from personalize.design.picture_area import picture_edge, placed_area
from personalize.design.sources import (
    Source,
    implied,
    is_artwork_file,
    line_source,
    read_source,
    refuse_other_artwork,
)
from personalize.design.spec import DesignSpec
from personalize.design.styles import styles_of
from personalize.design.toml import parse_design_toml
from personalize.design.versions import versions_of
from personalize.errors import refuse
from personalize.geometry.zone import grown, region_of
from personalize.units import FLATTEN_MM


def sample_names() -> tuple[str, ...]:
    """Names of the bundled designs."""
    return tuple(sorted(p.stem for p in bundled.folder("samples").glob("*.toml")))


def load_design(source: str | Path) -> Design:
    """Load a design by the path of its SVG, picture or TOML file, or by a bundled name.

    Raises InputError with everything that is wrong with it.
    """
    files = design_files(source)
    read = read_source(files.spec, files.lines, files.folder)
    return _build(read, files.lines, files.folder)


@dataclass(frozen=True, slots=True)
class DesignFiles:
    """The files of a design, found, and what its TOML file says."""

    toml: Path | None
    lines: Path
    """Its SVG; or the artwork whose edge gives the lines."""
    spec: DesignSpec

    @property
    def folder(self) -> Path:
        """Where all that the design names lies."""
        return (self.toml or self.lines).parent


def design_files(source: str | Path) -> DesignFiles:
    """Find the files of a design by any of their names.

    Raises InputError when there is no such design, its TOML file has mistakes, or what
    its lines come from is not there.
    """
    toml_path, path = _files(source)
    if toml_path is None:
        assert path is not None
        spec = implied(path) if is_artwork_file(path) else DesignSpec(place=path.name)
        return DesignFiles(None, path, spec)
    spec = parse_design_toml(read_text(toml_path), toml_path.name)
    if path is not None and is_artwork_file(path):
        refuse_other_artwork(spec, toml_path, path)
        path = None
    return DesignFiles(toml_path, path or line_source(spec, toml_path), spec)


def _files(source: str | Path) -> tuple[Path | None, Path | None]:
    """Find the TOML and the SVG that a name stands for; either may be None."""
    path = Path(source)
    if not path.is_file() and str(source) in sample_names():
        path = bundled.folder("samples") / f"{source}.toml"
    if not path.is_file():
        raise refuse(
            str(source) if path.name == str(source) else path.name,
            "there is no such design.",
            f"Give an SVG, TOML or picture file, or one of {', '.join(sample_names())}.",
        )
    if path.suffix.casefold() == ".toml":
        return path, None
    beside = path.with_suffix(".toml")
    return (beside if beside.is_file() else None), path


def read_text(path: Path) -> str:
    """Read a text file. Raises InputError when it cannot be read or is no UTF-8."""
    try:
        return bytes_of(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse(path.name, "it is not UTF-8 text.", "Save it as UTF-8.") from None


def _build(source: Source, path: Path, folder: Path) -> Design:
    spec, drawing = source.spec, source.drawing
    styles = styles_of(spec, folder)
    lines = find_lines(drawing, spec.lines, spec.lines_place or spec.place, mend=spec.mend)
    picture = spec.picture and (spec.picture, picture_edge(drawing, spec.picture))
    taken = [picture[1]] if picture and picture[0].words == "beside" else []
    layout = lay_out(lines, spec, styles, drawing.height_mm, taken)
    outline = lines.outline.flattened(FLATTEN_MM)
    silhouette = region_of(outline, [hole.flattened(FLATTEN_MM) for hole in lines.holes])
    bleed = grown(region_of(outline), spec.margins.bleed)
    found = versions_of(spec, drawing, lines, bleed, folder)
    versions = found.versions
    own, told = source.printed(lines.keys, bleed) if not versions else (None, ())
    return Design(
        name=spec.name or path.stem,
        file=path.name,
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
        artwork=own or versions[0].artwork,
        versions=versions,
        picture=placed_area(*picture, layout.panels, bleed) if picture else None,
        loose_creases=layout.loose_creases,
        height_mm=drawing.height_mm,
        left_out=found.left_out if versions else drawing.told(),
        mended=lines.mended,
        told=told,
        size_stated=drawing.size_stated or spec.px_per_inch is not None,
    )
