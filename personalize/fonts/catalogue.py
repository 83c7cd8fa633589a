"""The fonts that can be used: the bundled catalogue, and a maker's own file."""

import difflib
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from personalize import bundled
from personalize.errors import refuse
from personalize.fonts import harfbuzz


@dataclass(frozen=True, slots=True)
class Font:
    """One face by name. Its outlines are opened when first asked for."""

    name: str
    path: Path
    index: int = 0
    role: str = "text"
    """"text", "fallback" or "emoji"."""
    scripts: tuple[str, ...] = ()
    """ISO 15924 codes that it serves well."""

    def __hash__(self) -> int:
        """Hash by name alone: fonts are keys of many small tables."""
        return hash(self.name)

    @property
    def face(self) -> harfbuzz.Face:
        """The opened face (kept for the process)."""
        return harfbuzz.load_face(self.path, self.index)


@lru_cache(maxsize=1)
def catalogue() -> tuple[Font, ...]:
    """Bundled fonts in fallback order."""
    folder = bundled.folder("fonts_open")
    entries = tomllib.loads((folder / "fonts.toml").read_text("utf-8"))["font"]
    return tuple(
        Font(
            entry["name"],
            folder / entry["file"],
            entry.get("index", 0),
            entry["role"],
            tuple(entry["scripts"]),
        )
        for entry in entries
    )


def find_font(name: str, folder: Path, place: str) -> Font:
    """Find a font by its bundled name, or as a file beside the design.

    Raises InputError (told for `place`) when there is none, when the file is no font we
    can draw from, or when its makers do not permit embedding.
    """
    for font in catalogue():
        if font.name.casefold() == name.casefold():
            return font
    if not name.casefold().endswith((".ttf", ".otf", ".ttc")):
        known = [font.name for font in catalogue() if font.role == "text"]
        near = difflib.get_close_matches(name, known, 1, 0.5)
        raise refuse(
            place,
            f"there is no font called {name!r}.",
            f"Did you mean {near[0]!r}?"
            if near
            else f"Use one of {', '.join(known)}, or a font file beside the design.",
        )
    return _own_font(folder / name, place)


def _own_font(path: Path, place: str) -> Font:
    font = Font(path.stem, path)
    try:
        bits = font.face.embedding_bits
    except OSError:
        raise refuse(
            place,
            f"the font file {path.name!r} cannot be opened.",
            "Put it in the design's folder, or name a bundled font.",
        ) from None
    except harfbuzz.UnreadableFontError as error:
        raise refuse(
            place,
            f"the font file {path.name!r} cannot be used: {error}.",
            "Choose another font.",
        ) from None
    # OpenType 1.9.1, OS/2 fsType: 2 alone forbids embedding of any kind.
    if bits & 0x000F == harfbuzz.RESTRICTED:
        raise refuse(
            place,
            f"the makers of the font {path.name!r} do not permit embedding it in a PDF.",
            "Choose another font.",
        )
    return font


def chain_for(font: Font, text: str) -> tuple[Font, ...]:
    """Give the fonts to try for a text, in order: the design's own, then the bundled.

    Chinese, Japanese and Korean share ideographs that each draws its own way. Kana mark
    a text as Japanese and Hangul as Korean; else the catalogue's first form stands.
    """
    wanted = _han_form(text)
    rest = [f for f in catalogue() if f.path != font.path or f.index != font.index]
    if wanted:
        rest.sort(key=lambda f: wanted in f.scripts, reverse=True)
    return (font, *rest)


def _han_form(text: str) -> str | None:
    for letter in text:
        if "\u3040" <= letter <= "\u30ff" or "\uff66" <= letter <= "\uff9d":
            return "Jpan"
        if "\uac00" <= letter <= "\ud7a3" or "\u1100" <= letter <= "\u11ff":
            return "Kore"
    return None
