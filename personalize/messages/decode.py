"""Turn the bytes of a text file into text, and say how the encoding was told.

Marks at the start are those of Unicode (The Unicode Standard, section 23.8); UTF-8 is RFC
3629, UTF-16 RFC 2781. That labels such as "latin-1" mean the Windows table is from the
WHATWG Encoding Standard, section 4.2: real Latin-1 has control codes where real files have
quote marks and the euro.
"""

import codecs
import re
from collections.abc import Sequence
from dataclasses import dataclass

from personalize.errors import InputError, refuse
from personalize.finding import Finding, Severity
from personalize.messages.garbled import guess_of
from personalize.messages.legacy import Guess, guesses
from personalize.rules import Rule

ENCODING = "--encoding"
RULE = Rule.ENCODING_GUESSED

_SAVE_AS = "Save the spreadsheet as CSV UTF-8."
_MARKS = (
    # UTF-32's first: its little-endian mark begins with that of UTF-16.
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_MARK = "\ufeff"
# Label: what files that bear it are really written with (WHATWG Encoding 4.2, and for the
# last two common practice, no source).
_MEANT = {
    "ascii": "cp1252",
    "iso8859-1": "cp1252",
    "iso8859-9": "cp1254",
    "iso8859-11": "cp874",
    "tis-620": "cp874",
    "gb2312": "gb18030",
    "gbk": "gb18030",
    "euc_kr": "cp949",
    "shift_jis": "cp932",
}
_CONTROL = re.compile(r"[\x80-\x9f]")
_C0 = bytes(sorted({*range(0x20), 0x7F} - set(b"\t\n\v\f\r\x1b")))
_ASCII = bytes(range(0x80))
_LINE_END = re.compile(r"[\r\n]")
_WIDE_CONTROLS = re.compile("[\0-\x08\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Decoded:
    """The text of a file, with how its encoding was told."""

    text: str
    encoding: str
    decisions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def decode(data: bytes, name: str, encoding: str | None = None) -> Decoded:
    """Turn the bytes of a text file, which messages call `name`, into text.

    A mark at the start says what the text is. Without one it is UTF-8 if it can be, then
    UTF-16 by where its NUL bytes stand, then the older encoding that makes the likeliest
    words (see `legacy`): such a guess is told as a decision and as a finding. `encoding`
    names it instead, as Python knows it.

    Raises
    ------
    InputError
        The bytes are no such text, the encoding is not known, or there are NUL characters.
    """
    asked = encoding_named(encoding)
    marked = next((told for mark, told in _MARKS if data.startswith(mark)), None)
    if asked is not None and marked is not None and not asked.startswith(marked):
        raise refuse(
            ENCODING,
            f"{name} begins with the mark of {marked.upper()}, so it is not {encoding}.",
            f"Leave {ENCODING} out.",
        )
    if marked is not None:
        return _checked(Decoded(_strict(data, name, marked), marked), name)
    if asked is not None:
        return _checked(_as_asked(data, name, asked, encoding or asked), name)
    if (wide := _wide(data)) is not None:
        return wide
    if b"\0" in data:
        raise _nul(name, data.count(b"\n", 0, data.index(0)) + 1)
    try:
        return Decoded(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return _guessed(data, name)


def encoding_named(encoding: str | None) -> str | None:
    """Give the name of the encoding that a maker means; None for None.

    Raises
    ------
    InputError
        There is no such encoding of text.

    Examples
    --------
    >>> encoding_named("Windows-1250"), encoding_named("latin1")
    ('cp1250', 'cp1252')
    """
    if encoding is None:
        return None
    try:
        info = codecs.lookup(encoding.strip())
        # What is no encoding of text (rot13, zip) raises here.
        "".encode(info.name)
    except (LookupError, ValueError) as error:
        raise refuse(
            ENCODING,
            f"{encoding!r} is no encoding of text that is known here.",
            "Give a name such as utf-8, cp1252, cp1250 or mac_roman.",
        ) from error
    known = info.name.removesuffix("-sig")
    return _MEANT.get(known, known)


def _as_asked(data: bytes, name: str, asked: str, encoding: str) -> Decoded:
    """Decode as the maker said; refuse what has control codes then."""
    if asked in {"utf-16", "utf-32"}:
        # Without a mark, Python would take the order of this computer.
        wide = _wide(data) if asked == "utf-16" else None
        if wide is not None:
            return wide
        asked += "-le"
    text = _strict(data, name, asked)
    if (found := _CONTROL.search(text)) is not None:
        line = text.count("\n", 0, found.start()) + 1
        raise refuse(
            ENCODING,
            f"read as {asked}, line {line} of {name} has the control code "
            f"U+{ord(found[0]):04X}, so it is another encoding.",
            f"Give another one, or leave {ENCODING} out.",
        )
    if codecs.lookup(encoding.strip()).name.removesuffix("-sig") == asked:
        return Decoded(text, asked)
    told = f"The encoding {encoding} was read as {asked}, which is what such files have."
    return Decoded(text, asked, (told,))


def _strict(data: bytes, name: str, encoding: str) -> str:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        # Some codecs tell the place in what is left after the mark.
        start = error.start + len(data) - len(error.object)
        raise _no_text(data, name, start, encoding) from error
    return text.lstrip(_MARK)


def _checked(decoded: Decoded, name: str) -> Decoded:
    if (nul := decoded.text.find("\0")) >= 0:
        raise _nul(name, decoded.text.count("\n", 0, nul) + 1)
    return decoded


def _nul(name: str, line: int) -> InputError:
    return refuse(
        f"{name}, line {line}", "there is a NUL character, which no text has.", _SAVE_AS
    )


def _no_text(data: bytes, name: str, start: int, encoding: str) -> InputError:
    line = data.count(b"\n", 0, start) + 1
    return refuse(
        f"{name}, line {line}",
        f"byte {start + 1} of the file (0x{data[start]:02X}) is no "
        f"{encoding.upper()} text.",
        _SAVE_AS,
    )


def is_wide(data: bytes) -> bool:
    """Tell whether bytes without a mark are UTF-16."""
    return _wide(data) is not None


def _wide(data: bytes) -> Decoded | None:
    """Read UTF-16 without a mark, told by the NUL bytes of its ASCII letters."""
    if len(data) % 2 or b"\0" not in data:
        return None
    made = []
    for encoding in ("utf-16-le", "utf-16-be"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        # A list has a line end, which Latin letters taken in twos have not.
        if not _WIDE_CONTROLS.search(text) and _LINE_END.search(text):
            made.append((sum(c < "\x80" for c in text), encoding, text))
    if not made:
        return None
    _, encoding, text = max(made)
    told = f"The file has no mark of its encoding; its NUL bytes tell {encoding.upper()}."
    return Decoded(text.lstrip(_MARK), encoding, (told,))


def _guessed(data: bytes, name: str) -> Decoded:
    """Read an older encoding by the likeliest words, and tell that it is a guess."""
    whole, broken, first = _utf8_parts(data)
    if whole > 4 * broken:
        raise _no_text(data, name, first, "utf-8")
    found = () if _is_binary(data) else guesses(data)
    mixed = 10 * whole > broken and _has_garbled(data, found)
    if not found or mixed:
        line = data.count(b"\n", 0, first) + 1
        why = (
            "though other parts are"
            if mixed
            else "and no older encoding makes words of the file"
        )
        raise refuse(
            f"{name}, line {line}",
            f"byte {first + 1} of the file (0x{data[first]:02X}) is no UTF-8 text, {why}.",
            f"Save the spreadsheet as CSV UTF-8, or give {ENCODING}.",
        )
    best = found[0]
    says = f"The file is not UTF-8 and was read as {best.encoding}: {_shown(best)}."
    others = "".join(
        f" As {other.encoding} it would be {_shown(other)}." for other in found[1:4]
    )
    do = f"Check the accents; if they are wrong, give {ENCODING} or save as CSV UTF-8."
    figures: dict[str, str] = {"encoding": best.encoding}
    if others:
        figures["also possible"] = ", ".join(other.encoding for other in found[1:4])
    finding = Finding(RULE, Severity.WARNING, says + others, do, figures=figures)
    return Decoded(
        data.decode(best.encoding), best.encoding, (f"{says}{others} {do}",), (finding,)
    )


def _has_garbled(data: bytes, found: Sequence[Guess]) -> bool:
    """Tell whether the likeliest table makes garbled words, so that a part is UTF-8."""
    return bool(found) and guess_of(data.decode(found[0].encoding)) is not None


def _shown(guess: Guess) -> str:
    return " and ".join(repr(word) for word in guess.words)


def _is_binary(data: bytes) -> bool:
    """Tell whether so many control codes are among the bytes that this is no text."""
    return 30 * (len(data) - len(data.translate(None, _C0))) > len(data)


def _utf8_parts(data: bytes) -> tuple[int, int, int]:
    """Count bytes of whole UTF-8 letters beyond ASCII, other bytes, and find the first."""
    whole = len(data.decode("utf-8", "ignore").encode().translate(None, _ASCII))
    broken = len(data.translate(None, _ASCII)) - whole
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return whole, broken, error.start
    return whole, broken, len(data)
