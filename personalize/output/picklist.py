"""Write picklist.csv: where every piece of a guest lies, to gather them.

Words come from strangers' cells and the list is opened in a spreadsheet program: what
could begin a formula there gets an apostrophe before it (OWASP ASVS 5.0, requirement
1.2.10: the signs, and the way out), also behind signs that another country's settings
take for the end of a cell.
"""

import csv
import io
import re
from dataclasses import dataclass

from personalize.sheet.fill import Sheet

PICKLIST_FILE = "picklist.csv"
HEADINGS = (
    *("row", "words", "copy", "design", "stock"),
    *("sheet", "place", "across_mm", "down_mm"),
)
_FORMULA = re.compile(r"(^|[,;|])([\s\"]*)(?=[=+\-@\uff1d\uff0b\uff0d\uff20])")
"""Behind quotes too, which such a cell may begin with. Also full-width forms: programs
set for Chinese or Japanese read them alike (from memory)."""
_CONTROLS = re.compile(r"[\x00-\x1f\x7f\x85\u2028\u2029]+")


@dataclass(frozen=True, slots=True)
class _Pick:
    """One piece on its sheet."""

    row: int
    copy: int
    nth_design: int
    design: str
    stock: str
    words: str
    sheet: int
    place: int
    across_mm: float
    down_mm: float


class PickList:
    """A list under way; sheets go in one by one."""

    def __init__(self) -> None:
        self._picks: list[_Pick] = []
        self._designs: dict[str, int] = {}

    def add_sheet(self, sheet: Sheet) -> None:
        """Take note of the pieces of a sheet, spares left out.

        Places are counted as they are filled; the middle of each piece is told from the
        top left of the sheet.
        """
        for place, placed in enumerate(sheet.placed, 1):
            piece = placed.piece
            if piece.row is None:
                continue
            x0, y0, x1, y1 = piece.design.silhouette.mapped(placed.at).box
            name = piece.design.name
            texts = (*piece.texts, *(piece.back.texts if piece.back else ()))
            self._picks.append(
                _Pick(
                    piece.row,
                    piece.copy,
                    self._designs.setdefault(name, len(self._designs)),
                    name,
                    sheet.stock,
                    " / ".join(dict.fromkeys(text.text for text in texts)),
                    sheet.number,
                    place,
                    (x0 + x1) / 2,
                    sheet.paper.height_mm - (y0 + y1) / 2,
                )
            )

    def data(self) -> bytes:
        """Give the list as CSV (RFC 4180) in UTF-8: message by message, designs in turn.

        A piece without words is told by those of the first that has some.
        """
        said: dict[int, str] = {}
        for pick in self._picks:
            if pick.words:
                said.setdefault(pick.row, pick.words)
        text = io.StringIO(newline="")
        writer = csv.writer(text, quoting=csv.QUOTE_ALL)
        writer.writerow(HEADINGS)
        for pick in sorted(self._picks, key=lambda p: (p.row, p.copy, p.nth_design)):
            words = pick.words or said.get(pick.row, "")
            writer.writerow(
                [
                    pick.row,
                    harmless(words),
                    pick.copy,
                    harmless(pick.design),
                    harmless(pick.stock),
                    pick.sheet,
                    pick.place,
                    f"{pick.across_mm:.0f}",
                    f"{pick.down_mm:.0f}",
                ]
            )
        # The mark at the start tells spreadsheet programs that this is UTF-8.
        return text.getvalue().encode("utf-8-sig")


def harmless(words: str) -> str:
    r"""Write words so that no spreadsheet program takes them for a formula.

    >>> harmless("Io"), harmless("=1+1"), harmless("a; @b"), harmless("two\nlines")
    ('Io', "'=1+1", "a;' @b", 'two lines')
    """
    plain = _CONTROLS.sub(" ", words)
    return _FORMULA.sub(r"\1'\2", plain)
