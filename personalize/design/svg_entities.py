"""Entities of a drawing that lead outside it: emptied before anything reads them.

Drawing programs write a DOCTYPE with entities of the file's own, which are read (XML 1.0
section 4.2.1). One declared as SYSTEM or PUBLIC (section 4.2.2) would be another file
or an address; it is made empty, and told.
"""

import re

_NAME = r"[^\s%\"'<>&;]+"
_QUOTED = r"(?:\"[^\"]*\"|'[^']*')"
_OUTSIDE = re.compile(
    rf"<!ENTITY\s+(%\s+)?({_NAME})\s+(?:SYSTEM\s+{_QUOTED}|PUBLIC\s+{_QUOTED}\s+{_QUOTED})"
    rf"(?:\s+NDATA\s+{_NAME})?\s*>"
)
_ENCODING = re.compile(r"\sencoding\s*=\s*(?:\"[^\"]*\"|'[^']*')")
MOST_HEAD = 1024 * 1024
"""Longest head of a file looked at: one that is longer is no export of anything."""


def without_outside(data: bytes) -> tuple[bytes, tuple[tuple[int, str], ...]]:
    """Empty the entities of a file that lead outside.

    Parameters
    ----------
    data
        The file; UTF-16 is written anew as UTF-8 where there is something to empty.

    Returns
    -------
    tuple
        The file, and for each such entity its line and its name. What cannot be read
        here comes back as it is: the parser refuses outside entities as well.
    """
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    end = data.find("<svg".encode("utf-16-le" if data[:1] == b"\xff" else "utf-16-be"))
    end = data.find(b"<svg") if not wide else end
    head = data[: end if end >= 0 else None][:MOST_HEAD]
    try:
        text = head.decode("utf-16" if wide else "latin-1")
        rest = data[len(head) :].decode("utf-16-le" if data[:1] == b"\xff" else "utf-16-be")
    except UnicodeDecodeError:
        if wide:
            return data, ()
        rest = ""
    found = tuple(
        (text.count("\n", 0, match.start()) + 1, match[2])
        for match in _OUTSIDE.finditer(text)
    )
    if not found:
        return data, ()
    safe = _OUTSIDE.sub(_emptied, text)
    for _, key in found:
        safe = safe.replace(f"%{key};", "")  # a list of declarations from outside
    if wide:
        return (_ENCODING.sub("", safe, count=1) + rest).encode(), found
    return safe.encode("latin-1") + data[len(head) :], found


def _emptied(match: re.Match[str]) -> str:
    """Keep the name, so that what refers to it gets nothing."""
    return f'<!ENTITY {match[1] or ""}{match[2]} "">'
