"""Whatever is wrong with the input: told in plain sentences, and nothing is written.

Every case goes through the command line twice, for a person and for a program, and
`refused` checks what holds for all of them.
"""

from pathlib import Path

import pytest

from tests.bad_made import OWN_FONT, SPOILED, TAG, Case, refused
from tests.conftest import EDGE, drawing, line
from tests.workbooks import book

LIST = {
    "a missing file": Case(
        [("guests.csv", "no such file", "Check its name")], without=("guests.csv",)
    ),
    "an empty file": Case(
        [("guests.csv", "empty", "Put headings and rows in it")], {"guests.csv": ""}
    ),
    "blank rows only": Case(
        [("guests.csv", "empty", "Put headings and rows in it")], {"guests.csv": "\n\n"}
    ),
    "a heading alone": Case(
        [("guests.csv", "no row under it", "Add a row")], {"guests.csv": "front,back\n"}
    ),
    "ragged rows": Case(
        [
            ("guests.csv, row 3", "1 value under 2 headings", "one comma between"),
            ("guests.csv, row 4", "3 values under 2 headings", "quote marks round a"),
        ],
        {"guests.csv": "front,back\nMaple,herbs\nOttoline\nRowan,figs,plums\n"},
    ),
    "a heading twice": Case(
        [("guests.csv, row 1, columns A and C", "same heading, 'front'", "of its own")],
        {"guests.csv": "front,back,front\nMaple,,Rowan\n"},
    ),
    "a heading that nobody asks for": Case(
        [("guests.csv", "no column headed 'front', which panel 'front' of tag", "frnt")],
        {"guests.csv": "frnt\nMaple\n"},
    ),
    "headings unlike the one asked for": Case(
        [("guests.csv", "no column headed 'front'", "that is there: dish, grower")],
        {"guests.csv": "dish,grower\nFigs,Maple\n"},
    ),
    "a heading over two lines": Case(
        [("guests.csv", "no column headed 'front'", "dish\nof the day, grower")],
        {"guests.csv": '"dish\nof the day",grower\nFigs,Maple\n'},
    ),
    "counts that are none": Case(
        [
            ("guests.csv, row 2, column copies", "'-1' is no number", "from 0 to 10000"),
            ("guests.csv, row 3, column copies", "'1.5' is no ", "whole number"),
            ("guests.csv, row 4, column copies", "'two' is no number", "plain figures"),
            ("guests.csv, row 6, column copies", "'10001' is no", "from 0 to 10000"),
        ],
        {"guests.csv": "front,copies\nA,-1\nB,1.5\nC,two\nD,3\nE,10001\nF,\n"},
    ),
    "no copy of anything": Case(
        [("guests.csv", "0 copies", "Give at least one row a copy")],
        {"guests.csv": "front,copies\nMaple,0\nOttoline,0\n"},
    ),
    "an encoding other than the mark at its start says": Case(
        [("guests.csv, line 3", "no UTF-8 text", "CSV UTF-8")],
        {"guests.csv": b"\xef\xbb\xbf" + "front\nMaple\nZoë\n".encode("latin-1")},
    ),
    "a quote mark that stays open": Case(
        [("guests.csv, row 2", "never closed", "Close the cell")],
        {"guests.csv": 'front\n"Maple\nOttoline\n'},
    ),
    "a PDF for a list": Case(
        [("guests.csv", "this is a PDF", "Give the spreadsheet")],
        {"guests.csv": b"%PDF-1.7\n"},
    ),
    "a damaged workbook": Case(
        [("guests.csv", "damaged or cut off", "Save it as .xlsx")],
        {"guests.csv": book(lambda sheet: sheet.append(["Maple", "Figs"]))[:900]},
    ),
    "a worksheet of a plain list": Case(
        [("guests.csv", "no worksheet 'Growers'", "Leave the worksheet out")],
        options=("--worksheet", "Growers"),
    ),
}

DRAWING = {
    "a missing design": Case(
        [("tag.svg", "no such design", "or one of herb-tag, jar-lid")],
        without=("tag.svg",),
    ),
    "an empty drawing": Case([("tag.svg", "empty", "Save the drawing")], {"tag.svg": ""}),
    "a letter for a drawing": Case(
        [("tag.svg, line 1", "no SVG drawing", "as SVG")],
        {"tag.svg": "Dear Maple, bring plums.\n"},
    ),
    "a picture for a drawing": Case(
        [("tag.svg, line 1", "no SVG drawing", "as SVG")],
        {"tag.svg": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"},
    ),
    "a web page for a drawing": Case(
        [("tag.svg", "begins with <html>", "Save the drawing as SVG")],
        {"tag.svg": "<html><body>Plums</body></html>"},
    ),
    "a drawing that is cut off": Case(
        [("tag.svg, line 2", "is cut off or damaged", "Save it again")],
        {"tag.svg": TAG.replace("><", ">\n<")[:-9]},
    ),
    "no outline": Case(
        [("tag.svg", "no outline for the knife", 'Cutting = "#edge"')],
        {"tag.svg": drawing('<circle cx="30" cy="20" r="9" fill="#96c"/>')},
    ),
    "an open outline": Case(
        [
            (
                "tag.svg",
                "at 2.0 mm across, 3.0 mm down and at 2.0 mm across, 38.0 mm down,"
                " are 35.00 mm apart",
                "Join them",
            )
        ],
        {"tag.svg": drawing(line("M2 3 H58 V38 H2"))},
    ),
    "a crossing outline": Case(
        [("tag.svg", "crosses itself at 30.0 mm across, 20.0 mm down", "as one line")],
        {"tag.svg": drawing(line("M2 2 L58 38 V2 L2 38 Z"))},
    ),
    "two outlines that lie partly on each other": Case(
        [("tag.svg", "two cut lines cross at 30.0 mm across", "pieces apart")],
        {"tag.svg": drawing(line("M2 2H30V30H2Z M20 1H50V34H20Z"))},
    ),
    "a piece larger than the sheet": Case(
        [("tag.svg", "396.0 x 296.0 mm and does not fit on A4", "Take larger paper")],
        {"tag.svg": drawing(line("M2 2H398V298H2Z"), 400, 300)},
    ),
    "a piece too narrow for words": Case(
        [("tag.svg", "'front' (4.0 x 30.0 mm) has no room", "under [margins] smaller")],
        {"tag.svg": drawing(line("M2 2H6V32H2Z"))},
    ),
}

TOML = {
    "a margin that leaves no room": Case(
        [("tag.toml, line 5", "has no room for text", "under [margins] smaller")],
        {"tag.toml": '[margins]\noutline = 30\n[[panel]]\nname = "front"\nat = [30, 20]\n'},
    ),
    "a syntax error": Case(
        [("tag.toml, line 2", "not valid TOML", "Mend that line")],
        {"tag.toml": 'name = "Bean tag"\n[type\ncolour = "#fff"\n'},
    ),
    "a quote mark open to the end": Case(
        [("tag.toml, line 2", "not valid TOML", "Mend that line")],
        {"tag.toml": 'use = "food"\nname = "Bean tag'},
    ),
    "brackets without an end": Case(
        [("tag.toml", "brackets far too deep", "keys of a design")],
        {"tag.toml": "use = " + "[" * 100_000},
    ),
    "an old encoding": Case(
        [("tag.toml", "not UTF-8", "Save it as UTF-8")],
        {"tag.toml": 'name = "Zoë"'.encode("latin-1")},
    ),
    "unknown keys": Case(
        [
            ("tag.toml, line 1", "no key nmae", "Did you mean name?"),
            ("tag.toml, line 2", "no key margin", "Did you mean margins?"),
            ("tag.toml, line 7", "no key Cutt in [lines]", "Did you mean Cutting?"),
            ("tag.toml, line 5", "no key bled in [margins]", "Did you mean bleed?"),
            ("tag.toml, line 10", "no key txt in [panel]", "Did you mean text?"),
        ],
        {
            "tag.toml": 'nmae = "Bean tag"\n[margin]\nbleed = 1\n[margins]\nbled = 1\n'
            '[lines]\nCutt = "#edge"\n[[panel]]\nname = "front"\ntxt = "{front}"\n'
        },
    ),
    "a key unlike any other": Case(
        [("tag.toml, line 2", "no key plum in [margins]", "outline, crease, hole, glue")],
        {"tag.toml": "[margins]\nplum = 1\n"},
    ),
    "values of the wrong kind": Case(
        [
            ("tag.toml, line 1", "name must be words in quotes, not 7", 'name = "7"'),
            ("tag.toml, line 2", "use cannot be 'sky'", "food, children, flame"),
            ("tag.toml, line 6", "not '2'", "bleed = 2.5"),
            ("tag.toml, line 3", "stick must be a table", "[stick]"),
            ("tag.toml, line 9", "max_lines must be a number", "max_lines = 3"),
            ("tag.toml, line 8", "min_pt must be a number from 1", "min_pt = 9"),
            ("tag.toml, line 4", "a panel must be a table", "[[panel]]"),
        ],
        {
            "tag.toml": 'name = 7\nuse = "sky"\nstick = 4\npanel = "front"\n[margins]\n'
            'bleed = "2"\n[type]\nmin_pt = true\nmax_lines = "few"\n'
        },
    ),
    "numbers that are none": Case(
        [
            ("tag.toml, line 3", "outline must be a number from 0", "outline = 2.5"),
            ("tag.toml, line 2", "bleed must be a number from 0 to 100", "bleed = 2.5"),
            ("tag.toml, line 5", "max_lines must be a whole number", "max_lines = 1"),
        ],
        {
            "tag.toml": "[margins]\nbleed = nan\noutline = -1\n[type]\nmax_lines = 1.5\n",
        },
    ),
    "a selector of nothing": Case(
        [("tag.toml, line 1", "nothing drawn in tag.svg matches", "Check the id")],
        {"tag.toml": '[lines]\nCutting = "#egde"\n'},
    ),
    "a selector that is none": Case(
        [("tag.toml, line 1", "'#edge[' is not a CSS selector", 'Write "#name"')],
        {"tag.toml": '[lines]\nCutting = "#edge["\n'},
    ),
    "a colour that is none": Case(
        [("tag.toml, line 2", "'plumm' is not a solid colour", '"#2d1b3d"')],
        {"tag.toml": '[type]\ncolour = "plumm"\n'},
    ),
    "a colour that shows through": Case(
        [("tag.toml, line 2", "is not a solid colour", '"#2d1b3d"')],
        {"tag.toml": '[type]\ncolour = "rgba(90, 0, 90, 0.5)"\n'},
    ),
    "points that are none": Case(
        [
            ("tag.toml, line 3", "at must be a point", "at = [30, 20]"),
            ("tag.toml, line 6", "at must be a point", "at = [30, 20]"),
            ("tag.toml, line 9", "at must be a point", "at = [30, 20]"),
        ],
        {
            "tag.toml": '[[panel]]\nname = "front"\nat = [30]\n[[panel]]\nname = "back"\n'
            'at = [nan, 20]\n[[panel]]\nname = "side"\nat = [true, false]\n'
        },
    ),
    "a point outside": Case(
        [("tag.toml, line 3", "the point [500, 2] of panel 'front' lies", "top left")],
        {"tag.toml": '[[panel]]\nname = "front"\nat = [500, 2]\n'},
    ),
    "two panels that are one": Case(
        [("tag.toml, line 6", "'front' and 'back' are the same part", "its own side")],
        {
            "tag.toml": '[[panel]]\nname = "front"\nat = [20, 20]\n'
            '[[panel]]\nname = "back"\nat = [40, 20]\n'
        },
    ),
    "two panels of one name": Case(
        [("tag.toml, line 5", "two panels are called 'front'", "its own name")],
        {
            "tag.svg": drawing(EDGE + line("M30 2V38", "fold")),
            "tag.toml": '[[panel]]\nname = "front"\nat = [20, 20]\n'
            '[[panel]]\nname = "front"\nat = [40, 20]\n',
        },
    ),
    "a panel that faces nobody": Case(
        [("tag.toml, line 4", "no other panel called 'bakc'", "Use one of back.")],
        {
            "tag.svg": drawing(EDGE + line("M30 2V38", "fold")),
            "tag.toml": '[[panel]]\nname = "front"\nat = [45, 20]\nfaces = "bakc"\n'
            '[[panel]]\nname = "back"\nat = [15, 20]\n',
        },
    ),
    "a panel that faces itself": Case(
        [("tag.toml, line 3", "no other panel called 'front'", "Leave faces out.")],
        {"tag.toml": '[[panel]]\nname = "front"\nfaces = "front"\n'},
    ),
    "panels that cannot face each other": Case(
        [("tag.toml, line 3", "do not lie back to back once folded", "round [30.0, 20.0]")],
        {
            "tag.svg": drawing(EDGE + line("M20 2V38M40 2V38", "fold")),
            "tag.toml": '[[panel]]\nname = "front"\nat = [10, 20]\nfaces = "back"\n'
            '[[panel]]\nname = "back"\nat = [50, 20]\n',
        },
    ),
    "a panel that could be any of three": Case(
        [("tag.toml, line 1", "3 panels, and which of them is 'front'", "at = [30, 20]")],
        {
            "tag.svg": drawing(EDGE + line("M20 2V38M40 2V38", "fold")),
            "tag.toml": '[[panel]]\nname = "front"\n',
        },
    ),
    "a panel without a name": Case(
        [("tag.toml, line 1", "a panel has no name", 'Write name = "front"')],
        {"tag.toml": "[[panel]]\nat = [30, 20]\n"},
    ),
    "a brace without a partner": Case(
        [("tag.toml, line 3", "the { at character 4 has no partner", "between { and }")],
        {"tag.toml": '[[panel]]\nname = "front"\ntext = "To {front"\n'},
    ),
    "a pattern that asks for an unknown heading": Case(
        [("guests.csv", "no column headed 'plant', which panel 'front'", "there: front")],
        {"tag.toml": '[[panel]]\nname = "front"\ntext = "{plant}"\n'},
    ),
    "a drawing that is not there": Case(
        [("bean.toml", "the drawing 'bean.svg' is not in its folder", 'svg = "')],
        {"bean.toml": 'name = "Bean tag"\n'},
        design="bean.toml",
    ),
    "a drawing from another folder": Case(
        [("bean.toml", "lies outside its folder", "Put it in the folder")],
        {"bean.toml": 'svg = "../tag.svg"\n'},
        design="bean.toml",
    ),
    "an unknown font": Case(
        [("tag.toml, line 2", "no font called 'Quince Grotesk'", "Lora Bold, Lora")],
        {"tag.toml": '[type]\nfont = "Quince Grotesk"\n'},
    ),
    "a font with a slip in its name": Case(
        [("tag.toml, line 2", "no font called 'Nunito Bld'", "Nunito Bold")],
        {"tag.toml": '[type]\nfont = "Nunito Bld"\n'},
    ),
    "a font file that is not there": Case(
        [("tag.toml, line 2", "'Spoiled.ttf' cannot be opened", "design's folder")],
        {"tag.toml": OWN_FONT},
    ),
    "a font file of garbage": Case(
        [("tag.toml, line 2", "it is not a font file", "another font")],
        {"tag.toml": OWN_FONT, SPOILED: b"plum jam" * 100},
    ),
    "a font of one panel": Case(
        [("tag.toml, line 3", "no font called 'Quince Grotesk'", "font file beside")],
        {"tag.toml": '[[panel]]\nname = "front"\nfont = "Quince Grotesk"\n'},
    ),
}

OPTIONS = {
    "--paper": [("A99", "no paper size", "8x10in"), ("", "no paper size", "Use A4")]
    + [(size, "no paper size", "20 mm") for size in ("0x10in", "1x1mm", "9999x9999", "x")],
    "--margin": [
        (margin, "neither one distance nor four", "5,5,12,5")
        for margin in ("", "wide", "1,2", "1,2,3,4,5", "-3", "5,5,5,-1", "inf")
    ]
    + [("150", "leave nothing of A4 paper", "Make them smaller")],
    "--spacing": [
        (spacing, "no distance from 0 to 500 mm", "such as 4")
        for spacing in ("", "wide", "-1", "501", "nan", "4;5")
    ],
    "--rows": [
        ("", "a part is empty", "such as 3,5-9"),
        ("2,", "a part is empty", "such as 3,5-9"),
        ("Maple", "'Maple' is no row number", "such as 3,5-9"),
        ("1", "no message in row 1", "from 2 to 3"),
        ("2-4", "no message in row 4", "from 2 to 3"),
        ("3-2", "runs backwards", "Write 2-3"),
    ],
    "--also": [
        ("paper", "'paper' names no kind of file", "Use dxf"),
        ("dxf,paper", "'paper' names no kind of file", "Use dxf"),
        ("", "'' names no kind of file", "Use dxf"),
    ],
    "--out": [
        ("FOLDER/shed/picnic", "as shed is a file", "Give another folder"),
        ("FOLDER/shed", "a file, not a folder", "Give another folder"),
        ("FOLDER/letters", "not ours: to-maple.txt", "Give another folder"),
    ],
}
PLACES = {
    "FOLDER/shed/picnic": "picnic",
    "FOLDER/shed": "shed",
    "FOLDER/letters": "letters",
}


@pytest.mark.parametrize("name", LIST)
def test_a_list_that_cannot_be_used_is_told(name: str, tmp_path: Path) -> None:
    refused(tmp_path, LIST[name])


@pytest.mark.parametrize("name", DRAWING)
def test_a_drawing_that_cannot_be_used_is_told(name: str, tmp_path: Path) -> None:
    refused(tmp_path, DRAWING[name])


@pytest.mark.parametrize("name", TOML)
def test_a_mistake_in_a_design_file_is_told(name: str, tmp_path: Path) -> None:
    refused(tmp_path, TOML[name])


@pytest.mark.parametrize(
    ("option", "value", "says", "do"),
    [(option, *telling) for option, tellings in OPTIONS.items() for telling in tellings],
)
def test_an_option_that_cannot_be_used_is_told(
    option: str, value: str, says: str, do: str, tmp_path: Path
) -> None:
    files: dict[str, str | bytes] = {"shed": "tools", "letters/to-maple.txt": "Dear Maple"}
    told = (PLACES.get(value, option), says, do)
    refused(tmp_path, Case([told], files, (option, value)))
