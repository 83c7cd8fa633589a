"""A CSV file of one kind, what should come of it, and the words for what is told."""

from dataclasses import dataclass

from personalize.finding import Severity
from personalize.messages.csv import read_csv
from personalize.messages.table import BY_EVIDENCE, ReadOptions

IDA = ("Ida", "Jam")
BO = ("Bo", "Pie")
TWO = ((2, IDA), (3, BO))
SEP = "The first line of the file says that the delimiter is {}; it is no row."
MARKS = (
    "In row {} a cell opens with a quote mark that its partner does not close: the marks "
    "are printed as typed."
)
NAMES = ("name",)


@dataclass(frozen=True)
class Kind:
    """A file and all that comes of it."""

    name: str
    data: bytes
    headings: tuple[str, ...] = ("name", "dish")
    rows: tuple[tuple[int, tuple[str, ...]], ...] = ((2, ("Ida", "Jam")),)
    delimiter: str | None = ","
    encoding: str = "utf-8"
    heading_row: int = 1
    told: tuple[str, ...] = ()
    guessed: bool = False
    options: ReadOptions = BY_EVIDENCE


def guess(says: str) -> str:
    return (
        f"The file is not UTF-8 and was read as {says} Check the accents; if they are "
        "wrong, give --encoding or save as CSV UTF-8."
    )


def titled(row: int, above: str, words: str) -> str:
    return (
        f"The headings are in row {row}; what stands above them in {above} is not printed: "
        f"{words}."
    )


def read_as_seen(kind: Kind) -> None:
    """Read a file, and compare all that comes of it."""
    table = read_csv(kind.data, "guests.csv", kind.options)
    assert table.headings == kind.headings
    assert tuple((row.number, row.cells) for row in table.rows) == kind.rows
    assert table.source.delimiter == kind.delimiter
    assert table.source.encoding == kind.encoding
    assert table.source.heading_row == kind.heading_row
    assert table.source.decisions == kind.told
    assert [f.rule for f in table.findings] == ["encoding-guessed"] * kind.guessed
    for finding in table.findings:
        assert finding.severity is Severity.WARNING
        assert (finding.row, finding.figures["encoding"]) == (None, kind.encoding)
        assert f"{finding.says} {finding.do}" == kind.told[0]
