"""The fonts that can be used: the bundled catalogue, a maker's own file, installed ones."""

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from personalize import bundled
from personalize.errors import InputError, refuse
from personalize.fonts import harfbuzz, installed
from personalize.fonts.choice import (
    Chosen,
    Part,
    choose_member,
    choose_place,
    listed,
    near,
    of_family,
)
from personalize.fonts.files import (
    SUFFIXES,
    Axes,
    Member,
    UnreadableFontError,
    read_members,
)

_WHOLE = Part()


@dataclass(frozen=True, slots=True)
class Font:
    """One face by name. Its outlines are opened when first asked for."""

    name: str
    path: Path
    index: int = 0
    axes: Axes = ()
    """Value on every axis of a variable font, which is used as this one static font."""
    role: str = "text"
    """"text", "fallback" or "emoji" in the catalogue, else "own"."""
    scripts: tuple[str, ...] = ()
    """ISO 15924 codes that it serves well."""
    emoji: "Font | None" = None
    """The font that a design wants emoji from, if it names one."""
    sample: str = ""
    """A name of an invented person that shows it."""
    told_script: bool = False
    """Whether our catalogue calls it a script face, where its file says nothing."""

    def __hash__(self) -> int:
        """Hash by name alone: fonts are keys of many small tables."""
        return hash(self.name)

    @property
    def is_script(self) -> bool:
        """Whether it is a script face, by its own file or by our catalogue."""
        return self.told_script or self.face.is_script

    @property
    def face(self) -> harfbuzz.Face:
        """The opened face (kept for the process)."""
        return harfbuzz.load_face(self.path, self.index, self.axes)


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
            role=entry["role"],
            scripts=tuple(entry["scripts"]),
            sample=entry["sample"],
            told_script=entry.get("script_face", False),
        )
        for entry in entries
    )


def installed_font(member: Member) -> Font:
    """Make a font of an installed one as it is. Raises InputError if it cannot be used."""
    whole = choose_place(member, _WHOLE, member.path.name)
    return _usable(whole, member.full_name, member.path.name)


def find_font(name: str, folder: Path, place: str, part: Part = _WHOLE) -> Font:
    """Find a font: by its bundled name, as a file in the design's folder, or installed.

    `part` says which member, instance or axes of it. Raises InputError (told for
    `place`) when there is none, when several are meant, when we cannot draw from it, or
    when its makers do not permit embedding.
    """
    for font in catalogue():
        if font.name.casefold() == name.casefold():
            if part != _WHOLE:
                raise refuse(
                    place,
                    f"the bundled font {font.name!r} has no members, instances or axes.",
                    "Leave font_member, font_instance and font_axes out.",
                )
            return font
    if name.casefold().endswith(SUFFIXES):
        return _of_file(name, folder, place, part)
    if part.member is not None:
        raise refuse(
            place,
            f"font_member is for a file that holds several fonts, and {name!r} is none.",
            "Leave font_member out, or give the file's name.",
        )
    match = installed.match(name, part, installed.installed(), place)
    if match is None:
        raise _nowhere(name, place)
    member, rest = match
    return _usable(choose_place(member, rest, place), member.full_name, place)


def _nowhere(name: str, place: str) -> InputError:
    ours = [font.name for font in catalogue() if font.role == "text"]
    kin = of_family(name, (*ours, *(m.full_name for m in installed.installed())))
    if kin:
        says = f"there is no font called {name!r}."
        return refuse(place, says, f"Of this family there is {listed(kin)}: use one.")
    like = near(name, (*(m.full_name for m in installed.installed()), *ours))
    return refuse(
        place,
        f"there is no font called {name!r}.",
        f"Did you mean {like!r}?"
        if like
        else f"Use one of {', '.join(ours)}, a font file beside the design, or the full"
        " name of an installed font.",
    )


def _of_file(name: str, folder: Path, place: str, part: Part) -> Font:
    base = folder.resolve()
    try:
        path = (base / name.replace("\\", "/")).resolve()
    except ValueError:  # a name that no file can have, with a NUL in it, say
        raise _not_opened(name, place) from None
    if not path.is_relative_to(base):
        raise refuse(
            place,
            f"the font file {name!r} lies outside the design's folder.",
            "Put it in that folder or in one inside it, or name an installed font.",
        )
    try:
        held = read_members(path)
        member = choose_member(held, part.member, path.name, place)
    except OSError:
        raise _not_opened(name, place) from None
    except UnreadableFontError as error:
        raise _unreadable(path.name, str(error), place) from None
    label = path.stem if len(held) == 1 else member.full_name
    return _usable(choose_place(member, part, place), label, place)


def _not_opened(name: str, place: str) -> InputError:
    return refuse(
        place,
        f"the font file {name!r} cannot be opened.",
        "Put it in the design's folder, or name a bundled or an installed font.",
    )


def _unreadable(name: str, why: str, place: str) -> InputError:
    return refuse(
        place, f"the font {name!r} cannot be used: {why}.", "Choose another font."
    )


def _usable(chosen: Chosen, label: str, place: str) -> Font:
    """Make the font and try it: it opens, has outlines, and may be embedded."""
    member = chosen.member
    font = Font(
        f"{label} {chosen.said}".strip(), member.path, member.index, chosen.axes, "own"
    )
    try:
        bits = font.face.try_out()
    except OSError:
        raise _unreadable(member.path.name, "its file cannot be opened", place) from None
    except UnreadableFontError as error:
        raise _unreadable(member.path.name, str(error), place) from None
    # OpenType 1.9.1, OS/2 fsType: 2 alone forbids embedding of any kind.
    if bits & 0x000F == harfbuzz.RESTRICTED:
        raise refuse(
            place,
            f"the makers of the font {member.path.name!r} do not permit embedding it in a"
            " PDF.",
            "Choose another font.",
        )
    if bits & harfbuzz.BITMAPS_ONLY:
        raise refuse(
            place,
            f"the makers of the font {member.path.name!r} permit embedding of pictures of"
            " its letters only, not of their outlines.",
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
    if font.emoji is not None:
        rest.insert(0, font.emoji)
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
