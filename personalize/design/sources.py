"""What a design is read from: a drawing, or the edge of its artwork, and the artwork."""

from dataclasses import dataclass, replace
from pathlib import Path

from personalize.design.artwork_make import Making, make_artwork
from personalize.design.design import Artwork, LineKind
from personalize.design.file_artwork import FileArtwork, read_artwork, traced_lines
from personalize.design.files import beside, bytes_of
from personalize.design.spec import ArtworkSpec, DesignSpec, TraceSpec
from personalize.design.svg import PX_PER_INCH, SvgDocument, parse_svg, size_said_twice
from personalize.design.toml_file_artwork import PDF, PICTURES
from personalize.errors import refuse
from personalize.finding import Finding


@dataclass(frozen=True, slots=True)
class Source:
    """The lines and the artwork of a design, read and not yet taken apart."""

    spec: DesignSpec
    """Of a traced outline: with the lines that it has."""
    drawing: SvgDocument
    artwork: FileArtwork | None
    """None where the drawing is the artwork."""
    told: tuple[Finding, ...] = ()
    """Of the lines, where they were traced."""

    def printed(self, lines: frozenset[int], how: Making) -> Artwork:
        """Make the artwork without the shapes that are lines.

        Raises InputError where it cannot be laid on the lines, or drawn.
        """
        if self.artwork is None:
            return make_artwork(self.drawing, lines, self.drawing.name, how)
        return self.artwork.laid(self.drawing, how.bleed, how.bleed_mm, len(lines))


def is_artwork_file(path: Path) -> bool:
    """Whether a file is by its name a PDF or a picture."""
    return path.suffix.casefold() in (*PDF, *PICTURES)


def read_source(spec: DesignSpec, path: Path, folder: Path) -> Source:
    """Read what a design is made from.

    Parameters
    ----------
    spec
        What its TOML file says.
    path
        Its drawing; or its artwork, whose edge gives the lines.
    folder
        Of the design: what it names lies there.

    Raises
    ------
    InputError
        A file cannot be used.
    """
    artwork = read_artwork(spec.artwork, folder) if spec.artwork else None
    if artwork is None or artwork.spec.trace is None:
        return Source(spec, read_drawing(spec, path), artwork)
    svg, told = traced_lines(artwork)
    drawing = parse_svg(svg, artwork.path.name)
    if spec.px_per_inch is not None:
        raise size_said_twice(spec.px_place, drawing)
    return Source(with_traced_lines(spec), drawing, artwork, told)


def with_traced_lines(spec: DesignSpec) -> DesignSpec:
    """Name the lines that a traced drawing has, where the design names none."""
    return spec if spec.lines else replace(spec, lines={LineKind.CUTTING: (".cut",)})


def read_drawing(spec: DesignSpec, svg_path: Path) -> SvgDocument:
    """Read the SVG of a design. Raises InputError."""
    drawing = parse_svg(bytes_of(svg_path), svg_path.name, spec.px_per_inch or PX_PER_INCH)
    if drawing.size_stated and spec.px_per_inch is not None:
        raise size_said_twice(spec.px_place, drawing)
    return drawing


def implied(path: Path) -> DesignSpec:
    """Give the design that a PDF or picture is by itself: its edge is the outline."""
    is_picture = path.suffix.casefold() in PICTURES
    art = ArtworkSpec(path.name, path.name, trace=TraceSpec(), extend_edge=is_picture)
    return DesignSpec(place=path.name, artwork=art)


def line_source(spec: DesignSpec, toml_path: Path) -> Path:
    """Find the file that a TOML file takes its lines from.

    Raises InputError where it is not there, lies elsewhere or is not told clearly.
    """
    traces = spec.artwork is not None and spec.artwork.trace is not None
    if spec.artwork is not None and traces:
        if spec.svg is not None:
            raise refuse(
                spec.artwork.place,
                f"both {spec.svg} and the traced edge give the lines.",
                "Leave out svg, or trace.",
            )
        return beside(toml_path.parent, spec.artwork.file, spec.artwork.place)
    name = spec.svg or f"{toml_path.stem}.svg"
    if spec.svg is None and not (toml_path.parent / name).is_file():
        do = 'Put it there, or name it: svg = "....svg".'
        if spec.artwork is not None:
            do += " Or write trace = true in [artwork], to cut along its transparent edge."
        raise refuse(toml_path.name, f"the drawing {name!r} is not in its folder.", do)
    return beside(toml_path.parent, name, toml_path.name)


def refuse_other_artwork(spec: DesignSpec, toml_path: Path, path: Path) -> None:
    """Refuse a picture that the design file of its name does not use."""
    art = spec.artwork
    if art is not None and beside(toml_path.parent, art.file, art.place) == path.resolve():
        return
    raise refuse(
        path.name,
        f"{toml_path.name} beside it is for other artwork.",
        f'Write file = "{path.name}" under [artwork] in it, or give the picture another'
        " name.",
    )
