"""The fonts of text in artwork: chosen by us, so that a run does not depend on a machine.

A family is looked for among the bundled fonts, then among the font files beside the design,
then among the installed ones. Renderers get those files and no others.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from lxml import etree

from personalize.design.svg_xml import SVG, local
from personalize.finding import Finding, Severity
from personalize.fonts import harfbuzz, installed
from personalize.fonts.catalogue import catalogue
from personalize.fonts.choice import listed
from personalize.fonts.cut_down import PartOfFont
from personalize.fonts.files import (
    SUFFIXES,
    Member,
    UnreadableFontError,
    folded,
    read_members,
)
from personalize.rules import Rule

GENERIC = {
    "serif": "Lora",
    "cursive": "Pacifico",
    "fantasy": "Baloo 2",
}
"""What CSS's general families (CSS Fonts 4, section 2.1) are set in; all others, and text
that names no font, in `PLAIN`."""
PLAIN = "Noto Sans"
_GENERIC = frozenset(GENERIC) | {
    *("sans-serif", "monospace", "system-ui", "ui-serif", "ui-sans-serif", "math"),
    *("ui-monospace", "ui-rounded", "emoji", "fangsong", "inherit", "initial", ""),
}
_TEXT = frozenset({"text", "tspan", "textPath"})
_SHORTHAND = re.compile(
    r"(?:^|\s)[\d.]+(?:[a-z]+|%)(?:\s*/\s*\S+)?\s+(?P<families>.+)$", re.I
)
BUNDLED, BESIDE, INSTALLED = "bundled", "beside the design", "installed on this machine"


@dataclass(frozen=True, slots=True)
class SetText:
    """Artwork whose text names the fonts that it is set in."""

    svg: bytes
    fonts: tuple[PartOfFont, ...]
    told: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """A family, its files, and where they lie."""

    family: str
    members: tuple[Member, ...]
    where: str

    def has(self, letter: str) -> bool:
        """Whether one of its fonts draws a letter."""
        return any(_face(m.path, m.index).nominal(letter) is not None for m in self.members)


def set_text(svg: bytes, folder: Path, file: str) -> SetText:
    """Choose the fonts of all text in an SVG of `artwork_svg`.

    Parameters
    ----------
    svg
        The artwork; it comes back as it is where it has no text.
    folder
        Of the design: its font files are looked at.
    file
        The drawing's name, for the findings.
    """
    if b"<text" not in svg:
        return SetText(svg, (), ())
    root = etree.fromstring(svg)
    chooser = _Chooser(folder)
    for element in [one for one in root.iter() if local(one) in _TEXT]:
        _set_words(element, chooser)
    made = etree.tostring(root, encoding="utf-8", xml_declaration=True)
    return SetText(made, chooser.fonts(), tuple(chooser.told(file)))


def _set_words(element: etree._Element, chooser: "_Chooser") -> None:
    """Write on an element the family of its words, and wrap words of other families.

    A renderer would look for a letter that is missing by itself, and set the words round
    it in what it finds (measured).
    """
    children = list(element)
    texts = [element.text or "", *(child.tail or "" for child in children)]
    if not "".join(texts).strip():
        return
    chain = chooser.chain(_asked(element))
    _set_family(element, chain[0])
    runs = [list(chooser.runs(chain, text)) for text in texts]
    for at, text_runs in enumerate(runs):
        if all(family is chain[0] for _, family in text_runs):
            continue
        if at == 0:
            element.text = None
        else:
            children[at - 1].tail = None
        place = 0 if at == 0 else element.index(children[at - 1]) + 1
        for words, family in text_runs:
            span = etree.Element(f"{{{SVG}}}tspan")
            span.text = words
            _set_family(span, family)
            element.insert(place, span)
            place += 1


def _set_family(element: etree._Element, family: "_Found") -> None:
    style = element.get("style")
    told = f"font-family:'{family.family}'"
    element.set("style", f"{style};{told}" if style else told)


def _asked(element: etree._Element) -> tuple[str, ...]:
    """Give the families that hold for an element, as its own or inherited CSS has them."""
    for one in (element, *element.iterancestors()):
        parts = (part.partition(":") for part in (one.get("style") or "").split(";"))
        css = {name.strip(): value for name, _, value in parts}
        shorthand = _SHORTHAND.search(css.get("font") or one.get("font") or "")
        told = (
            css.get("font-family")
            or (shorthand["families"] if shorthand else None)
            or one.get("font-family")
        )
        if told and told.strip() != "inherit":
            return tuple(part.strip(" '\"") for part in told.split(","))
    return ()


class _Chooser:
    """Finds families, and remembers what it found and what it did not."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.used: dict[str, _Found] = {}
        self._missing: dict[str, str] = {}
        """What a family that is not there is replaced by."""
        self._letters: dict[str, None] = {}
        self._set: dict[str, set[str]] = {}
        """What is set in each family: renderers get fonts of these letters alone, as they
        would set other words in them where a letter is missing in one (measured)."""

    def fonts(self) -> tuple[PartOfFont, ...]:
        """Give the fonts that are used, cut down to what is set in them."""
        parts = {
            PartOfFont(m.path, m.index, "".join(sorted(self._set[family])))
            for family, found in self.used.items()
            for m in found.members
        }
        return tuple(sorted(parts, key=lambda one: (one.path, one.index)))

    def chain(self, asked: tuple[str, ...]) -> list[_Found]:
        """Give the families to set words in, the first that is there of those asked for."""
        found = [one for name in asked if (one := self._found(name)) is not None]
        chain = found or [self._plain(PLAIN)]
        if asked and self._found(asked[0]) is None:
            self._missing.setdefault(asked[0], chain[0].family)
        return chain

    def runs(self, chain: list[_Found], text: str) -> Iterator[tuple[str, _Found]]:
        """Cut a text where its family changes. What joins letters stays with them."""
        words, family = "", chain[0]
        for letter in text:
            wanted = chain[0] if letter.isspace() else family
            if _is_seen(letter):
                wanted = self._for(letter, chain, family)
            if wanted.family != family.family and words:
                yield self._used(words, family)
                words = ""
            words, family = words + letter, wanted
        if words:
            yield self._used(words, family)

    def _used(self, words: str, family: _Found) -> tuple[str, _Found]:
        self.used.setdefault(family.family, family)
        self._set.setdefault(family.family, set()).update(words)
        return words, family

    def _for(self, letter: str, chain: list[_Found], now: _Found) -> _Found:
        """Choose the family of a letter; a mark's is that of its letter if it can be."""
        first = [now] if unicodedata.category(letter).startswith("M") else []
        for one in (*first, *chain):
            if one.has(letter):
                return one
        found = _fallback(letter)
        if found is None:
            self._letters.setdefault(letter)
        return found or chain[0]

    def _found(self, name: str) -> _Found | None:
        if name.casefold() in _GENERIC:
            return self._plain(GENERIC.get(name.casefold(), PLAIN))
        wanted = folded(name)
        for where in (BUNDLED, BESIDE, INSTALLED):
            found = _family(wanted, self._fonts(where))
            if found:
                return _Found(found[0].family, found, where)
        return None

    def _fonts(self, where: str) -> tuple[Member, ...]:
        if where == INSTALLED:
            return installed.installed()
        return _bundled() if where == BUNDLED else _beside(self._folder)

    def _plain(self, name: str) -> _Found:
        return _Found(name, _family(folded(name), _bundled()), BUNDLED)

    def told(self, file: str) -> Iterator[Finding]:
        """Tell what the text of a drawing is set in, and what is missing."""
        for name, instead in self._missing.items():
            yield Finding(
                Rule.ARTWORK_FONT_MISSING,
                Severity.WARNING,
                f"The font {name!r} of words in {file} is not bundled, not beside the"
                f" design and not installed: they are set in {instead}.",
                "Put the font's file beside the design, or turn the words into outlines in"
                " the drawing program.",
                figures={"font": name, "instead": instead},
            )
        if self._letters:
            letters = listed(f"{c} (U+{ord(c):04X})" for c in self._letters)
            yield Finding(
                Rule.ARTWORK_LETTER_MISSING,
                Severity.WARNING,
                f"No font has these letters of words in {file}: {letters}.",
                "Turn these words into outlines in the drawing program.",
                figures={"letters": len(self._letters)},
            )
        fonts = listed(f"{one.family} ({one.where})" for one in self.used.values())
        here = any(one.where == INSTALLED for one in self.used.values())
        yield Finding(
            Rule.ARTWORK_FONTS,
            Severity.NOTE,
            f"Words in {file} are set in {fonts}.",
            "On another machine they may be set otherwise: copy the files of installed"
            " fonts beside the design, or turn the words into outlines."
            if here
            else "",
            figures={"fonts": len(self.used)},
        )


def _family(wanted: str, fonts: tuple[Member, ...]) -> tuple[Member, ...]:
    """Give all fonts of a family, or the one font of that full name."""
    found = [m for m in fonts if wanted in m.families and _may_embed(m)]
    return tuple(found or [m for m in fonts if wanted in m.names and _may_embed(m)][:1])


def _may_embed(member: Member) -> bool:
    """Whether its makers permit it (OpenType 1.9.1, OS/2 fsType: 2 alone forbids it)."""
    try:
        bits = _face(member.path, member.index).embedding_bits
    except (OSError, UnreadableFontError):
        return False
    return bits & 0x000F != harfbuzz.RESTRICTED and not bits & harfbuzz.BITMAPS_ONLY


def _face(path: Path, index: int) -> harfbuzz.Face:
    return harfbuzz.load_face(path, index, ())


@lru_cache(maxsize=1)
def _bundled() -> tuple[Member, ...]:
    """Give the bundled fonts as their files name them."""
    paths = dict.fromkeys(font.path for font in catalogue())
    return tuple(member for path in paths for member in read_members(path))


def _beside(folder: Path) -> tuple[Member, ...]:
    """Give the fonts in the design's folder; files that cannot be read are left out."""
    out: list[Member] = []
    for path in sorted(folder.iterdir()):
        if path.name.casefold().endswith(SUFFIXES):
            try:
                out += read_members(path)
            except (OSError, UnreadableFontError):
                continue
    return tuple(out)


def _fallback(letter: str) -> _Found | None:
    """Find the first bundled font that has a letter."""
    for font in catalogue():
        if font.face.nominal(letter) is not None:
            member = read_members(font.path)[font.index]
            return _Found(member.family, (member,), BUNDLED)
    return None


def _is_seen(letter: str) -> bool:
    """Whether a letter needs a drawing: spaces, joiners and selectors do not."""
    kind = unicodedata.category(letter)
    selector = "\ufe00" <= letter <= "\ufe0f"
    return not (kind[0] == "Z" or kind in ("Cc", "Cf", "Cs") or selector)
