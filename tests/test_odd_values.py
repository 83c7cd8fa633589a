"""Odd words in a design, a list or an option: told in a sentence, or printed as is."""

import errno
import os
from pathlib import Path
from typing import IO, Any

import pikepdf
import pytest

from tests.conftest import EDGE, command, drawing, put, snapshot
from tests.outside import run

TOML = """
name = "Tag"
svg = "tag.svg"
[lines]
Cutting = "#edge"
[[panel]]
name = "front"
at = [30, 20]
text = '{}'
"""


def made(folder: Path, *more: str | Path) -> str:
    """Make sheets with the design tag.toml; gives what pdftotext reads of them."""
    told = ("--design", folder / "tag.toml", "--out", folder / "out", "--marks", "none")
    done = command("make", folder / "guests.csv", *told, *more)
    assert done.exit_code in (0, 1), done.output
    return run("pdftotext", "-raw", str(folder / "out" / "print.pdf"), "-")


# ---- Braces and control characters: what stands in the file is what was written ----


@pytest.mark.parametrize(
    ("pattern", "shown"),
    [
        ("{{{front}}}", "{Maple}"),
        ("{front}}}", "Maple}"),
        ("{{{{front}}}}", "{{front}}"),
        ("{{{front}{front}}}", "{MapleMaple}"),
    ],
)
def test_braces_beside_a_heading_are_printed(pattern: str, shown: str, desk: Path) -> None:
    put(desk, {"tag.toml": TOML.format(pattern)})
    assert shown in made(desk)


@pytest.mark.parametrize("control", ["\x01", "\x1b"])
def test_a_control_character_in_a_cell_is_told_and_no_fault_of_ours(
    control: str, desk: Path
) -> None:
    put(desk, {"tag.toml": TOML.format("{front}"), "guests.csv": f"front\nA{control}b\n"})
    assert "b" in made(desk)


# ---- Invisible characters ----


@pytest.mark.parametrize(
    "words",
    [
        "a\u2603\u202eb",  # a snowman is borrowed from a font without a space
        "\u202e\u2603",
        "\ufeff\u2603\ufeffb",
        "\u2603 \u202e",
        "\u200e\u2603\u200f",
    ],
)
def test_invisible_characters_beside_a_borrowed_letter_stop_no_run(
    words: str, desk: Path
) -> None:
    put(desk, {"tag.toml": TOML.format("{front}"), "guests.csv": f'front\n"{words}"\n'})
    assert "\u2603" in made(desk)


# Marks that are pasted along with words from a list in Hebrew or Arabic.
@pytest.mark.parametrize("words", ["Bo\u200f", "\u200eBo\u200f", "Bo \u200f!"])
def test_a_mark_of_direction_beside_plain_letters_stops_no_run(
    words: str, desk: Path
) -> None:
    put(desk, {"tag.toml": TOML.format("{front}"), "guests.csv": f"front\n{words}\n"})
    assert "Bo" in made(desk)


def test_they_may_stand_in_the_name_of_a_design_too(desk: Path) -> None:
    named = TOML.format("{front}").replace('"Tag"', '"Snow \\u2603\\u202e"')
    put(desk, {"tag.toml": named})
    made(desk)
    with pikepdf.open(desk / "out" / "print.pdf") as document:
        assert len(document.pages) == 1


# ---- Selectors, paths and long words ----


@pytest.mark.parametrize("area", ["", "::(", "/a/b"])
def test_a_selector_on_a_back_that_is_none_is_told(area: str, desk: Path) -> None:
    back = f'[back]\nsvg = "tag.svg"\n[[back.panel]]\nname = "front"\narea = "{area}"\n'
    put(desk, {"tag.svg": drawing(EDGE), "tag.toml": TOML.format("{front}") + back})
    before = snapshot(desk)
    done = command(
        *("make", desk / "guests.csv", "--design", desk / "tag.toml"),
        *("--two-sided", "upright", "--out", desk / "out"),
    )
    assert done.exit_code == 2
    assert done.stderr == (
        f"tag.toml, line 14: {area!r} is not a CSS selector."
        ' Write "#name" for an id or ".name" for a class.\n'
    )
    assert snapshot(desk) == before


LONG = "x" * 5000


@pytest.mark.parametrize(
    "told",
    [
        ("check", "guests.csv", "--design", LONG),
        ("check", LONG, "--design", "tag.svg"),
        ("check", "guests.csv", "--design", "tag.svg", "--against", LONG),
        ("check", "guests.csv", "--design", "tag.svg", "--sizes-from", LONG),
        ("check", "guests.csv", "--design", "tag.svg", "--machine", f"{LONG}.toml"),
        ("check", "guests.csv", "--design", "tag.svg", "--marks", f"{LONG}.svg"),
        ("check", "guests.csv", "--design", "tag.svg", "--labels", LONG),
        ("check", "guests.csv", "--design", "tag.svg", "--rows", LONG),
        ("inspect", LONG),
        ("starter", LONG, "--out", "new.csv"),
        ("starter", "tag.svg", "--out", f"{LONG}.csv"),
    ],
)
def test_a_name_too_long_for_any_file_is_told_in_a_line_that_can_be_read(
    told: tuple[str, ...], desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(desk)
    before = snapshot(desk)
    done = command(*told)
    assert done.exit_code == 2
    (line,) = done.stderr.splitlines()
    assert len(line) < 400
    assert snapshot(desk) == before


def test_a_drawing_whose_name_is_as_long_as_one_may_be_is_used(desk: Path) -> None:
    # 255 bytes on most disks (NAME_MAX); the TOML beside it would have one more.
    name = f"{'x' * 251}.svg"
    put(desk, {name: drawing(EDGE)})
    assert command("inspect", desk / name).exit_code == 0


def test_a_design_in_a_folder_that_may_not_be_entered_says_so(
    desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.stat

    def stat(path: Any, **more: Any) -> os.stat_result:
        if "secret" in str(path):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return real(path, **more)

    def read(path: Path) -> bytes:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))

    monkeypatch.setattr(os, "stat", stat)
    monkeypatch.setattr(Path, "read_bytes", read)
    done = command("inspect", desk / "secret" / "tag.svg")
    assert done.exit_code == 2
    assert "it cannot be read (Permission denied). Check its permissions." in done.stderr


def test_a_starter_that_the_disk_has_no_room_for_is_not_left_half(
    desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.open

    class Full:
        """A file that takes some bytes, and then no more."""

        def __init__(self, file: IO[bytes]) -> None:
            self._file = file

        def __enter__(self) -> "Full":
            return self

        def __exit__(self, *_: object) -> None:
            self._file.close()

        def write(self, data: bytes) -> int:
            self._file.write(data[:5])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def opened(path: Path, mode: str = "r", **more: Any) -> Any:
        file: Any = real(path, mode, **more)
        return Full(file) if "x" in mode else file

    monkeypatch.setattr(Path, "open", opened)
    before = snapshot(desk)
    done = command("starter", desk / "tag.svg", "--out", desk / "new.csv")
    assert done.exit_code == 2
    assert "new.csv cannot be written (No space left on device)." in done.stderr
    assert snapshot(desk) == before


def test_sizes_come_from_the_folder_of_an_earlier_run_too(desk: Path) -> None:
    put(desk, {"tag.toml": TOML.format("{front}")})
    made(desk)
    done = command(
        *("check", desk / "guests.csv", "--design", desk / "tag.toml"),
        *("--sizes-from", desk / "out"),
    )
    assert done.exit_code in (0, 1), done.output


# Tags from RFC 5646, appendix A; the rest is what people write who know no tags.
@pytest.mark.parametrize("tag", ["", "de", "gsw", "zh-Hant", "sr-Latn-RS", "de-CH-1901"])
def test_a_tag_of_a_language_is_taken(tag: str, desk: Path) -> None:
    put(desk, {"tag.toml": TOML.format("{front}") + f'language = "{tag}"\n'})
    assert command("inspect", desk / "tag.toml").exit_code == 0


@pytest.mark.parametrize("word", ["Turkish", "de_CH", "français", "d", "de-", "en, fr"])
def test_what_is_no_tag_of_a_language_is_told(word: str, desk: Path) -> None:
    put(desk, {"tag.toml": TOML.format("{front}") + f'language = "{word}"\n'})
    done = command("inspect", desk / "tag.toml")
    assert done.exit_code == 2
    assert f"tag.toml, line 10: {word!r} is no tag of a language." in done.stderr
