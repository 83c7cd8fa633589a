"""How findings are told: in groups, as a table, with progress; what changed; doubts."""

import csv
import io
import json
import os
import pty
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.changes import Change, PieceSeen, TextSeen, changes
from personalize.checks.paper_findings import paper_findings
from personalize.cli_progress import shown_progress
from personalize.finding import Finding, Severity
from personalize.messages.doubts import doubts
from personalize.messages.table import Row, Source, Table
from personalize.output.findings_csv import HEADINGS, findings_csv, guarded
from personalize.rules import Rule
from personalize.sheet.use import PaperUse
from tests.conftest import EDGE, ROOT, command, drawing, put, snapshot

TOML = '[lines]\nCutting = "#edge"\nCreasing = ".fold"\n'
FOLD = '<path class="fold" d="M30 2 V38" fill="none" stroke="#000"/>'


# ---- On the command line ----


def desk(folder: Path, cells: str) -> list[str | Path]:
    put(folder, {"guests.csv": cells, "tag.svg": drawing(EDGE)})
    return [folder / "guests.csv", "--design", folder / "tag.svg"]


def test_findings_stand_in_groups_the_gravest_first(tmp_path: Path) -> None:
    given_ = desk(tmp_path, f"front,dish\n{'Wilhelmina' * 9},a\nमीना,a\n,a\nराम,a\n")
    done = command("check", *given_)
    lines = done.stdout.splitlines()
    heads = [line for line in lines if not line.startswith(" ")]
    assert heads[1:4] == ["Must be mended (1)", "Look at this (1)", "Good to know (2)"]
    # What has one remedy stands together, and the remedy once.
    assert done.stdout.count("Nothing to do if it looks right in the proof.") == 1
    assert "\x1b" not in done.stdout


def test_how_much_paper_is_used_is_said_before_anything_is_written(tmp_path: Path) -> None:
    given_ = desk(tmp_path, "front,copies\nAda,20\n")
    done = command("make", *given_, "--out", tmp_path / "out")
    match = re.match(r"20 pieces on (\d+) sheets? of A4, (\d+) to a sheet", done.stderr)
    assert match is not None
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert len(report["sheets"]) == int(match[1])
    share = float(re.search(r"(\d+)% of a full sheet", done.stderr)[1])  # type: ignore[index]
    assert share == pytest.approx(int(match[2]) * 56 * 36 / (210 * 297) * 100, abs=0.6)
    checked = command("check", *given_).stdout
    assert re.match(r"20 pieces on at most \d+ sheets? of A4, at least", checked)
    assert "m2 of paper" not in command("check", *given_, "--json").output


def test_the_plan_is_said_while_the_folder_is_still_untouched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given_ = desk(tmp_path, "front,copies\nAda,20\n")

    def broken(self: object, folder: Path) -> None:
        raise OSError(28, "No space left on device", str(folder))

    monkeypatch.setattr("personalize.writers.Writers.save", broken)
    before = sorted(path.name for path in tmp_path.iterdir())
    done = command("make", *given_, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert done.stderr.startswith("20 pieces on ")
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    seen: list[tuple[list[str], int]] = []

    def planned(uses: Sequence[PaperUse]) -> None:
        seen.append((sorted(path.name for path in tmp_path.iterdir()), uses[0].sheets))

    design = personalize.load_design(given_[2])
    options = personalize.Options(planned=planned)
    monkeypatch.undo()
    made = personalize.make(
        personalize.read_table(given_[0]), design, tmp_path / "out", options
    )
    assert seen == [(before, made.sheets)]


def test_a_terminal_gets_wrapped_lines_and_colours_unless_told(tmp_path: Path) -> None:
    words = desk(tmp_path, f"front\n{'Wilhelmina ' * 30}\n")
    plain = on_terminal(words, {"COLUMNS": "40", "NO_COLOR": "1"})
    assert "\x1b[" not in plain
    assert "Must be mended (1)" in plain
    lines = plain.replace("\r", "").splitlines()
    at = lines.index("Must be mended (1)")
    assert max(map(len, lines[at:-1])) < 40
    assert len(lines) > 20
    # ECMA-48, SGR 31: red.
    assert "\x1b[31m" in on_terminal(words, {"COLUMNS": "100"})


def on_terminal(words: list[str | Path], more: dict[str, str]) -> str:
    """Give what `check` says on a terminal of its own."""
    ours, theirs = pty.openpty()
    environment = {key: os.environ[key] for key in ("PATH",)} | more
    done = subprocess.Popen(
        [sys.executable, "-m", "personalize", "check", *map(str, words)],
        stdin=subprocess.DEVNULL,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
        env=environment,
    )
    os.close(theirs)
    parts = []
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:  # Linux says so when the other end is closed
            break
        if not part:
            break
        parts.append(part)
    os.close(ours)
    assert done.wait() in (0, 1)
    return b"".join(parts).decode("utf-8")


def test_progress_is_silent_when_short_and_tells_rate_and_time_left() -> None:
    now = [0.0]
    said: list[str] = []
    show = shown_progress(lambda: now[0], said.append)
    for done in range(1, 101):
        now[0] += 0.01
        show(done, 100)
    assert said == []
    for done in range(1, 101):
        now[0] += 0.1
        show(done, 100)
    told = [words.strip() for words in said]
    assert told[-1] == ""  # taken away again
    match = re.fullmatch(
        r"setting piece (\d+) of 100, ([\d.]+) a second, (\d+) s left", told[3]
    )
    assert match is not None
    assert float(match[2]) == pytest.approx(10, rel=0.02)
    assert int(match[3]) == pytest.approx((100 - int(match[1])) / 10, abs=1)


def test_care_is_told_once_on_the_plan_and_on_the_proof(tmp_path: Path) -> None:
    put(tmp_path, {"guests.csv": "front\nAda\nBo\n", "tag.svg": drawing(EDGE)})
    uses = '["food", "children", "flame", "allergen"]'
    put(tmp_path, {"tag.toml": f'use = {uses}\n[lines]\nCutting = "#edge"\n'})
    words = [tmp_path / "guests.csv", "--design", tmp_path / "tag.toml"]
    done = command("proof", *words, "--out", tmp_path / "out")
    page = (tmp_path / "out" / "proof.html").read_text("utf-8")
    for said in ("not made to touch food", "choke", "Paper burns", "Words on allergens"):
        assert done.stdout.count(said) == 1
        assert page.count(said) == 1


# ---- As a table ----


def one(says: str = "Plums.", do: str = "", column: str | None = None) -> Finding:
    return Finding(Rule.SPACES, Severity.NOTE, says, do, 3, column)


SIGNS = "=+-@\t\r"
"""OWASP, "CSV Injection": cells that begin with these may be run as formulas."""


@given(st.lists(st.text(), min_size=1, max_size=4))
@settings(max_examples=200, deadline=None)
def test_every_word_comes_back_from_the_table_and_none_can_run(words: list[str]) -> None:
    found = [one(word, word, word) for word in words]
    text = findings_csv(found)
    assert text[0] == "\ufeff"
    read = list(csv.reader(io.StringIO(text[1:], newline="")))
    assert tuple(read[0]) == HEADINGS
    for finding, row in zip(found, read[1:], strict=True):
        for cell in row:
            assert cell[:1] not in tuple(SIGNS) or not cell
        assert row[5] in (finding.says, f"'{finding.says}")


@pytest.mark.parametrize("sign", SIGNS)
def test_a_formula_is_guarded_and_keeps_its_words(sign: str) -> None:
    # Examples in the manner of OWASP, "CSV Injection".
    for cell in (f"{sign}1+1", f'{sign}HYPERLINK("http://a.example")', f" {sign}2"):
        assert guarded(cell) == f"'{cell}"
    assert guarded(f"a{sign}1") == f"a{sign}1"


def test_findings_are_written_as_a_table_on_request(tmp_path: Path) -> None:
    given_ = desk(tmp_path, "front\n=1+1\nमीना\n")
    for name in ("make", "proof"):
        out = tmp_path / name
        command(name, *given_, "--out", out, "--also", "findings")
        data = (out / "findings.csv").read_bytes()
        assert data.startswith(b"\xef\xbb\xbf")
        rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
        report = json.loads((out / "report.json").read_text("utf-8"))
        assert "findings.csv" in report["files"]
        assert [row["rule"] for row in rows] == [f["rule"] for f in report["findings"]]


# ---- Since an earlier report ----


def piece(row: int, words: str, size_pt: float = 20.0, copy: int = 1) -> PieceSeen:
    text = TextSeen(("front", None), words, size_pt, ("Lora", "#000", "none", "0", words))
    return PieceSeen("tag", row, copy, "", "", (text,))


PIECES = st.lists(st.sampled_from("ABC"), max_size=6).map(
    lambda words: [piece(i + 2, word) for i, word in enumerate(words)]
)


@given(PIECES)
def test_a_batch_has_not_changed_against_itself(batch: list[PieceSeen]) -> None:
    assert changes(batch, batch) == ()


@given(PIECES, PIECES)
def test_changes_account_for_every_piece(
    old: list[PieceSeen], new: list[PieceSeen]
) -> None:
    found = changes(old, new)
    count = {kind: sum(one.kind is kind for one in found) for kind in Change}
    if new:
        assert len(new) - count[Change.ADDED] == len(old) - count[Change.GONE]
    # Whoever is in both batches in the same number has lost and won no piece.
    kept = [p.words for p in new if not any(c.now is p for c in found)]
    before = [p.words for p in old]
    assert all(kept.count(words) <= before.count(words) for words in kept)


def test_a_row_put_in_between_changes_no_other(tmp_path: Path) -> None:
    before = [piece(2, "Ada"), piece(3, "Bo"), piece(4, "Cy")]
    after = [piece(2, "Ada"), piece(3, "Dot"), piece(4, "Bo"), piece(5, "Cy")]
    (added,) = changes(before, after)
    assert (added.kind, added.now) == (Change.ADDED, after[1])
    (gone,) = changes(after, before)
    assert (gone.kind, gone.before) == (Change.GONE, after[1])


def test_changes_since_a_run_are_marked_in_the_proof(tmp_path: Path) -> None:
    given_ = desk(tmp_path, "front\nAda\nBo\nCy\n")
    command("make", *given_, "--out", tmp_path / "old")
    out = tmp_path / "new"
    for old in (tmp_path / "old", tmp_path / "old" / "report.json"):
        done = command("proof", *given_, "--out", out, "--against", old)
        assert "earlier report" not in done.stdout
    put(tmp_path, {"guests.csv": "front\nAda\nBob\nCy\nWilhelmina Featherstone\n"})
    done = command("proof", *given_, "--out", out, "--against", tmp_path / "old")
    assert done.exit_code == 0
    assert "row 3: It said 'Bo' in the earlier report." in done.stdout
    assert "row 5: Added since the earlier report" in done.stdout
    page = (out / "proof.html").read_text("utf-8")
    card = page[page.index('id="row-3"') :].split("</article>")[0]
    assert "It said &#x27;Bo&#x27;" in card


def test_a_report_that_cannot_be_compared_with_is_told(tmp_path: Path) -> None:
    given_ = desk(tmp_path, "front\nAda\n")
    command("proof", *given_, "--out", tmp_path / "proof")
    put(tmp_path, {"no.json": "{", "odd.json": '{"personalize_report": 1}'})
    before = snapshot(tmp_path)
    for name, told in (
        ("none.json", "none.json cannot be read"),
        ("no.json", "no.json is no report of ours"),
        ("odd.json", "the pieces in odd.json are damaged"),
        ("proof", "report.json has no pieces"),
    ):
        out = ["--out", tmp_path / "x", "--against", tmp_path / name]
        done = command("proof", *given_, *out)
        assert done.exit_code == 2
        assert told in done.stderr
    assert snapshot(tmp_path) == before


# ---- Doubts about a list ----


def told(headings: tuple[str, ...], *rows: tuple[str, ...]) -> list[tuple[str, int | None]]:
    made = tuple(Row(i + 2, cells) for i, cells in enumerate(rows))
    table = Table(Source("guests.csv", heading_row=1), headings, made)
    return [(str(f.rule), f.row) for f in doubts(table, headings)]


def test_a_name_that_stands_twice_is_told_with_the_initials_that_part_them() -> None:
    rows = (("Ada", "Quill"), ("Bo", "Fern"), ("Ada", "Moss"))
    assert told(("name", "family"), *rows) == [("same-name", 4)]
    table = Table(
        Source("g.csv"), ("name", "family"), tuple(Row(i, r) for i, r in enumerate(rows, 2))
    )
    (found,) = doubts(table, {"name"})
    assert "(Ada Q., Ada M.)" in found.do


def test_plants_may_stand_as_often_as_they_like() -> None:
    assert told(("plant",), ("Basil",), ("Basil",)) == []


@pytest.mark.parametrize("heading", ["name", "plant"])
@pytest.mark.parametrize(
    "twins", [("Zo\u00eb", "Zoe\u0308"), ("Ada", "ADA"), ("Bo", "Bo ")]
)
def test_twins_that_only_a_program_tells_apart_are_told(
    heading: str, twins: tuple[str, str]
) -> None:
    rows = ((twins[0],), ("Ivo",), (twins[1],))
    assert told((heading,), *rows) == [("near-twins", 4)]


def test_numbers_are_doubted_as_names_and_not_as_tables() -> None:
    assert told(("name",), ("3",), ("4",)) == [("numbers-as-words", None)]
    assert told(("table",), ("3",), ("4",)) == []
    assert told(("name",), ("3",), ("Bo",)) == []


@pytest.mark.parametrize("heading", ["4", "12.5", "2024-05-01", "ada@plum.example"])
def test_a_heading_that_looks_like_an_entry_is_doubted(heading: str) -> None:
    assert told(("name", heading), ("Ada", "x")) == [("heading-like-data", 1)]


@pytest.mark.parametrize("heading", ["name", "No. 4", "2nd line", "table 1"])
def test_a_heading_that_is_one_is_not(heading: str) -> None:
    assert told(("name", heading), ("Ada", "x")) == []


# ---- Paper ----


def paper(folder: Path, under: str, toml: str = TOML) -> set[str]:
    put(folder, {"tag.svg": drawing(under + EDGE + FOLD), "tag.toml": toml})
    design = personalize.load_design(folder / "tag.toml")
    return {str(f.rule) for f in paper_findings(design)}


LEFT = '<rect width="30" height="40" fill="{}"/>'
RIGHT = '<rect x="30" width="30" height="40" fill="{}"/>'


@pytest.mark.parametrize(
    ("left", "right", "rules"),
    [
        ("#eee", "#eee", set()),
        ("#eee", "#444", {"colour-edge-on-crease"}),
        ("#222", "#222", {"dark-crease"}),  # luminance 0.016
        ("#666", "#666", set()),  # 0.133
    ],
)
def test_what_a_fold_does_to_ink_is_told(
    tmp_path: Path, left: str, right: str, rules: set[str]
) -> None:
    assert paper(tmp_path, LEFT.format(left) + RIGHT.format(right)) == rules


def test_an_edge_away_from_the_crease_is_no_matter(tmp_path: Path) -> None:
    moved = '<rect width="34" height="40" fill="#eee"/>'
    moved += '<rect x="34" width="30" height="40" fill="#444"/>'
    assert paper(tmp_path, moved) == set()


def test_small_margins_are_told_against_the_cut(tmp_path: Path) -> None:
    small = TOML + "[margins]\noutline = 0.69\n"
    assert paper(tmp_path, "", small) == {"narrow-margin"}
    assert paper(tmp_path, "", small.replace("0.69", "0.7")) == set()
