"""The command line: what it writes, what it says, and its exit codes."""

import json
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from personalize.cli import main
from personalize.errors import WallError
from tests.cli_made import ALL_FILES, made_here, names, report_of, words
from tests.conftest import GUESTS, ROOT, SAMPLES, command, put, snapshot

TOO_LONG = "Wilhelmina" * 9


# ---- Exit codes ----


def test_exit_0_when_nothing_is_above_a_note(desk: Path) -> None:
    done = command(*words(desk))
    assert done.exit_code == 0
    assert done.stderr.startswith("3 pieces on 1 sheet of A4, ")
    said, files, evening, *steps = done.stdout.splitlines()
    assert said == "Nothing to mend."
    assert evening == "On the evening:"
    assert all(step.startswith("  [ ] ") for step in steps)
    assert files.startswith("3 pieces on 1 sheet. Files in ")
    assert names(desk / "picnic") == ALL_FILES


def test_a_note_is_counted_and_does_not_matter(desk: Path) -> None:
    put(desk, {"guests.csv": "front\nMaple\nमीना\n"})
    done = command(*words(desk))
    assert done.exit_code == 0
    assert "Found: 1 note (see the proof)." in done.stdout


def test_a_note_of_the_whole_run_is_told_in_full(desk: Path) -> None:
    put(desk, {"guests.csv": "front\nMaple\nमीना\n"})
    done = command(*words(desk), "--mirror")
    heading, told, remedy, counted, *_ = done.stdout.splitlines()
    assert heading == "Good to know (1)"
    assert "mirrored" in told
    assert remedy.startswith("    > ")
    assert counted == "Found: 1 note (see the proof)."


def test_files_that_are_numbered_through_are_told_by_the_first_and_the_last(
    desk: Path,
) -> None:
    put(desk, {"guests.csv": "front\n" + "Maple\n" * 40})
    done = command(*words(desk), "--also", "together", "--paper", "A5")
    (files,) = (line for line in done.stdout.splitlines() if "Files in" in line)
    made = names(desk / "picnic")
    many = sum(name.startswith("together-") for name in made)
    assert many > 3
    assert f", together-1.svg to together-{many}.svg, " in files
    assert "together-2.svg" in made
    assert "together-2.svg" not in files


def test_exit_1_when_a_warning_stands_though_the_files_are_made(desk: Path) -> None:
    put(desk, {"guests.csv": "front,dish\nMaple,Figs\n,Plums\n"})
    done = command(*words(desk))
    assert done.exit_code == 1
    heading, line, *_ = done.stdout.splitlines()
    assert heading == "Look at this (1)"
    assert line.startswith("  row 3: There are no words")
    assert names(desk / "picnic") == ALL_FILES
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_exit_1_when_an_error_stands_and_only_a_proof_is_written_beside(
    desk: Path,
) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk))
    assert done.exit_code == 1
    heading, line, *_ = done.stdout.splitlines()
    assert heading == "Must be mended (1)"
    assert line.startswith("  row 3, panel front: ")
    assert "No sheets were written" in done.stdout
    assert f"{desk / 'picnic-problems' / 'proof.html'}" in done.stdout
    assert names(desk) == ["guests.csv", "picnic-problems", "tag.svg"]
    assert names(desk / "picnic-problems") == ["proof.html", "report.json"]
    report = report_of(desk / "picnic-problems")
    assert [(f["rule"], f["row"]) for f in report["findings"]] == [("does-not-fit", 3)]
    assert report["pieces"] == report["sheets"] == []


def test_an_error_leaves_an_earlier_result_as_it_was(desk: Path) -> None:
    made_here(desk)
    before = snapshot(desk / "picnic")
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    for _ in range(2):  # the folder of problems is ours too, and may be there already
        assert command(*words(desk)).exit_code == 1
    assert snapshot(desk / "picnic") == before
    assert names(desk) == ["guests.csv", "picnic", "picnic-problems", "tag.svg"]


def test_exit_2_when_the_input_cannot_be_used_leaves_an_earlier_result(
    desk: Path,
) -> None:
    made_here(desk)
    put(desk, {"guests.csv": "front\n"})
    before = snapshot(desk)
    assert command(*words(desk)).exit_code == 2
    assert snapshot(desk) == before


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (WallError("cut.svg holds a letter"), "cut.svg holds a letter"),
        (RuntimeError("a plum fell in"), "RuntimeError: a plum fell in"),
    ],
)
@pytest.mark.parametrize("check", ["cut_files.check_wall", "writers.check_kept"])
@pytest.mark.parametrize("earlier", [True, False])
def test_exit_3_when_we_are_at_fault_and_nothing_is_moved_into_place(
    desk: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    fault: Exception,
    told: str,
    check: str,
    earlier: bool,
) -> None:
    if earlier:
        made_here(desk)
        put(desk, {"guests.csv": "front\nQuillfeather\n"})
    before = snapshot(desk)

    def breaks(*_: object) -> None:
        raise fault

    monkeypatch.setattr(f"personalize.{check}", breaks)
    monkeypatch.setattr("sys.argv", ["personalize", *map(str, words(desk))])
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr()
    assert ended.value.code == 3
    assert said.out == ""
    assert "\nOur own fault, nothing was written" in said.err
    assert told in said.err
    assert ("Traceback" in said.err) == isinstance(fault, RuntimeError)
    assert snapshot(desk) == before


@pytest.mark.parametrize(
    ("guests", "code"),
    [(GUESTS, 0), (f"front\n{TOO_LONG}\n", 1), ("front\n", 2)],
)
def test_the_installed_command_ends_with_the_same_codes(
    desk: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    guests: str,
    code: int,
) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["scripts"] == {"personalize": "personalize.cli:main"}
    put(desk, {"guests.csv": guests})
    monkeypatch.setattr("sys.argv", ["personalize", *map(str, words(desk))])
    with pytest.raises(SystemExit) as ended:
        main()
    here = capsys.readouterr()
    beside = command(*words(desk))
    assert ended.value.code == beside.exit_code == code
    assert (here.out, here.err) == (beside.stdout, beside.stderr)


# ---- Check, proof and JSON ----


@pytest.mark.parametrize(
    ("guests", "code", "rules"),
    [(GUESTS, 0, []), (f"front\n{TOO_LONG}\nMaple\n", 1, ["does-not-fit"])],
)
def test_check_finds_the_same_and_writes_nothing(
    desk: Path, guests: str, code: int, rules: list[str]
) -> None:
    put(desk, {"guests.csv": guests})
    before = snapshot(desk)
    done = command(*words(desk, "--json", name="check"))
    assert done.exit_code == code
    said = json.loads(done.stdout)
    assert [finding["rule"] for finding in said["findings"]] == rules
    assert (said["made"], said["folder"], said["files"]) == (False, None, [])
    assert snapshot(desk) == before


def test_proof_writes_the_proof_and_the_report_alone(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk, name="proof"))
    assert done.exit_code == 1
    assert names(desk / "picnic") == report_of(desk / "picnic")["files"]
    assert names(desk / "picnic") == ["proof.html", "report.json"]
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_json_tells_what_was_made_and_the_findings_of_the_report(desk: Path) -> None:
    put(desk, {"guests.csv": "front,copies\nMaple,2\nमीना,1\n"})
    done = command(*words(desk, "--json"))
    said = json.loads(done.stdout)
    assert (done.exit_code, done.stderr) == (0, "")
    assert said.pop("findings") == report_of(desk / "picnic")["findings"] != []
    assert sorted(said.pop("files")) == ALL_FILES
    assert said == {
        "made": True,
        "folder": str(desk / "picnic"),
        "pieces": 3,
        "sheets": 1,
        "left_out": 0,
        "designs": [
            {
                "design": "tag",
                "stock": "",
                "pieces": 3,
                "sheets": 1,
                "cut_files": ["cut.svg"],
            }
        ],
    }


def test_json_tells_of_a_run_that_made_no_sheets(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk, "--json"))
    said = json.loads(done.stdout)
    assert done.exit_code == 1
    assert said["made"] is False
    assert said["folder"] == str(desk / "picnic-problems")
    assert said["left_out"] == 1


def test_names_in_any_script_come_through_as_json(desk: Path) -> None:
    put(desk, {"guests.csv": "front\n" + "תפוזים" * 20 + "\n"})
    done = command(*words(desk, "--json", name="check"))
    assert "תפוזים" in done.stdout
    assert json.loads(done.stdout)["findings"][0]["rule"] == "does-not-fit"


# ---- What is placed ----


def by_piece(report: dict[str, Any]) -> dict[tuple[int, int], list[dict[str, Any]]]:
    """Give the texts by row and copy, without what depends on the sheet."""
    kept = ("panel", "text", "font", "size_pt", "largest_pt", "leading_pt", "lines")
    return {
        (piece["row"], piece["copy"]): [{k: t[k] for k in kept} for t in piece["texts"]]
        for piece in report["pieces"]
        if piece["row"] is not None
    }


def test_rows_places_these_alone_with_the_sizes_of_the_whole_batch(
    made: Path, tmp_path: Path
) -> None:
    done = command(
        *("make", SAMPLES / "picnic.csv", "--design", "plant-flag"),
        *("--out", tmp_path / "picnic", "--rows", "2-3,35"),
    )
    assert done.exit_code == 0, done.output
    whole, part = by_piece(report_of(made)), by_piece(report_of(tmp_path / "picnic"))
    assert list(part) == [(2, 1), (3, 1), (3, 2), (35, 1), (35, 2), (35, 3)]
    assert part == {key: whole[key] for key in part}


def test_sizes_of_chosen_rows_differ_from_those_of_a_batch_of_their_own(
    desk: Path,
) -> None:
    # Else the test above would prove nothing: here the long name sets the sizes.
    put(desk, {"guests.csv": f"front\nIo\n{'Castellanos ' * 6}\n"})
    put(desk, {"tag.toml": '[type]\nsizes = "same"\n'})
    whole = by_piece(made_here(desk, "--rows", "2"))
    put(desk, {"guests.csv": "front\nIo\n"})
    alone = by_piece(made_here(desk))
    assert whole[2, 1][0]["size_pt"] < alone[2, 1][0]["size_pt"] / 2


def test_rows_adds_no_spares(desk: Path) -> None:
    whole = made_here(desk)
    assert whole["sheets"][0]["filled"] > 0
    part = made_here(desk, "--rows", "3-")
    assert [piece["row"] for piece in part["pieces"]] == [3, 4]
    assert [sheet["filled"] for sheet in part["sheets"]] == [0]


def test_an_error_in_a_row_that_is_not_asked_for_stops_nothing(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\nRowan\n"})
    done = command(*words(desk, "--rows", "2,4"))
    assert done.exit_code == 1  # it stands all the same
    assert [piece["row"] for piece in report_of(desk / "picnic")["pieces"]] == [2, 4]


def test_leave_out_faulty_makes_all_the_others(desk: Path) -> None:
    put(desk, {"guests.csv": f"front,copies\nMaple,2\n{TOO_LONG},3\nRowan,1\n"})
    done = command(*words(desk, "--leave-out-faulty"))
    assert done.exit_code == 1
    assert "3 pieces on 1 sheet, 3 left out." in done.stdout
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]
    report = report_of(desk / "picnic")
    rows = Counter(piece["row"] for piece in report["pieces"])
    assert (rows[2], rows[3], rows[4]) == (2, 0, 1)
    assert [finding["row"] for finding in report["findings"]] == [3]


def test_leave_out_faulty_makes_no_sheets_of_nothing(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\n{TOO_LONG}\n"})
    assert command(*words(desk, "--leave-out-faulty")).exit_code == 1
    assert names(desk) == ["guests.csv", "picnic-problems", "tag.svg"]


def test_no_proof_leaves_the_proof_out(desk: Path) -> None:
    report = made_here(desk, "--no-proof")
    assert names(desk / "picnic") == ["cut.svg", "print.pdf", "report.json"]
    assert report["files"] == ["cut.svg", "print.pdf", "report.json"]
