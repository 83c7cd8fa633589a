"""Conservation: a message that is lost, doubled or changed in print.pdf stops the run."""

import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pikepdf
import pytest

import personalize
from personalize.checks.kept import Due, Wanted, check_kept, read_pieces
from personalize.cli import main
from personalize.errors import KeptError
from personalize.messages.message import messages_of
from personalize.output.pdf import PrintPdf
from personalize.sheet.fill import Sheet
from tests.conftest import SAMPLES


def wanted() -> list[Wanted]:
    messages = messages_of(personalize.read_table(SAMPLES / "picnic.csv"))
    out = []
    for message in messages:
        for copy in range(1, message.copies + 1):
            out.append(Wanted(message, copy, len(out) + 1))
    return out


def proved(pdf: Path) -> None:
    due = wanted()
    places = 6 * -(-len(due) // 6)
    design = personalize.load_design("plant-flag")
    check_kept(pdf, [Due(design, due, len(due), places - len(due))])


def test_every_cell_is_in_the_file_in_every_script(made: Path) -> None:
    proved(made / "print.pdf")
    said = {text for piece in read_pieces(made / "print.pdf") for _, text in piece.texts}
    for message in messages_of(personalize.read_table(SAMPLES / "picnic.csv")):
        assert message.words["name"] in said


def without_first_piece(content: bytes) -> bytes:
    start = content.index(b"/PersonalizePiece")
    end = content.index(b"/PersonalizePiece", start + 1)
    return content[:start] + content[end:]


def with_first_piece_twice(content: bytes) -> bytes:
    start = content.index(b"/PersonalizePiece")
    end = content.index(b"/PersonalizePiece", start + 1)
    return content[:end] + content[start:end] + content[end:]


def with_another_word(content: bytes) -> bytes:
    return re.sub(rb"/Text <FEFF0049006F>", b"/Text <FEFF0049006E>", content, count=1)


def with_another_row(content: bytes) -> bytes:
    return content.replace(b"/Row 2 ", b"/Row 900 ", 1)


def with_a_hidden_word(content: bytes) -> bytes:
    start = content.index(b"/PersonalizeText")
    shown = re.search(rb"\[[^\]]*\] TJ", content[start:])
    assert shown is not None
    return content[:start] + content[start:].replace(shown[0], b"", 1)


def with_words_on_another_panel(content: bytes) -> bytes:
    front = "front".encode("utf-16-be").hex().upper().encode()
    back = "back".encode("utf-16-be").hex().upper().encode()
    return content.replace(b"<FEFF" + front, b"<FEFF" + back, 1)


def without_an_end(content: bytes) -> bytes:
    at = content.rindex(b"EMC")
    return content[:at] + content[at + 3 :]


@pytest.mark.parametrize(
    "change",
    [
        without_first_piece,
        with_first_piece_twice,
        with_another_word,
        with_another_row,
        with_a_hidden_word,
        with_words_on_another_panel,
        without_an_end,
    ],
)
def test_a_changed_file_is_noticed(
    made: Path, tmp_path: Path, change: Callable[[bytes], bytes]
) -> None:
    pdf = tmp_path / "print.pdf"
    shutil.copy(made / "print.pdf", pdf)
    with pikepdf.open(pdf, allow_overwriting_input=True) as document:
        page = document.pages[0]
        content = page.Contents.read_bytes()
        assert change(content) != content
        page.Contents = pikepdf.Stream(document, change(content))
        document.save(pdf)
    with pytest.raises(KeptError):
        proved(pdf)


def test_a_run_that_loses_a_message_ends_with_exit_3_and_leaves_the_old_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    command = ["personalize", "make", str(SAMPLES / "picnic.csv"), "--design", "plant-flag"]
    command += ["--out", str(out), "--rows", "2-13", "--no-proof"]
    monkeypatch.setattr("sys.argv", command)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    add_sheet = PrintPdf.add_sheet

    def all_but_one(self: PrintPdf, sheet: Sheet) -> None:
        kept = sheet.placed if sheet.number > 1 else sheet.placed[1:]
        add_sheet(self, replace(sheet, placed=kept))

    monkeypatch.setattr(PrintPdf, "add_sheet", all_but_one)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 3
    assert "row 2" in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert list(tmp_path.iterdir()) == [out]
