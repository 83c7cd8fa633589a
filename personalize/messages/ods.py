"""Read a worksheet of an OpenDocument spreadsheet, .ods or .fods."""

import re

from personalize.errors import refuse
from personalize.messages.ods_parts import worksheets_of
from personalize.messages.package import DamagedError, Package, TooLargeError
from personalize.messages.table import ReadOptions, Table
from personalize.messages.workbook import (
    choose,
    only_one,
    refused_whole,
)
from personalize.messages.worksheet import table_from

_KIND = b"application/vnd.oasis.opendocument.spreadsheet"
_FLAT = re.compile(
    rb"(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]*>\s*)?(?:<!--[^>]*-->\s*)?"
    rb"<office:document\s[^>]*\boffice:mimetype=[\"']" + re.escape(_KIND)
)
_HEAD = 16_384
_ZIP = b"PK"
_MANIFEST = "META-INF/manifest.xml"


def is_ods(data: bytes) -> bool:
    """Tell whether a file is an OpenDocument spreadsheet, a zip file or one flat XML.

    Its kind stands in the part ``mimetype``, OpenDocument 1.3, part 2, section 3.3, and in
    the manifest, section 4.2; of a flat file, in its first element, part 3, section 3.1.2.
    """
    if not data.startswith(_ZIP):
        return _FLAT.match(data[:_HEAD]) is not None
    try:
        package = Package(data)
        if "mimetype" in package:
            return package.part("mimetype").strip().startswith(_KIND)
        return _MANIFEST in package and _KIND in package.part(_MANIFEST)
    except (DamagedError, TooLargeError):
        return False


def read_ods(data: bytes, name: str, options: ReadOptions) -> Table:
    """Read a worksheet of the OpenDocument spreadsheet `data`, which messages call `name`.

    The words of a cell are those that its program saved as what is seen. A cell that shows
    an error, a formula without a saved result, and a value without its words come out with
    a finding of severity error. Hidden rows are left out. Row numbers are the worksheet's
    own.

    Parameters
    ----------
    data
        The whole file.
    name
        Its bare name.
    options
        The worksheet, by its title, and the row of headings, if the maker says them;
        otherwise the one visible worksheet that has something in it is read.

    Raises
    ------
    InputError
        The workbook is damaged, too large or locked by a password, the worksheet cannot be
        told, or its headings cannot be read. All problems of a worksheet are told at once.
    """
    with refused_whole(name, ".ods"):
        content, part = _content(data, name)
        sheets = worksheets_of(content, part)
        titles = [(sheet.title, visible) for sheet, visible in sheets]
        asked = options.worksheet
        found = [sheets[at][0] for at in choose(titles, name, asked)]
        return table_from(only_one(found, name, asked), name, options)


def _content(data: bytes, name: str) -> tuple[bytes, str]:
    """Give the XML with the worksheets, and its name."""
    if not data.startswith(_ZIP):
        return data, "of tables"
    package = Package(data)
    # Encrypted parts are named in the manifest: part 2, section 4.4.
    if _MANIFEST in package and b"encryption-data" in package.part(_MANIFEST):
        raise refuse(
            name, "the workbook has a password.", "Take the password away and save it."
        )
    return package.part("content.xml"), "content.xml"
