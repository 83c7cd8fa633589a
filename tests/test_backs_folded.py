"""The back of a piece that folds is its inside."""

import json
from pathlib import Path

import pytest

import personalize
from personalize.errors import InputError
from tests.conftest import command, drawing, line, put
from tests.two_sided import BACK, BEHIND, FRONT, MESSAGES, TOML, TURNED_EDGE, tag

FOLD = '<path class="fold" d="M5 10H55" fill="none" stroke="#000"/>'


def test_words_inside_a_fold_stand_as_it_lies_open(tmp_path: Path) -> None:
    """A tent: its far wall is read from the other side, its inside is not."""
    fold = '<path class="fold" d="M5 20H55" fill="none" stroke="#000"/>'
    toml = (
        '[lines]\nCutting = "#edge"\nCreasing = ".fold"\n[margins]\nbleed = 0\n'
        '[[panel]]\nname = "near"\nat = [30, 28]\ntext = "{front}"\n'
        '[[panel]]\nname = "far"\nat = [30, 12]\nfaces = "near"\ntext = "{front}"\n[back]\n'
        '[[back.panel]]\nname = "note"\nat = [30, 12]\n'
    )
    put(tmp_path, {"tent.svg": drawing(line("M5 5H55V35H5Z") + fold), "ell.toml": ""})
    put(tmp_path, {"ell.toml": 'svg = "tent.svg"\n' + toml, "list.csv": MESSAGES})
    design = personalize.load_design(tmp_path / "ell.toml")
    back = design.back
    assert back is not None
    assert [panel.turn_deg for panel in design.panels] == [0, 180]
    assert [panel.turn_deg for panel in back.panels] == [0]
    x0, y0, x1, y1 = back.panels[0].zone.box
    # 4 mm from the outline (2.5 and 1.5), 3.5 from the crease at y 20 (2 and 1.5).
    assert (x0, y0, x1, y1) == pytest.approx((9, 23.5, 51, 31), abs=0.03)
    words = ("make", tmp_path / "list.csv", "--design", tmp_path / "ell.toml")
    done = command(
        *words,
        "--two-sided",
        "level",
        "--paper",
        "A5",
        "--no-proof",
        "--out",
        tmp_path / "out",
    )
    assert done.exit_code in (0, 1), done.output
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    told = [one for one in report["findings"] if one["rule"] == "words-inside-fold"]
    assert [one["design"] for one in told] == ["tent, back"]
    stick = "[stick]\ndiameter_mm = 3\n"
    put(tmp_path, {"ell.toml": 'svg = "tent.svg"\n' + stick + toml})
    with pytest.raises(InputError, match="shut round a stick: words on its back would not"):
        personalize.load_design(tmp_path / "ell.toml")


def test_a_drawing_of_the_inside_may_show_the_crease_or_not(tmp_path: Path) -> None:
    toml = TOML.replace('"#edge"', '"#edge"\nCreasing = ".fold"')
    toml = toml.replace("[15, 12]", "[15, 7]")
    for fold in (FOLD, ""):
        put(tmp_path, {"other.svg": drawing(BEHIND + line(TURNED_EDGE) + fold)})
        own = BACK.replace("show", "svg").replace("#behind", "other.svg")
        if not fold:
            own = own[: own.index("[[back.panel]]")]
        back = personalize.load_design(tag(tmp_path, toml + own, FRONT + FOLD)).back
        assert back is not None
        assert len(back.creases) == 1
        assert len(back.panels) == bool(fold)
