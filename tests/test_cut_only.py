"""Pieces without a spreadsheet: so many, artwork and die lines alone."""

import json
from pathlib import Path

import pytest
import svgelements

from personalize.cli import main
from tests.outside import Pdfium


def command(monkeypatch: pytest.MonkeyPatch, *words: str | Path) -> int:
    monkeypatch.setattr("sys.argv", ["personalize", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        main()
    assert isinstance(ended.value.code, int)
    return ended.value.code


def test_twelve_lids_are_printed_and_cut_without_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "lids"
    options = ("--design", "jar-lid", "--count", "12", "--out", out)
    assert command(monkeypatch, "make", *options) == 0
    report = json.loads((out / "report.json").read_text("utf-8"))
    assert len(report["pieces"]) == 12
    assert all(piece["texts"] == [] for piece in report["pieces"])
    assert sum(sheet["pieces"] for sheet in report["sheets"]) == 12
    assert all(sheet["filled"] == 0 for sheet in report["sheets"])
    cut = 0
    for sheet in report["sheets"]:
        drawing = svgelements.SVG.parse(out / sheet["cut_file"])
        cut += sum(isinstance(e, svgelements.Path) for e in drawing.elements())
    assert cut == 12
    pdf = Pdfium(out / "print.pdf")
    for piece in report["pieces"]:
        e, f = piece["at"][4:]
        assert pdf.text(piece["sheet"], [e + 10, f + 10, e + 50, f + 50]) == ""
    assert len(pdf) >= len(report["sheets"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "there is neither a spreadsheet nor a --count"),
        (("guests.csv", "--count", "3"), "there is a spreadsheet and a --count"),
        (("--count", "0"), "0 is no number of pieces from 1 to 100000"),
        (("--count", "3", "--rows", "2"), "--rows: it chooses among the rows"),
        (("--count", "3", "--sort", "name"), "--sort: it chooses among the rows"),
    ],
)
def test_what_makes_no_sense_with_a_count_is_refused_in_a_sentence(
    words: tuple[str, ...],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out"
    options = ("--design", "jar-lid", "--out", out)
    assert command(monkeypatch, "make", *words, *options) == 2
    assert says in capsys.readouterr().err
    assert not out.exists()
