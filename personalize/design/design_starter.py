"""The TOML file to start from, written from what was seen in a drawing."""

from collections.abc import Iterator, Sequence

from personalize.design.design import Margins
from personalize.design.inspect import Inspection, size_text
from personalize.design.inspect_panels import SeenPanel
from personalize.design.inspect_pieces import SeenPiece
from personalize.design.selectors import selectors_for
from personalize.design.spec import ArtworkSpec, TraceSpec
from personalize.errors import refuse


def starter_toml(seen: Inspection, stem: str, artwork: ArtworkSpec | None = None) -> str:
    """Write a design file that gives the lines and panels that were seen.

    With an `artwork` whose edge was traced it names that in place of lines.

    Raises InputError where there is no outline, so that no design could run.
    """
    if not seen.pieces:
        raise refuse(
            seen.drawing.name,
            "no design file can be written without a usable outline.",
            "Mend first what inspect tells of it.",
        )
    lines = [
        f"# Written from {_plain(seen.drawing.name)},"
        f" {size_text(seen.drawing.width_mm, seen.drawing.height_mm)}.",
        "# Look at every line below; what a line is for was guessed from how it is drawn.",
        "",
        f"name = {quoted(stem.replace('-', ' ').replace('_', ' ').capitalize())}",
    ]
    if artwork is not None:
        lines += ["", *_artwork(artwork), "", *_margins()]
    else:
        lines.append(f"svg = {quoted(seen.drawing.name)}")
        if seen.px_per_inch is not None:
            lines.append(f"px_per_inch = {seen.px_per_inch:g}")
        lines += ["", "[lines]", *_lines(seen), "", *_margins()]
    for piece in seen.pieces:
        if piece.name:
            lines += ["", *_piece(piece)]
        for panel in piece.panels:
            if panel.takes_text or panel.glue:
                lines += ["", *_panel(panel, piece, seen)]
    lines += _creases(seen)
    return "\n".join(lines) + "\n"


def _artwork(artwork: ArtworkSpec) -> Iterator[str]:
    trace = artwork.trace or TraceSpec()
    yield "[artwork]"
    yield f"file = {quoted(artwork.file)}"
    if artwork.px_per_inch is not None:
        yield f"px_per_inch = {artwork.px_per_inch:g}"
    if artwork.page > 1:
        yield f"page = {artwork.page}"
    # Each with what it says.
    rest = [
        ("trace = true", "the outline follows the transparent edge"),
        (f"offset_mm = {trace.offset_mm:g}", "how far outside of it; negative: inside"),
        (f"specks_mm2 = {trace.specks_mm2:g}", "smaller parts and holes are left out"),
    ]
    if not artwork.file.casefold().endswith(".pdf"):
        does = f"extend_edge = {str(artwork.extend_edge).lower()}"
        rest.append((does, "its edge colours go on past the cut"))
    yield from (f"{key:<30} # {says}" for key, says in rest)


def quoted(text: str) -> str:
    r"""Write a TOML basic string (TOML 1.0, "String").

    >>> quoted('a "b"')
    '"a \\"b\\""'
    """
    out = []
    for letter in text:
        if letter in '"\\':
            out.append("\\" + letter)
        elif letter.isprintable():
            out.append(letter)
        else:
            out.append(f"\\U{ord(letter):08X}")
    return '"' + "".join(out) + '"'


def _plain(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())


def _lines(seen: Inspection) -> Iterator[str]:
    for kind, keys in seen.kinds.items():
        selectors, unnamed = selectors_for(seen.drawing, keys)
        if unnamed:
            raise refuse(
                seen.drawing.name,
                f"a line ({kind}) is drawn again as a linked copy that is none, so that"
                " no name tells them apart.",
                "Save the drawing without linked copies.",
            )
        whys = dict.fromkeys(one.why for one in seen.groups if one.kind is kind)
        yield f"# {kind}: {_plain('; '.join(whys))}"
        yield f"{kind} = {_list(selectors)}"


def _list(words: Sequence[str]) -> str:
    if len(words) == 1:
        return quoted(words[0])
    if sum(map(len, words)) < 60:
        return f"[{', '.join(map(quoted, words))}]"
    return "[\n" + "".join(f"  {quoted(word)},\n" for word in words) + "]"


def _margins() -> Iterator[str]:
    usual = Margins()
    yield "[margins]                      # mm that the words keep away, and the bleed"
    for name in ("outline", "crease", "hole", "glue", "bleed"):
        yield f"{name} = {getattr(usual, name):g}"


def _piece(piece: SeenPiece) -> Iterator[str]:
    x, y = piece.at_mm
    yield "[[piece]]                      # leave one out, and it is not made"
    yield f"name = {quoted(piece.name)}"
    yield f"at = [{x:.3f}, {y:.3f}]"
    if not any(panel.takes_text for panel in piece.panels):
        yield "words = false                  # no room inside the margins"


def _panel(panel: SeenPanel, piece: SeenPiece, seen: Inspection) -> Iterator[str]:
    def name(own: str) -> str:
        """Names of panels are unlike in all of the file."""
        begun = own.startswith(piece.name)
        return own if begun else f"{piece.name} {own}"

    x, y = panel.at_mm
    yield "[[panel]]"
    yield f"name = {quoted(name(panel.name))}"
    yield f"at = [{x:.3f}, {y:.3f}]"
    if panel.glue:
        yield "glue = true                    # a tab that takes adhesive: no words"
        return
    yield f"text = {quoted('{' + panel.name + '}')}"
    selectors = () if panel.area is None else _selectors(seen, panel.area)
    if len(selectors) == 1:
        yield f"area = {quoted(selectors[0])}  # words stay in it; it is not printed"
    partners = [other for other in piece.panels if other.name == panel.faces]
    if any(other.takes_text for other in partners) and panel.faces is not None:
        yield f"faces = {quoted(name(panel.faces))}"
    elif panel.back is not None:
        yield f"# faces = {quoted(name(panel.back))}    # they lie back to back once folded"


def _creases(seen: Inspection) -> Iterator[str]:
    """Ask how several creases are folded: comments, since nothing of it was seen."""
    several = [piece.creases for piece in seen.pieces if len(piece.creases) > 1]
    asked = [crease for creases in several for crease in creases]
    if not asked:
        return
    yield ""
    yield "# How the creases are folded. Take the marks away and say it for each."
    for crease in asked:
        x, y = crease.at_mm
        yield "#"
        one, other = map(_plain, crease.between)
        yield f"# [[crease]]             # between {one} and {other}"
        yield f"# at = [{x:.3f}, {y:.3f}]"
        yield f"# angle_deg = {crease.angle_deg:g}        # 0: only marked; 180: shut"
        yield f'# way = "{crease.way}"       # the print outside; "valley": inside'


def _selectors(seen: Inspection, key: int) -> tuple[str, ...]:
    return selectors_for(seen.drawing, frozenset({key}))[0]
