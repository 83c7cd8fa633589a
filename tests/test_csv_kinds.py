"""CSV files as programs and people write them: rows, delimiters, titles, quotes.

Each case is a small file. The words expected are those a spreadsheet program shows when it
opens the file. Forms without a published source are common practice, no source.
"""

import pytest

from personalize.messages.table import ReadOptions
from tests.csv_made import BO, IDA, MARKS, NAMES, SEP, TWO, Kind, read_as_seen, titled

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
]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_file_of_this_kind_is_read_as_it_is_seen(kind: Kind) -> None:
    read_as_seen(kind)
