"""Load a design from disk: its TOML if there is one, its lines and artwork, its fonts."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from personalize import bundled
from personalize.design.artwork_make import Making
from personalize.design.back import back_of, refuse_several_backs
from personalize.design.design import TWO_SIDED_SHIFT_MM, Design
from personalize.design.files import bytes_of, is_file
from personalize.design.layers import without_layers
from personalize.design.lines import find_pieces
from personalize.design.panels import Layout, lay_out
from personalize.design.picture_area import picture_edge, picture_owner, placed_area
from personalize.design.pieces import (
    JOINT,
    DrawnPiece,
    drawn_pieces,
    no_words_note,
    picked,
    refuse_several,
)
from personalize.design.sources import (
    Source,
    implied,
    is_artwork_file,
    line_source,
    read_source,
    refuse_other_artwork,
)
from personalize.design.spec import DesignSpec, PictureSpec
from personalize.design.style import TypeStyle
from personalize.design.styles import styles_of
from personalize.design.svg import PX_PER_INCH, SvgDocument
from personalize.design.text_area import text_areas, unprinted
from personalize.design.toml import parse_design_toml
from personalize.design.versions import versions_of
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, grown


def sample_names() -> tuple[str, ...]:
    """Names of the bundled designs: those that need no option."""
    designs = bundled.folder("samples").glob("*.toml")
    return tuple(sorted(p.stem for p in designs if p.with_suffix(".svg").exists()))


def load_design(
    source: str | Path, *, two_sided_shift_mm: float = TWO_SIDED_SHIFT_MM
) -> Design:
    """Load a design by the path of its SVG, picture or TOML file, or by a bundled name.

    `two_sided_shift_mm` says how far the print of its back may be off the front's.
    Raises InputError with everything that is wrong with it, or where its drawing has
    several pieces.
    """
    designs = load_designs(source, two_sided_shift_mm=two_sided_shift_mm)
    if len(designs) > 1:
        raise refuse_several(designs[0].file, [design.piece for design in designs])
    return designs[0]


def load_designs(
    source: str | Path,
    pieces: Sequence[str] = (),
    *,
    two_sided_shift_mm: float = TWO_SIDED_SHIFT_MM,
    least_bleed_mm: float = 0.0,
) -> tuple[Design, ...]:
    """Load every piece of a drawing as a design of its own.

    `pieces` names those to take; all are taken where the drawing has none of the names.
    A design that has any bleed gets at least so much. Raises InputError with everything
    that is wrong.
    """
    files = _bled(design_files(source), least_bleed_mm)
    whole = read_source(files.spec, files.lines, files.folder)
    read = replace(whole, drawing=_front(whole.spec, whole.drawing))
    spec, drawing = read.spec, read.drawing
    styles = styles_of(spec, files.folder)
    found = find_pieces(drawing, spec.lines, spec.lines_place or spec.place, mend=spec.mend)
    drawn = drawn_pieces(drawing, found, spec)
    refuse_several_backs(spec, len(drawn))
    picture, owner = None, drawn[0]
    if spec.picture is not None:
        picture = (spec.picture, picture_edge(drawing, spec.picture))
        owner = drawn[picture_owner(*picture, [one.lines.solid for one in drawn])]
    out: list[Design] = []
    problems: dict[Problem, None] = {}
    for piece in picked(drawn, pieces):
        own = picture if piece is owner else None
        try:
            front = _build(piece, _Source(read, files, styles, own))
            front = replace(front, sheet=spec.sheet, cut=spec.cut)
            if spec.back is not None:
                folder, shift_mm = files.folder, two_sided_shift_mm
                back = back_of(front, piece, whole.drawing, folder, shift_mm)
                front = replace(front, back=back)
            out.append(front)
        except InputError as error:
            problems |= dict.fromkeys(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(out)


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


def _bled(files: DesignFiles, least_mm: float) -> DesignFiles:
    margins = files.spec.margins
    if not 0 < margins.bleed < least_mm:
        return files
    spec = replace(files.spec, margins=replace(margins, bleed=least_mm))
    return replace(files, spec=spec)


def _files(source: str | Path) -> tuple[Path | None, Path | None]:
    """Find the TOML and the SVG that a name stands for; either may be None."""
    path = Path(source)
    if not is_file(path) and str(source) in sample_names():
        path = bundled.folder("samples") / f"{source}.toml"
    if not is_file(path):
        raise refuse(
            str(source) if path.name == str(source) else path.name,
            "there is no such design.",
            f"Give an SVG, TOML or picture file, or one of {', '.join(sample_names())}.",
        )
    if path.suffix.casefold() == ".toml":
        return path, None
    beside = path.with_suffix(".toml")
    return (beside if is_file(beside) else None), path


def read_text(path: Path) -> str:
    """Read a text file. Raises InputError when it cannot be read or is no UTF-8."""
    try:
        return bytes_of(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse(path.name, "it is not UTF-8 text.", "Save it as UTF-8.") from None


def _front(spec: DesignSpec, whole: SvgDocument) -> SvgDocument:
    """Give the drawing without the layers of its back."""
    if spec.back is None or not spec.back.layers:
        return whole
    px_per_inch = spec.px_per_inch or PX_PER_INCH
    return without_layers(whole, spec.back.layers, spec.back.place, px_per_inch)


@dataclass(frozen=True, slots=True)
class _Source:
    """What a piece is built from beside its own lines."""

    read: Source
    files: DesignFiles
    styles: dict[str, TypeStyle]
    picture: tuple[PictureSpec, Contour] | None

    @property
    def taken(self) -> list[Contour]:
        """What words keep out of."""
        beside = self.picture is not None and self.picture[0].words == "beside"
        return [self.picture[1]] if self.picture and beside else []


def _laid_out(piece: DrawnPiece, source: _Source) -> Layout:
    """Cut a piece into panels; words keep out of a picture and in drawn text areas."""
    return lay_out(
        piece.lines,
        piece.spec,
        source.styles,
        source.read.drawing.height_mm,
        source.taken,
        told=piece.creases,
        areas=text_areas(source.read.drawing, piece.spec),
    )


def _name(piece: DrawnPiece, source: _Source) -> str:
    """Give the design's name, and the piece's where it has one."""
    name = piece.spec.name or source.files.lines.stem
    return f"{name}{JOINT}{piece.name}" if piece.name else name


def _build(piece: DrawnPiece, source: _Source) -> Design:
    drawing, picture = source.read.drawing, source.picture
    lines, spec = piece.lines, piece.spec
    layout = _laid_out(piece, source)
    bleed, name = grown(lines.solid, spec.margins.bleed), _name(piece, source)
    how = _making(piece, source, bleed)
    found = versions_of(spec, drawing, lines, how)
    wordless = () if layout.panels else (no_words_note(piece.name, name),)
    return Design(
        name=name,
        file=source.files.lines.name,
        use=spec.use,
        outline=lines.outline,
        holes=lines.holes,
        creases=lines.creases,
        lines=lines.lines,
        slits=lines.slits,
        glue=layout.glue,
        silhouette=lines.paper,
        bleed=bleed,
        panels=layout.panels,
        margins=spec.margins,
        stick=spec.stick,
        artwork=found.versions[0].artwork
        if found.versions
        else source.read.printed(lines.keys, how),
        versions=found.versions,
        picture=placed_area(*picture, layout.panels, bleed) if picture else None,
        loose_creases=layout.loose_creases,
        folding=layout.folding,
        crease_degs=layout.crease_degs,
        height_mm=drawing.height_mm,
        left_out=found.left_out if found.versions else drawing.told(),
        mended=lines.mended,
        size_stated=drawing.size_stated or spec.px_per_inch is not None,
        piece=piece.name,
        per_message=piece.per_message,
        stock=spec.stock,
        told=(*source.read.told, *piece.told, *wordless),
    )


def _making(piece: DrawnPiece, source: _Source, bleed: Region) -> Making:
    """Say how the pictures of a piece are made."""
    spec = piece.spec
    return Making(
        source.files.folder,
        piece.lines.outline,
        bleed,
        spec.margins.bleed,
        spec.extend_edge,
        bleed if spec.parted else None,
        unprinted(source.read.drawing, spec),
    )
