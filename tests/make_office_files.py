"""Let LibreOffice show what its cells look like, once, and keep that for the tests.

Run ``python -m tests.make_office_files`` where ``soffice`` is installed (Debian:
libreoffice-calc). It was run with LibreOffice 7.4.7, and writes to ``tests/files``:

``formats.csv``
    Each value and number format of `FORMATS`, and the text that LibreOffice shows for it.
``picnic.xlsx``, ``picnic.ods``
    The list of `picnic`, written by LibreOffice.
``picnic.csv``
    The texts of that list as LibreOffice shows them.

The tests then need no LibreOffice: `test_office_files` compares with these files.
"""

import csv
import subprocess
import tempfile
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont

from tests.workbooks import sheet_of

FILES = Path(__file__).parent / "files"

Value = float | str | bool

FORMATS: list[tuple[Value, str]] = [
    (5, 'General'),
    (12.5, 'General'),
    (0.3333333333333333, 'General'),
    (123456789012, 'General'),
    (1e-05, 'General'),
    (1e+20, 'General'),
    (-0.0001, 'General'),
    (7, '000'),
    (-7, '000'),
    (2.5, '0'),
    (-0.4, '0'),
    (-0.4, '0.00;(0.00)'),
    (-0.001, '0.00'),
    (2.345, '0.00'),
    (1.005, '0.00'),
    (1234567, '#,##0'),
    (999, '#,##0'),
    (-1234.5, '#,##0.00'),
    (0.5, '#.##'),
    (5, '#.##'),
    (0, '#'),
    (0, '#,###'),
    (0.256, '0%'),
    (0.256, '0.0%'),
    (-0.5, '0%'),
    (12, '"No. "0'),
    (-12, '"No. "0'),
    (3, '0" kg"'),
    (3, '0\\ "kg"'),
    (1.5, '[$€-407] 0.00'),
    (1234.5, '#,##0.00 [$€-407]'),
    (1234.5, '[$€-2] #,##0.00'),
    (1.5, '[$$-409]#,##0.00'),
    (1.5, '[$£-809]#,##0.00'),
    (1234.5, '_-* #,##0.00\\ "€"_-;-* #,##0.00\\ "€"_-;_-* "-"??\\ "€"_-;_-@_-'),
    (0, '_-* #,##0.00\\ "€"_-;-* #,##0.00\\ "€"_-;_-* "-"??\\ "€"_-;_-@_-'),
    (-1234.5, '_("$"* #,##0.00_);_("$"* \\(#,##0.00\\);_("$"* "-"??_);_(@_)'),
    (1234.5, '#,##0_);(#,##0)'),
    (-1234.5, '#,##0_);(#,##0)'),
    (-5, '0;[Red]-0'),
    (0, '0;-0;"none"'),
    (5, '0;-0;"none"'),
    (5, ';;;'),
    (5, '0;;'),
    (-5, '0;;'),
    (50, '[<100]0" small";0" big"'),
    (150, '[<100]0" small";0" big"'),
    (-5, '[<100]0" small";0" big"'),
    (-5, '[>=100]0.0;0'),
    (-5, '[<0]"m"0;0'),
    (1, '[=1]0" guest";0" guests"'),
    (2, '[=1]0" guest";0" guests"'),
    (0, '[=1]0" guest";[=0]"nobody";0" guests"'),
    (-5, '[>0]0;"neg "0'),
    (-5, '[>0]0;[<0]"neg "0;0'),
    (1234567, '0,'),
    (1234567, '0.0,,"M"'),
    (12345, '0.00E+00'),
    (0.00012, '0.00E+00'),
    (12345, '##0.0E+0'),
    (12345, '0.00E-00'),
    (-12345, '0.00E+00'),
    (0, '0.00E+00'),
    (1.5, '# ?/?'),
    (0.3333333, '# ?/?'),
    (2, '# ?/?'),
    (0.25, '?/?'),
    (1.26, '# ??/??'),
    (1.25, '# ?/8'),
    (0.1, '# ?/?'),
    (-1.5, '# ?/?'),
    (123456789, '000-00-0000'),
    (5551234, '(000) 000-0000'),
    (5551234567, '(000) 000-0000'),
    (12345, '00\\-000'),
    (5, '?0.0?'),
    (5.25, '0.0?'),
    (5, '@'),
    (5, '"Table "@'),
    (5, 'General" kg"'),
    (5, '0*-'),
    (5, '0* '),
    (5, '* 0'),
    (46542, 'dd mmmm yyyy'),
    (46542, 'd/m/yy'),
    (46542, 'ddd d mmm'),
    (46542, 'dddd, mmmm d, yyyy'),
    (46542, 'yyyy-mm-dd'),
    (46542, 'mmmmm'),
    (46542, '[$-407]d. mmmm yyyy'),
    (46542, '[$-407]dddd'),
    (46542, '[$-40C]d mmmm yyyy'),
    (46542, '[$-415]d mmmm yyyy'),
    (46542, '[$-407]mmm'),
    (46542, '[$-40C]mmm'),
    (46542, '[$-C0A]d "de" mmmm'),
    (46542, '[$-410]d mmmm'),
    (46542, '[$-413]d mmmm'),
    (46542, '[$-416]d mmmm'),
    (46542, '[$-409]d-mmm'),
    (46542.75, 'h:mm AM/PM'),
    (46542.75, 'hh:mm'),
    (46542.0, 'h AM/PM'),
    (0.5, 'h:mm AM/PM'),
    (0.0, 'h:mm AM/PM'),
    (46542.75, 'h:mm A/P'),
    (46542.75, 'yyyy-mm-dd hh:mm:ss'),
    (46542.999999, 'yyyy-mm-dd hh:mm:ss'),
    (46542.9999999, 'yyyy-mm-dd'),
    (46542.99999, 'hh:mm'),
    (46542.9999999, 'hh:mm'),
    (1.5, '[h]:mm'),
    (1.5, '[mm]:ss'),
    (0.0007, '[ss].00'),
    (0.0007, 'mm:ss.0'),
    (0.00069, 'mm:ss'),
    (1.999999, '[h]:mm:ss'),
    (46542.5208333333, 'h"h"mm'),
    (1, 'yyyy-mm-dd'),
    (59, 'yyyy-mm-dd'),
    (60, 'yyyy-mm-dd'),
    (61, 'yyyy-mm-dd'),
    (0, 'yyyy-mm-dd'),
    (0.5, 'yyyy-mm-dd'),
    (-1, 'yyyy-mm-dd'),
    (2958466, 'yyyy-mm-dd'),
    (1, 'dddd'),
    (46542, 'd-mmm-yy'),
    (46542, 'mmm-yy'),
    (46542, 'd.m.yyyy'),
    (46542, 'd.m.yyyy;@'),
    (46542, 'ggge'),
    (46542, 'e'),
    (46542, 'yyy'),
    (46542, 'y'),
    (46542, 'm'),
    (46542, 'd'),
    (46542.1, 'mm:hh'),
    (46542.1, 'hh:m:s'),
    (46542, 'dd\\.mm\\.yyyy'),
    (46542, 'yyyy"年"m"月"d"日"'),
    (46542, 'ddddd'),
    (46542, '[$-407]d/m/yyyy'),
    (46542, '[$-807]d/m/yyyy'),
    (46542, '[$-413]d/m/yyyy'),
    (46542, '[$-813]d/m/yyyy'),
    (46542, '[$-40C]d/m/yyyy'),
    (46542, '[$-80C]d/m/yyyy'),
    (46542, '[$-C0C]d/m/yyyy'),
    (46542, '[$-100C]d/m/yyyy'),
    (46542, '[$-C0A]d/m/yyyy'),
    (46542, '[$-80A]d/m/yyyy'),
    (46542, '[$-410]d/m/yyyy'),
    (46542, '[$-810]d/m/yyyy'),
    (46542, '[$-416]d/m/yyyy'),
    (46542, '[$-816]d/m/yyyy'),
    (46542, '[$-409]d/m/yyyy'),
    (46542, '[$-809]d/m/yyyy'),
    (46542, '[$-C09]d/m/yyyy'),
    *[(46388 + 30 * n, '[$-409]mmmm') for n in range(12)],
    *[(46388 + n, '[$-409]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-407]mmmm') for n in range(12)],
    *[(46388 + n, '[$-407]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-40C]mmmm') for n in range(12)],
    *[(46388 + n, '[$-40C]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-C0A]mmmm') for n in range(12)],
    *[(46388 + n, '[$-C0A]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-410]mmmm') for n in range(12)],
    *[(46388 + n, '[$-410]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-413]mmmm') for n in range(12)],
    *[(46388 + n, '[$-413]dddd') for n in range(7)],
    *[(46388 + 30 * n, '[$-416]mmmm') for n in range(12)],
    *[(46388 + n, '[$-416]dddd') for n in range(7)],
    (True, 'General'),
    (True, '0'),
    ('Ida', '"Dear "@'),
    ('Ida', '0'),
    ('Ida', ';;;'),
    ('Ida', '0;-0;0;"no number"'),
    ('Ida', '0;-0;0;@" x"'),
    ('Ida', '@@'),
    (123.456, '0.0##'),
    (123, '0.0##'),
    (123, '0.###'),
    (1000000000000000.0, '0'),
    (123456789012345678, '0'),
    (1000000000000000.0, '#,##0'),
    (0.30000000000000004, '0.00000000000000000'),
    (12345.678, '#,##0.0,'),
    (5, '\\#0'),
    (5, '#\\#'),
    (5, '0/0'),
    (5, '0:0'),
    (5, '0"a"0'),
    (15, '0"a"0'),
    (5, '$0'),
    (5, '+0'),
    (5, '0 kg'),
    (5, '0x'),
    (5, '0!'),
    (5, '(0)'),
    (5, '0.00_);[Red](0.00)'),
    (12, '0""'),
    (0.5, '0.0 %'),
    (1, '0"\'"'),
    (5, '[Blue]0'),
    (5, '[Color 5]0'),
    (5, '[DBNum1]0'),
    (5, '[$-D000000]0'),
    (5, '"x"'),
    (-5, '"x"'),
    (0, '"x"'),
    (46542, 'yyyy\\-mm\\-dd\\Thh:mm'),
    (46542, 'm/d'),
    (46542, 'h'),
    (5, '0.0.0'),
    (5, '00.00'),
    (0.05, '%0'),
    (1, '"a";"b"'),
    (-1, '"a";"b"'),
    (0, '"a";"b"'),
    (-0.3, '0;-0;"z"'),
    (5, '0_x0'),
]  # fmt: skip

_AS_SHOWN = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,true"
"""Commas, quote marks, UTF-8, from row 1, quotes where needed, cells as they are shown."""


def converted(path: Path, kind: str, folder: Path) -> Path:
    """Let LibreOffice save a workbook as another kind, in `folder`."""
    command = ["soffice", "--headless", "--convert-to", kind, "--outdir", str(folder)]
    subprocess.run([*command, str(path)], check=True, capture_output=True, timeout=300)
    return folder / f"{path.stem}.{kind.partition(':')[0]}"


def texts_of(path: Path, folder: Path) -> list[list[str]]:
    """Give the texts of a workbook's first worksheet as LibreOffice shows them."""
    with converted(path, _AS_SHOWN, folder).open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def formats() -> openpyxl.Workbook:
    """Lay out the values in column B; the width keeps LibreOffice from shortening them."""
    workbook = openpyxl.Workbook()
    sheet = sheet_of(workbook)
    for row, (value, code) in enumerate(FORMATS, 1):
        sheet.cell(row, 1, row)
        sheet.cell(row, 2, value).number_format = code
    sheet.column_dimensions["B"].width = 60
    return workbook


def picnic() -> openpyxl.Workbook:
    """Make the list of an invented picnic, with cells of many kinds."""
    workbook = openpyxl.Workbook()
    sheet = sheet_of(workbook)
    sheet.title = "guests"
    sheet.append(["name", "dish", "seat", "day", "from", "price", "cups", "share", "label"])
    bold = InlineFont(b=True)
    day, noon = date(2027, 6, 4), time(12, 5)
    rows = [
        ["Ida Plum", "Zwetschgen\u00adkuchen", 7, day, noon, 3.5, 1.5, 0.25, "=1+1"],
        ["Jürgen Löß", "“Quark”, warm", 12, day, noon, 12, 0.75, 1, 5],
        ["ليلى حداد", "خبز", 123, day, noon, 1234.5, 2, 0.005, True],
        ["梅園さくら", "two\nlines", 0, datetime(2027, 12, 31), time(0), 0, 0.5, 0, "x"],
        ["hidden", "not seen", 9, day, noon, 1, 1, 1, "h"],
        [
            CellRichText("Plum ", TextBlock(bold, "Lane")),
            " spaced ",
            8,
            day,
            noon,
            -2,
            3,
            2,
            46542,
        ],
        ["007", "NULL", 10, day, noon, 2, 1, 1, "0.30"],
    ]
    euro = "#,##0.00 [$€-407];[Red]-#,##0.00 [$€-407]"
    day_code, cups = "dddd, d mmmm yyyy", "# ?/?"
    codes = ["General", "General", "000", day_code, "h:mm AM/PM", euro, cups, "0%"]
    codes.append("General")
    for number, row in enumerate(rows, 2):
        for column, (value, code) in enumerate(zip(row, codes, strict=True), 1):
            cell = sheet.cell(number, column)
            cell.value = value  # type: ignore[assignment]
            if not isinstance(value, str | CellRichText):
                cell.number_format = code
    sheet["D5"].number_format = "[$-407]d. mmmm yyyy"
    sheet["D8"].number_format = "yyyy-mm-dd"
    sheet.auto_filter.ref = "A1:I8"
    sheet.row_dimensions[6].hidden = True
    for letter in "ABCDEFGHI":
        sheet.column_dimensions[letter].width = 30
    return workbook


def main() -> None:
    FILES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        mine, theirs = folder / "mine", folder / "theirs"
        mine.mkdir()
        formats().save(mine / "formats.xlsx")
        picnic().save(mine / "picnic.xlsx")
        shown = [texts[1] for texts in texts_of(mine / "formats.xlsx", theirs)]
        with (FILES / "formats.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["value", "format", "shown"])
            for (value, code), text in zip(FORMATS, shown, strict=True):
                writer.writerow([repr(value), code, text])
        for kind in ("ods", "xlsx"):
            made = converted(mine / "picnic.xlsx", kind, theirs)
            (FILES / made.name).write_bytes(made.read_bytes())
        texts = texts_of(theirs / "picnic.xlsx", folder)
        with (FILES / "picnic.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(texts)


if __name__ == "__main__":
    main()
