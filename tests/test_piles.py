"""Order of pieces: sheet by sheet, or so that sheets cut as a stack give sorted piles."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.sheet.deal import Deal, Order
from tests.conftest import EDGE, command, drawing, put

TOML = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n'
ORDERS = st.sampled_from(list(Order))


@given(st.integers(1, 60), st.integers(1, 9), st.booleans(), ORDERS)
def test_every_piece_has_one_place_and_no_sheet_is_wasted(
    count: int, per_sheet: int, spares: bool, order: Order
) -> None:
    deal = Deal(count, per_sheet, order=order, spares=spares)
    batches = list(deal.batches(range(count)))
    assert sorted(n for batch in batches for n in batch) == list(range(count))
    assert len(batches) == deal.sheets == -(-count // per_sheet)
    for number, batch in enumerate(batches, 1):
        places = deal.places(number)
        assert len(batch) <= len(places) <= per_sheet
        assert spares or len(batch) == len(places)


@given(st.integers(1, 60), st.integers(1, 9), st.booleans())
def test_piles_laid_on_each_other_are_sorted(
    count: int, per_sheet: int, spares: bool
) -> None:
    deal = Deal(count, per_sheet, order=Order.PILES, spares=spares)
    stack = list(deal.batches(range(count)))
    # Cut the whole stack through: one pile for each place, first sheet on top.
    piles = [[b[k] for b in stack if k < len(b)] for k in range(per_sheet)]
    assert [piece for pile in piles for piece in pile] == list(range(count))


@given(st.integers(1, 60), st.integers(2, 9), st.integers(0, 8))
def test_a_part_used_sheet_takes_what_is_left_on_it(
    count: int, per_sheet: int, skipped: int
) -> None:
    skipped %= per_sheet
    deal = Deal(count, per_sheet, skipped, spares=False)
    batches = list(deal.batches(range(count)))
    assert [n for batch in batches for n in batch] == list(range(count))
    assert deal.places(1).start == skipped
    places = [deal.places(number) for number in range(1, len(batches) + 1)]
    assert [len(batch) for batch in batches] == [len(own) for own in places]
    assert all(own.stop <= per_sheet for own in places)


def test_no_piece_takes_no_sheet() -> None:
    assert Deal(0, 8).sheets == 0
    assert list(Deal(0, 8, 3).batches(())) == []


def pieces(out: Path) -> list[dict[str, Any]]:
    return json.loads((out / "report.json").read_text("utf-8"))["pieces"]


@pytest.mark.parametrize("rows", [(), ("--rows", "2-26")])
def test_a_run_in_piles_comes_out_sorted_and_is_cut_as_proved(
    tmp_path: Path, rows: tuple[str, ...]
) -> None:
    names = "".join(f"Ada {n}\n" for n in range(31))
    put(
        tmp_path,
        {"tag.svg": drawing(EDGE), "tag.toml": TOML, "guests.csv": f"front\n{names}"},
    )
    given = ("make", tmp_path / "guests.csv", "--design", tmp_path / "tag.toml", *rows)
    assert command(*given, "--out", tmp_path / "a", "--also", "dxf").exit_code == 0
    piled = (*given, "--order", "piles", "--out", tmp_path / "b", "--also", "dxf,picklist")
    assert command(*piled).exit_code == 0
    plain, found = pieces(tmp_path / "a"), pieces(tmp_path / "b")
    places: dict[tuple[float, ...], list[int]] = {}
    for piece in found:
        if piece["row"] is not None:
            places.setdefault(tuple(piece["at"]), []).append(piece["row"])
    order = [row for pile in places.values() for row in pile]
    assert order == [p["row"] for p in plain if p["row"] is not None]
    assert [p["sheet"] for p in found if p["row"] in {2, 3}] == [1, 2]
    cut = {path.name for path in (tmp_path / "b").glob("cut*.svg")}
    # All places are used but where rows are chosen: 25 pieces on 2 sheets leave one short.
    assert cut == ({"cut.svg", "cut-last.svg"} if rows else {"cut.svg"})


def test_a_design_may_ask_for_piles_and_the_command_line_goes_before(
    tmp_path: Path,
) -> None:
    names = "".join(f"Ada {n}\n" for n in range(31))
    asking = TOML + '[sheet]\norder = "piles"\n'
    put(
        tmp_path,
        {"tag.svg": drawing(EDGE), "tag.toml": asking, "guests.csv": f"front\n{names}"},
    )
    given = ("make", tmp_path / "guests.csv", "--design", tmp_path / "tag.toml")
    first = {}
    for name, more in {"asked": (), "plain": ("--order", "sheets")}.items():
        out = tmp_path / name
        assert command(*given, *more, "--out", out).exit_code == 0
        first[name] = [p["row"] for p in pieces(out) if p["sheet"] == 1]
    assert first["plain"] == list(range(2, 2 + len(first["plain"])))
    assert first["asked"][:2] == [2, 4]
    put(tmp_path, {"tag.toml": TOML + '[sheet]\norder = "heaps"\n'})
    done = command(*given, "--out", tmp_path / "no")
    assert done.exit_code == 2
    assert "order" in done.stderr
    assert "piles" in done.stderr
