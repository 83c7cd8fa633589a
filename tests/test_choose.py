"""Choosing and ordering messages by their words, through the command line and below it."""

import json
from pathlib import Path
from typing import Any

import icu
import pytest

from personalize.errors import InputError
from personalize.messages.choose import choose_where, sort_by
from personalize.messages.table import Message
from tests.conftest import EDGE, command, drawing, line, put

HEADINGS = ("dish", "table", "a=b", "copies")
MESSAGES = (
    Message(2, {"dish": "Žurek", "table": "4", "a=b": "x"}, 2),
    Message(3, {"dish": "apple cake", "table": " 4 ", "a=b": "y"}),
    Message(4, {"dish": "Éclair", "table": "12", "a=b": "x"}),
    Message(5, {"dish": "Bread", "table": "", "a=b": "x=y"}),
)


@pytest.mark.parametrize(
    ("conditions", "rows"),
    [
        (["table=4"], [2, 3]),
        (["table=4", "a=b=y"], [3]),
        (["table="], [5]),
        (["a=b=x=y"], [5]),
        (["dish=Bread"], [5]),
        (["copies=2"], [2]),
        ([" table = 12 "], [4]),
    ],
)
def test_rows_are_chosen_by_plain_comparison(
    conditions: list[str], rows: list[int]
) -> None:
    chosen = choose_where(MESSAGES, conditions, HEADINGS)
    assert [message.row for message in chosen] == rows


@pytest.mark.parametrize(
    ("conditions", "says"),
    [
        (["table"], "no equals sign"),
        (["tabel=4"], "Did you mean 'table'"),
        (["plum=4"], "There are dish, table"),
        (["dish=bread"], "capitals count"),
        (["table=4", "table=12"], "no row has table=4 and table=12"),
    ],
)
def test_a_condition_that_chooses_nothing_is_told(conditions: list[str], says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        choose_where(MESSAGES, conditions, HEADINGS)
    assert all(problem.place == "--where" for problem in caught.value.problems)


def test_all_bad_conditions_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        choose_where(MESSAGES, ["table", "plum=4"], HEADINGS)
    assert len(caught.value.problems) == 2


LIST = "dish,copies\nŽurek,1\napple cake,2\nÉclair,1\nBread,1\nZiti,1\n"
TAG = drawing(line("M2 2H60V30H2Z"))
TOML = '[[panel]]\nname = "front"\ntext = "{dish}"\n'


def made(folder: Path, *options: str) -> dict[str, Any]:
    put(folder, {"list.csv": LIST, "tag.svg": TAG, "tag.toml": TOML})
    done = command(
        *("make", folder / "list.csv", "--design", folder / "tag.svg"),
        *("--out", folder / "out", "--no-proof", *options),
    )
    assert done.exit_code == 0, done.output
    report: dict[str, Any] = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    return report


def rows(report: dict[str, Any]) -> list[int]:
    return [piece["row"] for piece in report["pieces"] if piece["row"] is not None]


def test_pieces_come_in_the_order_of_a_dictionary(tmp_path: Path) -> None:
    # UTS #10 with the root collation of CLDR: capitals and accents come second.
    report = made(tmp_path, "--sort", "dish")
    words = [p["texts"][0]["text"] for p in report["pieces"] if p["row"] is not None]
    assert words == ["apple cake", "apple cake", "Bread", "Éclair", "Ziti", "Žurek"]
    collator = icu.Collator.createInstance(icu.Locale("root"))
    assert words == sorted(words, key=collator.getSortKey)
    assert rows(made(tmp_path)) == [2, 3, 3, 4, 5, 6]


def test_a_choice_places_these_alone_with_the_sizes_of_all(tmp_path: Path) -> None:
    whole = made(tmp_path)
    some = made(tmp_path, "--where", "copies=2")
    assert rows(some) == [3, 3]
    sizes = {p["row"]: p["texts"][0]["size_pt"] for p in whole["pieces"] if p["texts"]}
    assert {p["texts"][0]["size_pt"] for p in some["pieces"]} == {sizes[3]}
    assert rows(made(tmp_path, "--rows", "2-4", "--sort", "dish")) == [3, 3, 4, 2]


def test_an_order_by_a_missing_heading_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="Did you mean 'dish'"):
        sort_by(MESSAGES, "dihs", HEADINGS, str)
    put(tmp_path, {"list.csv": LIST, "tag.svg": TAG, "tag.toml": TOML})
    done = command(
        *("check", tmp_path / "list.csv", "--design", tmp_path / "tag.svg"),
        *("--sort", "dihs"),
    )
    assert done.exit_code == 2
    assert done.stderr.startswith("--sort: there is no column headed 'dihs'.")


def test_a_choice_of_rows_without_copies_is_told_by_its_option(tmp_path: Path) -> None:
    put(tmp_path, {"guests.csv": "name,copies\nAda,0\nBo,1\n", "tag.svg": drawing(EDGE)})
    put(tmp_path, {"tag.toml": '[[panel]]\nname = "name"\nat = [30, 20]\n'})
    given = ("check", tmp_path / "guests.csv", "--design", tmp_path / "tag.toml")
    for option, value in (("--where", "name=Ada"), ("--rows", "2")):
        done = command(*given, option, value)
        assert done.exit_code == 2
        assert done.stderr == f"{option}: the chosen rows have 0 copies. Choose others.\n"


# Rows that are not asked for, and options that would change nothing


def test_only_errors_are_told_of_rows_that_are_not_asked_for(desk: Path) -> None:
    long = "Wilhelmina" * 30
    put(desk, {"guests.csv": f"front\nIo\n{long}\nBo \n"})
    words = ("check", desk / "guests.csv", "--design", desk / "tag.svg", "--json")
    told = json.loads(command(*words).stdout)["findings"]
    assert {3, 4} <= {one["row"] for one in told}
    few = command(*words, "--rows", "2")
    told = json.loads(few.stdout)["findings"]
    others = [(one["row"], one["severity"]) for one in told if one["row"] not in {None, 2}]
    assert others == [(3, "error")]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--dxf-curves", "splines"), "--dxf-curves: it is for dxf files"),
        (("--most-ink", "280"), "--most-ink: it is for shop and ganged files"),
        (("--most-ink", "280", "--also", "dxf"), "Write --also shop too, or leave it out."),
        (("--spare-lines", "--rows", "2"), "with --rows there are no spares"),
        (("--spare-lines", "--where", "front=Io"), "with --where there are no spares"),
    ],
)
def test_options_that_would_change_nothing_are_refused(
    words: tuple[str, ...], says: str, desk: Path
) -> None:
    given = ("make", desk / "guests.csv", "--design", desk / "tag.svg")
    done = command(*given, *words, "--out", desk / "out")
    assert done.exit_code == 2
    assert says in done.stderr
    assert not (desk / "out").exists()
