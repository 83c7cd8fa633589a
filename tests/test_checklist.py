"""The list for the evening: just the steps that hold for the sheets at hand."""

from dataclasses import replace
from html import unescape
from pathlib import Path

import personalize
from personalize.checklist import checklist
from personalize.sheet.hand import ByHand
from personalize.sheet.rules import SheetRules
from tests.conftest import SAMPLES, command

RULES = SheetRules(personalize.parse_paper("Letter"))
TAG = personalize.load_design("herb-tag")


def steps(rules: SheetRules, *designs: personalize.Design) -> str:
    return "\n".join(checklist(rules, designs or (TAG,)))


def test_every_list_begins_with_the_printer() -> None:
    for way in (None, *ByHand):
        told = steps(replace(RULES, by_hand=way))
        for words in ("plain paper", "Scale 100 %", "(Letter)", "100 mm rules", "ink dry"):
            assert words in told


def test_a_machine_is_set_and_hands_are_told_how_to_cut() -> None:
    machine, scissors = steps(RULES), steps(replace(RULES, by_hand=ByHand.SCISSORS))
    for words in ("material", "arrow", "marks whole", "blade"):
        assert words in machine
        assert words not in scissors
    assert "grey line" in scissors
    assert "grey line" not in machine
    assert "fold each" in steps(replace(RULES, by_hand=ByHand.FOLD_FIRST))


def test_what_is_turned_over_or_mirrored_is_told() -> None:
    assert "print down" in steps(replace(RULES, face_down=True))
    assert "marks whole" not in steps(replace(RULES, face_down=True))
    assert "Mirroring switched off" in steps(replace(RULES, mirror=True))
    assert "Mirroring" not in steps(RULES)


def test_paper_is_named_in_its_order() -> None:
    tag, card = replace(TAG, stock="green paper"), replace(TAG, stock="white card")
    assert "(Letter: green paper, then white card)" in steps(RULES, tag, card)
    assert "Each sheet with the cut file" in steps(RULES, tag, card)


def test_it_is_told_with_the_sheets_and_on_the_proof(tmp_path: Path) -> None:
    asked = [SAMPLES / "picnic.csv", "--design", "herb-tag", "--rows", "2-4"]
    asked += ["--out", tmp_path / "out"]
    said = command("make", *asked).output
    proof = unescape((tmp_path / "out" / "proof.html").read_text("utf-8"))
    for step in checklist(SheetRules(personalize.parse_paper("A4")), [TAG]):
        assert f"[ ] {step}" in said
        assert step in proof
    assert "[ ]" not in command("check", *asked[:-2]).output
