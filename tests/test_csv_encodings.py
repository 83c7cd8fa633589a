"""CSV files in the encodings that programs write: what is read, and what is told.

Each case is a small file. The words expected are those a spreadsheet program shows when it
opens the file. Forms without a published source are common practice, no source.
"""

import pytest

from personalize.messages.table import ReadOptions
from tests.csv_made import NAMES, Kind, guess, read_as_seen

KINDS = [
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
def test_a_file_in_this_encoding_is_read_as_it_is_seen(kind: Kind) -> None:
    read_as_seen(kind)
