"""CSV files of every kind that programs and people write: what is read, and what is told.

Each case is a small file. The words expected are those a spreadsheet program shows when it
opens the file. Forms without a published source are common practice, no source.
"""

from dataclasses import dataclass

import pytest

from personalize.finding import Severity
from personalize.messages.csv import read_csv
from personalize.messages.table import BY_EVIDENCE, ReadOptions


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


IDA = ("Ida", "Jam")
BO = ("Bo", "Pie")
TWO = ((2, IDA), (3, BO))
SEP = "The first line of the file says that the delimiter is {}; it is no row."
MARKS = (
    "In row {} a cell opens with a quote mark that its partner does not close: the marks "
    "are printed as typed."
)
NAMES = ("name",)

KINDS = [
    # ---- RFC 4180 ----
    Kind("RFC 4180 2.1", b"name,dish\r\nIda,Jam\r\n"),
    Kind("RFC 4180 2.2", b"name,dish\r\nIda,Jam"),
    Kind("RFC 4180 2.4", b"name,dish\r\nIda, Jam \r\n", rows=((2, ("Ida", " Jam ")),)),
    Kind("RFC 4180 2.5", b'"name","dish"\r\n"Ida",Jam\r\n'),
    Kind(
        "RFC 4180 2.6",
        b'name,dish\r\n"Ida\r\nMay","Jam, red"\r\n',
        rows=((2, ("Ida\nMay", "Jam, red")),),
    ),
    Kind(
        "RFC 4180 2.7",
        b'name,dish\r\n"The ""Ida""",Jam\r\n',
        rows=((2, ('The "Ida"', "Jam")),),
    ),
    # ---- ends of lines ----
    Kind("LF", b"name,dish\nIda,Jam\n"),
    Kind("CR", b"name,dish\rIda,Jam\r"),
    Kind("CR without the last", b"name,dish\rIda,Jam\rBo,Pie", rows=TWO),
    Kind("mixed ends", b"name,dish\r\nIda,Jam\rBo,Pie\n", rows=TWO),
    Kind(
        "doubled ends",
        b"name,dish\r\r\nIda,Jam\r\r\nBo,Pie\r\r\n",
        rows=((3, IDA), (5, BO)),
        told=("Rows 2, 4 are blank and make no piece.",),
    ),
    Kind(
        "ends in a cell", b'name,dish\r"Ida\rMay",Jam\r', rows=((2, ("Ida\nMay", "Jam")),)
    ),
    Kind(
        "line separators are no ends",
        "name,dish\nIda\u2028May,Jam\x85\n".encode(),
        rows=((2, ("Ida\u2028May", "Jam\x85")),),
    ),
    # ---- delimiters ----
    Kind("semicolon", b"name;dish\nIda;Jam\n", delimiter=";"),
    Kind("tab", b"name\tdish\nIda\tJam\n", delimiter="\t"),
    Kind("pipe", b"name|dish\nIda|Jam\n", delimiter="|"),
    Kind(
        "decimal commas",
        b"name;metres\nIda;1,5\nBo;2,5\n",
        ("name", "metres"),
        ((2, ("Ida", "1,5")), (3, ("Bo", "2,5"))),
        ";",
    ),
    Kind(
        "commas in every cell between tabs",
        b"name\tdish\nPlum, Ida\tJam, red\n",
        rows=((2, ("Plum, Ida", "Jam, red")),),
        delimiter="\t",
    ),
    Kind(
        "semicolons in sentences",
        b"name,dish\nIda,Jam; red\nBo,Pie\n",
        rows=((2, ("Ida", "Jam; red")), (3, BO)),
    ),
    Kind(
        "hand-typed quote marks",
        b'guest;wish\nAda;"Hi", she said, "hello"\nBo;"ok", he said, "fine"\n',
        ("guest", "wish"),
        ((2, ("Ada", '"Hi", she said, "hello"')), (3, ("Bo", '"ok", he said, "fine"'))),
        ";",
        told=(MARKS.format("2-3").replace("row ", "rows "),),
    ),
    Kind(
        "sep semicolon",
        b"sep=;\nname;dish\nIda;Jam\n",
        delimiter=";",
        told=(SEP.format("semicolon"),),
    ),
    Kind(
        "SEP with CRLF", b"SEP=,\r\nname,dish\r\nIda,Jam\r\n", told=(SEP.format("comma"),)
    ),
    Kind(
        "sep in quote marks", b'"sep=,"\nname,dish\nIda,Jam\n', told=(SEP.format("comma"),)
    ),
    Kind(
        "sep of another kind",
        b"sep=^\nname^dish\nIda^Jam\n",
        delimiter="^",
        told=(SEP.format("'^'"),),
    ),
    Kind(
        "sep against the look",
        b"sep=;\nname,x;dish\nIda,y;Jam\n",
        ("name,x", "dish"),
        ((2, ("Ida,y", "Jam")),),
        ";",
        told=(SEP.format("semicolon"),),
    ),
    Kind("sep is a heading", b"sep,dish\nIda,Jam\n", ("sep", "dish")),
    Kind(
        "option delimiter",
        b"name,dish;x\nIda,Jam;y\n",
        ("name,dish", "x"),
        ((2, ("Ida,Jam", "y")),),
        ";",
        options=ReadOptions(delimiter="Semicolon"),
    ),
    # ---- one column ----
    Kind("one column", b"name\nIda\nBo\n", NAMES, ((2, ("Ida",)), (3, ("Bo",))), None),
    Kind(
        "one column of sentences",
        b"wish\nHip, hip, hooray\nOh; well\na|b\n",
        ("wish",),
        ((2, ("Hip, hip, hooray",)), (3, ("Oh; well",)), (4, ("a|b",))),
        None,
    ),
    Kind(
        "one column, surname first",
        b"name\nPlum, Ida\nLane, Bo\n",
        NAMES,
        ((2, ("Plum, Ida",)), (3, ("Lane, Bo",))),
        None,
    ),
    Kind(
        "one column in quote marks",
        b'"name"\n"Ida, Bo"\n',
        NAMES,
        ((2, ("Ida, Bo",)),),
        None,
    ),
    # ---- more delimiters than headings ----
    Kind(
        "one trailing delimiter",
        b"name,dish,\nIda,Jam,\nBo,Pie,\n",
        rows=TWO,
        told=("Column C has neither a heading nor a value and is left out.",),
    ),
    Kind(
        "columns once touched",
        b"name;dish;;;\nIda;Jam;;;\n",
        delimiter=";",
        told=("Columns C-E have neither a heading nor a value and are left out.",),
    ),
    Kind(
        "empty column between",
        b"name,,dish,\nIda,,Jam,\n",
        told=("Columns B, D have neither a heading nor a value and are left out.",),
    ),
    Kind(
        "trailing delimiter on the rows alone", b"name,dish\nIda,Jam,\nBo,Pie,\n", rows=TWO
    ),
    # ---- titles and blank rows ----
    Kind(
        "title",
        b"Picnic guests 2027\nname,dish\nIda,Jam\n",
        rows=((3, IDA),),
        heading_row=2,
        told=(titled(2, "row 1", "'Picnic guests 2027'"),),
    ),
    Kind(
        "title of a saved sheet",
        b"Guests,\n,\nname,dish\nIda,Jam\n",
        rows=((4, IDA),),
        heading_row=3,
        told=(titled(3, "row 1", "'Guests'"), "Row 2 is blank and makes no piece."),
    ),
    Kind(
        "two titles",
        b"Plum Lane;;;\nHarvest picnic;5 May;;\n;;;\nname;dish;table;x\nIda;Jam;3;a\n",
        ("name", "dish", "table", "x"),
        ((5, ("Ida", "Jam", "3", "a")),),
        ";",
        heading_row=4,
        told=(
            titled(4, "rows 1-2", "'Plum Lane', 'Harvest picnic 5 May'"),
            "Row 3 is blank and makes no piece.",
        ),
    ),
    Kind(
        "title with the other delimiter",
        b"Harvest, 5 May 2027;\nname;dish\nIda;Jam\n",
        rows=((3, IDA),),
        delimiter=";",
        heading_row=2,
        told=(titled(2, "row 1", "'Harvest, 5 May 2027'"),),
    ),
    Kind(
        "a missing value in row 2 is no title",
        b"name,dish\nIda,\nBo,Pie\n",
        rows=((2, ("Ida", "")), (3, BO)),
    ),
    Kind(
        "a heading over a mostly empty column",
        b"name,dish,note\nIda,Jam,\nBo,Pie,\n",
        ("name", "dish", "note"),
        ((2, ("Ida", "Jam", "")), (3, ("Bo", "Pie", ""))),
    ),
    Kind(
        "option heading row",
        b"a,b\nname,dish\nIda,Jam\n",
        rows=((3, IDA),),
        heading_row=2,
        told=(titled(2, "row 1", "'a b'"),),
        options=ReadOptions(heading_row=2),
    ),
    Kind(
        "option heading row against a title",
        b"Picnic guests 2027,x\nname,dish\nIda,Jam\n",
        ("Picnic guests 2027", "x"),
        ((2, ("name", "dish")), (3, IDA)),
        options=ReadOptions(heading_row=1),
    ),
    Kind(
        "blank rows",
        b"\nname,dish\n\nIda,Jam\n,\n\nBo,Pie\n\n",
        rows=((4, IDA), (7, BO)),
        heading_row=2,
        told=("Rows 1, 3, 5-6 are blank and make no piece.",),
    ),
    Kind(
        "rows of spaces",
        b"name,dish\nIda,Jam\n  , \t \nBo,Pie\n",
        rows=((2, IDA), (4, BO)),
        told=("Row 3 is blank and makes no piece.",),
    ),
    Kind("a cell of spaces", b"name,dish\nIda,  \n", rows=((2, ("Ida", "  ")),)),
    # ---- quote marks in odd places ----
    Kind(
        "inches",
        b'name,dish\nIda,5" pot\n',
        rows=((2, ("Ida", '5" pot')),),
    ),
    Kind(
        "a quoted word first",
        b'name,dish\nIda,"big" pie\n',
        rows=((2, ("Ida", '"big" pie')),),
        told=(MARKS.format(2),),
    ),
    Kind(
        "a space before the mark",
        b'name,dish\nIda, "Jam"\n',
        rows=((2, ("Ida", ' "Jam"')),),
        told=(MARKS.format(2),),
    ),
    Kind(
        "a space after the mark",
        b'name,dish\n"Ida" ,Jam\n',
        rows=((2, ('"Ida" ', "Jam")),),
        told=(MARKS.format(2),),
    ),
    Kind("an empty quoted cell", b'name,dish\nIda,""\n', rows=((2, ("Ida", "")),)),
    Kind("only quote marks", b'name,dish\nIda,""""\n', rows=((2, ("Ida", '"')),)),
    Kind(
        "single quote marks", b"name,dish\n'Ida','Jam'\n", rows=((2, ("'Ida'", "'Jam'")),)
    ),
    Kind("heading with spaces", b" name , dish \nIda,Jam\n"),
    # ---- encodings ----
    Kind("UTF-8", "name,dish\nZoë,Jam\n".encode(), rows=((2, ("Zoë", "Jam")),)),
    Kind(
        "mark and quote",
        "name,dish\nZoë,Jam\n".encode("utf-8-sig"),
        rows=((2, ("Zoë", "Jam")),),
    ),
    Kind("two marks", b"\xef\xbb\xbf\xef\xbb\xbfname,dish\nIda,Jam\n"),
    Kind(
        "UTF-16",
        "name\tdish\r\nIda\tJam\r\n".encode("utf-16"),
        delimiter="\t",
        encoding="utf-16",
    ),
    Kind(
        "UTF-16 BE",
        b"\xfe\xff" + "name,dish\nIda,Jam\n".encode("utf-16-be"),
        encoding="utf-16",
    ),
    Kind(
        "UTF-16 LE, no mark",
        "name,dish\nIda,一\n".encode("utf-16-le"),
        rows=((2, ("Ida", "一")),),
        encoding="utf-16-le",
        told=("The file has no mark of its encoding; its NUL bytes tell UTF-16-LE.",),
    ),
    Kind(
        "UTF-16 BE, no mark",
        "name,dish\nIda,一\n".encode("utf-16-be"),
        rows=((2, ("Ida", "一")),),
        encoding="utf-16-be",
        told=("The file has no mark of its encoding; its NUL bytes tell UTF-16-BE.",),
    ),
    Kind("UTF-32", "name,dish\nIda,Jam\n".encode("utf-32"), encoding="utf-32"),
    Kind(
        "cp1252",
        "gast;wunsch\nJürgen;„Alles Gute“ – 5 €\n".encode("cp1252"),
        ("gast", "wunsch"),
        ((2, ("Jürgen", "„Alles Gute“ – 5 €")),),
        ";",
        "cp1252",
        told=(guess("cp1252: 'Jürgen'."),),
        guessed=True,
    ),
    Kind(
        "cp1252 or cp1250",
        "name\nVallevière\n".encode("cp1252"),
        NAMES,
        ((2, ("Vallevière",)),),
        None,
        "cp1252",
        told=(guess("cp1252: 'Vallevière'. As cp1250 it would be 'Vallevičre'."),),
        guessed=True,
    ),
    Kind(
        "cp1250",
        "name\nMałgorzata\n".encode("cp1250"),
        NAMES,
        ((2, ("Małgorzata",)),),
        None,
        "cp1250",
        told=(guess("cp1250: 'Małgorzata'."),),
        guessed=True,
    ),
    Kind(
        "cp1251",
        "name\nИван\nПётр\n".encode("cp1251"),
        NAMES,
        ((2, ("Иван",)), (3, ("Пётр",))),
        None,
        "cp1251",
        told=(guess("cp1251: 'Иван' and 'Пётр'."),),
        guessed=True,
    ),
    Kind(
        "koi8-r",
        "name\nИван\nПётр\n".encode("koi8-r"),
        NAMES,
        ((2, ("Иван",)), (3, ("Пётр",))),
        None,
        "koi8-r",
        told=(guess("koi8-r: 'Иван' and 'Пётр'."),),
        guessed=True,
    ),
    Kind(
        "an old Mac",
        "name\rZoë\rRené\r".encode("mac_roman"),
        NAMES,
        ((2, ("Zoë",)), (3, ("René",))),
        None,
        "mac_roman",
        told=(guess("mac_roman: 'René' and 'Zoë'."),),
        guessed=True,
    ),
    Kind(
        "cp932",
        "name\n田中 太郎\n佐藤 花子\n".encode("cp932"),
        NAMES,
        ((2, ("田中 太郎",)), (3, ("佐藤 花子",))),
        None,
        "cp932",
        told=(guess("cp932: '田中' and '太郎'."),),
        guessed=True,
    ),
    Kind(
        "encoding given",
        "name\nZoë\n".encode("cp1252"),
        NAMES,
        ((2, ("Zoë",)),),
        None,
        "cp1252",
        options=ReadOptions(encoding="windows-1252"),
    ),
    # WHATWG Encoding Standard, section 4.2: the label latin1 means windows-1252.
    Kind(
        "latin1 given",
        "name\n“Zoë”\n".encode("cp1252"),
        NAMES,
        ((2, ("“Zoë”",)),),
        None,
        "cp1252",
        told=("The encoding latin1 was read as cp1252, which is what such files have.",),
        options=ReadOptions(encoding="latin1"),
    ),
    Kind(
        "UTF-16 given, no mark",
        "name\nZoë\n".encode("utf-16-be"),
        NAMES,
        ((2, ("Zoë",)),),
        None,
        "utf-16-be",
        told=("The file has no mark of its encoding; its NUL bytes tell UTF-16-BE.",),
        options=ReadOptions(encoding="utf-16"),
    ),
]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_file_of_this_kind_is_read_as_it_is_seen(kind: Kind) -> None:
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
