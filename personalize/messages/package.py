"""The zip files and XML that workbooks are made of, opened with care.

A workbook comes from anybody's computer. What it says of itself is not believed: no more
is unpacked, and no more is built from its XML, than a list can need, and no document type
is let in, whose entities could stand for any words.
"""

import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from io import BytesIO

from lxml import etree

MOST_BYTES = 128 * 1024 * 1024
"""Most bytes that a workbook may unpack to. Judgement: a list of 100 000 names is 30 MB;
a zip file of a few kB can be made to unpack to any size."""
MOST_MARKS = 8_000_000
"""Most tags and attributes of one part, about seven for each cell, so that there are a
million cells. Judgement: each one costs some hundred bytes while it is read."""
_TIGHT, _TIGHT_BYTES = 200, 8 * 1024 * 1024
"""A large part that is packed to less than this share of itself says the same over and
over. Judgement: worksheets full of blank cells reach 50."""

_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, OSError, struct.error)
# Passwords, and ways and versions of packing that the library does not know.
_UNKNOWN = (RuntimeError, NotImplementedError, ValueError)


class DamagedError(Exception):
    """A part of the workbook cannot be read. Says which, in words for a person."""


class TooLargeError(Exception):
    """The workbook holds more than is read. Says of what, in words for a person."""


class Package:
    """The zip file of a workbook. Unpacks parts, and never more than `MOST_BYTES`."""

    def __init__(self, data: bytes) -> None:
        try:
            self._zip = zipfile.ZipFile(BytesIO(data))
        except (*_BROKEN, *_UNKNOWN) as error:
            raise DamagedError("it is no whole zip file") from error
        # Part names are compared without regard to case (ECMA-376 part 2, section 6.2).
        self._infos = {info.filename.lower(): info for info in self._zip.infolist()}
        self._left = MOST_BYTES
        if sum(info.file_size for info in self._zip.infolist()) > MOST_BYTES:
            raise _unpacks_too_far()

    def __contains__(self, name: str) -> bool:
        return name.lower() in self._infos

    def part(self, name: str) -> bytes:
        """Unpack one part; what the zip file says of its size is not believed."""
        info = self._infos.get(name.lower())
        if info is None:
            raise DamagedError(f"its part {name} is missing")
        try:
            with self._zip.open(info) as stream:
                data = stream.read(self._left + 1)
        except _BROKEN as error:
            raise DamagedError(f"its part {name} cannot be unpacked") from error
        except _UNKNOWN as error:
            raise DamagedError(f"its part {name} is packed in an unknown way") from error
        self._left -= len(data)
        if self._left < 0:
            raise _unpacks_too_far()
        if len(data) > max(_TIGHT_BYTES, _TIGHT * info.compress_size):
            says = (
                f"its part {name} unpacks to over {_TIGHT} times its size, as no list does"
            )
            raise TooLargeError(says)
        return data


def root_of(data: bytes, part: str) -> etree._Element:
    """Read a small part whole; messages call it `part`."""
    _not_too_much(data, part)
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise _no_xml(error, part) from error
    _no_document_type(root, part)
    return root


def elements_of(
    data: bytes, part: str, names: Sequence[str], *, after: bool = True
) -> Iterator[tuple[str, etree._Element]]:
    """Give the elements of these names as they start and end, and forget what has ended.

    Gives ``"end"`` with each whole element, and with ``after=False`` a ``"start"`` with
    its attributes before that.
    """
    _not_too_much(data, part)
    reading = etree.iterparse(
        BytesIO(data),
        events=("end",) if after else ("start", "end"),
        tag=[f"{{*}}{name}" for name in names],
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        # A comment would cut the words round it in two.
        remove_comments=True,
        remove_pis=True,
    )
    try:
        for event, element in reading:
            _no_document_type(element, part)
            yield event, element
            if event == "end":
                element.clear(keep_tail=True)
                while element.getprevious() is not None:
                    del element.getparent()[0]
        _no_document_type(reading.root, part)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise _no_xml(error, part) from error


def local(element: etree._Element) -> str:
    """Name of an element without its namespace, which strict workbooks have another of."""
    return element.tag.rpartition("}")[2]


def _unpacks_too_far() -> TooLargeError:
    return TooLargeError(f"it unpacks to more than {MOST_BYTES // 1024**2} MB")


def _not_too_much(data: bytes, part: str) -> None:
    if data.count(b"<") + data.count(b"=") > MOST_MARKS:
        raise TooLargeError(f"its part {part} holds more cells than a list does")


def _no_xml(error: Exception, part: str) -> DamagedError | TooLargeError:
    # The library stops at 10 million letters in one place, and names its way round it.
    if "HUGE" in str(error) and "depth" not in str(error):
        return TooLargeError(f"its part {part} holds a cell of over ten million letters")
    return DamagedError(f"its part {part} is no whole XML")


def _no_document_type(element: etree._Element, part: str) -> None:
    """Refuse a document type: entities could hide words (and ECMA-376 part 2 bars it)."""
    if element.getroottree().docinfo.internalDTD is not None:
        raise DamagedError(f"its part {part} has a document type")
