"""What an eye does not see in the words: told exactly, cleaned exactly, letters never."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.finding import Finding, Severity
from personalize.messages.garbled import guess_of
from personalize.messages.table import Row, Source, Table
from personalize.messages.words import cleaned, word_findings
from tests.effort import Effort


def table(*cells: str, headings: tuple[str, ...] = ("name", "dish")) -> Table:
    rows = tuple(Row(n, (cell, "Jam")) for n, cell in enumerate(cells, 2))
    return Table(Source("guests.csv", heading_row=1), headings, rows)


def found(cell: str) -> list[Finding]:
    return list(word_findings(table(cell)))


def clean(cell: str) -> str:
    return cleaned(table(cell))[0].rows[0].cells[0]


NOTE, WARNING = Severity.NOTE, Severity.WARNING


@pytest.mark.parametrize(
    ("cell", "rule", "severity", "codes", "count", "plain"),
    [
        (" Ida", "spaces", NOTE, "U+0020", 1, "Ida"),
        ("Ida ", "spaces", NOTE, "U+0020", 1, "Ida"),
        ("Ida  May", "spaces", NOTE, "U+0020", 2, "Ida May"),
        ("Ida   May", "spaces", NOTE, "U+0020", 2, "Ida May"),
        ("Ida\tMay", "spaces", NOTE, "U+0009", 1, "Ida May"),
        ("Ida\n May", "spaces", NOTE, "U+0020", 1, "Ida\nMay"),
        ("Ida \nMay", "spaces", NOTE, "U+0020", 1, "Ida\nMay"),
        ("Anna\u00a0Maria", "spaces", NOTE, "U+00A0", 1, "Anna Maria"),
        ("a\u3000b", "spaces", NOTE, "U+3000", 1, "a b"),
        ("a\u2003b", "spaces", NOTE, "U+2003", 1, "a b"),
        ("so\u00adft", "invisible-characters", NOTE, "U+00AD", 1, "soft"),
        ("a\u200bb", "invisible-characters", WARNING, "U+200B", 1, "ab"),
        ("a\u200db", "invisible-characters", WARNING, "U+200D", 1, "ab"),
        ("a\u200cb", "invisible-characters", WARNING, "U+200C", 1, "ab"),
        ("\ufeffIda", "invisible-characters", WARNING, "U+FEFF", 1, "Ida"),
        ("a\u200fb\u200f", "invisible-characters", WARNING, "U+200F", 2, "ab"),
        ("\u202dIda\u202c", "invisible-characters", WARNING, "U+202D U+202C", 2, "Ida"),
        ("\u202eשלום", "invisible-characters", WARNING, "U+202E", 1, "שלום"),
        ("a\u2060b", "invisible-characters", WARNING, "U+2060", 1, "ab"),
        ("x\u2028y", "invisible-characters", WARNING, "U+2028", 1, "x y"),
        ("\u3164", "invisible-characters", WARNING, "U+3164", 1, ""),
        ("Ida\u2800", "invisible-characters", WARNING, "U+2800", 1, "Ida"),
        ("Ida\U000e0041", "invisible-characters", WARNING, "U+E0041", 1, "Ida"),
        ("Ida\x07", "control-characters", WARNING, "U+0007", 1, "Ida"),
        ("I\x0bd\x85a", "control-characters", WARNING, "U+000B U+0085", 2, "Ida"),
        ("I\x1b[0mda", "control-characters", WARNING, "U+001B", 1, "I[0mda"),
    ],
)
def test_each_kind_is_told_with_its_code_points(
    cell: str, rule: str, severity: Severity, codes: str, count: int, plain: str
) -> None:
    (finding,) = found(cell)
    assert (finding.rule, finding.severity) == (rule, severity)
    assert (finding.row, finding.column) == (2, "name")
    assert finding.figures == {"code points": codes, "count": count}
    assert codes.split()[0] in finding.says
    assert finding.do
    assert clean(cell) == plain
    assert found(plain) == []


# RFC 5892, appendices A.1 and A.2 (joiners); UTS #51 (emoji); The Unicode Standard, 9.2
# (Arabic signs); the rest common practice, no source.
@pytest.mark.parametrize(
    "cell",
    [
        "",
        "Ida May",
        "Ida\nMay",
        "Zoë Jürgen ÅSA ÄÖÜ",
        "Łódź Dvořák Ünal",
        "Иван Петров",
        "می\u200cخواهم",
        "क्\u200dष",
        "க்\u200cஷ",
        "ක්\u200dය",
        "👩\u200d🍳",
        "👩🏽\u200d🍳",
        "❤\ufe0f",
        "🏴\U000e0067\U000e0062\U000e007f",
        "שלום\u200f!",
        "\u2067שלום\u2069 Ida",
        "\u0600١٢",
        "山田\u3000太郎",
        "ไทย\u200bไทย",
        "10\u00a0€",
        "1\u202f000",
        "Ça va\u00a0?",
        "«\u00a0Ida\u00a0»",
        "l’été à l’île",
        "“Élan” – «É»",
        "IRMÃ”",
        "Œuvre naïve",
        "東京",
        "10 €",
        "Віра",
        "Ελλάδα",
        "a`b",
    ],
)
def test_what_does_its_work_is_left_in_peace(cell: str) -> None:
    assert found(cell) == []
    assert cleaned(table(cell)) == (table(cell), ())


@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman", "cp1250", "cp437", "cp850"])
@pytest.mark.parametrize("word", ["Zoë", "Jürgen", "François", "Søren", "“Hi”", "Łódź"])
def test_utf_8_read_with_another_table_is_guessed_back(word: str, encoding: str) -> None:
    garbled = word.encode().decode(encoding, "surrogateescape")
    # A byte without a letter in the table passes as its control code (WHATWG Encoding).
    garbled = "".join(
        chr(ord(c) - 0xDC00) if c >= "\udc00" and c < "\ue000" else c for c in garbled
    )
    (finding,) = found(f"{garbled} and Ida")
    assert (finding.rule, finding.severity) == ("wrong-decoding", WARNING)
    assert repr(f"{word} and Ida") in finding.says
    assert clean(garbled) == garbled


@pytest.mark.parametrize(
    ("cell", "guess"),
    [
        ("ZoÃ« and Zoë", "Zoë and Zoë"),
        ("ZoÃƒÂ«", "Zoë"),
        ("Ð˜Ð²Ð°Ð½", "Иван"),
        ("ðŸŽ‰", "🎉"),
        ("å®¶", "家"),
        ("Ã\u00ad", "í"),
        ("ZoГ«", "Zoë"),
        ("\x93Hi\x94", None),
    ],
)
def test_guesses(cell: str, guess: str | None) -> None:
    assert guess_of(cell) == guess


def test_a_lost_letter_is_told_without_a_guess() -> None:
    (finding,) = found("J\ufffdrgen")
    assert finding.rule == "wrong-decoding"
    assert "lost" in finding.says
    assert clean("J\ufffdrgen") == "J\ufffdrgen"


def test_a_cell_can_have_several_faults() -> None:
    assert [f.rule for f in found(" I\x07d\u200ba")] == [
        "control-characters",
        "invisible-characters",
        "spaces",
    ]


def test_a_heading_is_looked_at_too() -> None:
    (finding,) = word_findings(table("Ida", headings=("na\u200bme", "dish")))
    assert (finding.row, finding.column) == (1, "na\u200bme")
    made, told = cleaned(table("Ida", headings=("na\u200bme", "dish")))
    assert made.headings == ("name", "dish")
    assert told == ("Taken out of column 'name', row 1: characters that cannot be seen.",)


def test_cleaning_never_makes_two_headings_one() -> None:
    made, _ = cleaned(table("Ida ", headings=("dish\u200b", "dish")))
    assert made.headings == ("dish\u200b", "dish")
    assert made.rows[0].cells == ("Ida", "Jam")


def test_many_of_one_kind_are_one_finding() -> None:
    few = word_findings(table(*["Ida "] * 20))
    assert [finding.row for finding in few] == list(range(2, 22))
    (finding,) = word_findings(table(*["Ida "] * 21))
    assert finding.figures["cells"] == 21
    assert finding.says.startswith("In rows 2-22: the cell has spaces")


def test_cleaning_tells_each_cell_and_changes_no_other() -> None:
    before = table("Ida ", "Bo", " Cy\u200b", "ZoÃ« ")
    made, told = cleaned(before)
    assert [row.cells for row in made.rows] == [
        ("Ida", "Jam"),
        ("Bo", "Jam"),
        ("Cy", "Jam"),
        ("ZoÃ« ", "Jam"),
    ]
    assert told == (
        "Taken out of column 'name', row 4: characters that cannot be seen.",
        "Taken out of column 'name', rows 2, 4: stray spaces.",
    )
    assert made.source.decisions == told
    assert [row.number for row in made.rows] == [row.number for row in before.rows]


def letters(text: str) -> list[str]:
    blank = "\u115f\u1160\u3164\uffa0\u2800"
    return [c for c in text if unicodedata.category(c)[0] not in "ZC" and c not in blank]


@settings(deadline=None)  # a slow machine is no fault
@given(
    st.text(
        st.characters(codec="utf-8", exclude_characters="\0\r")
        | st.sampled_from(" \t\n\u00a0\u00ad\u200b\u200c\u200d\u200e\u2028\ufeffÃ«é"),
        max_size=20,
    )
)
def test_cleaning_keeps_every_letter_and_leaves_nothing_to_tell(cell: str) -> None:
    made = clean(cell)
    assert letters(made) == letters(cell)
    if guess_of(cell) is None and "\ufffd" not in cell:
        assert clean(made) == made
        assert {f.rule for f in found(made)} <= {"wrong-decoding"}
    if not found(cell):
        assert made == cell


def test_a_hundred_thousand_clean_rows_cost_little() -> None:
    names = table(*(f"Jürgen Zoë {n}" for n in range(100_000)))
    # One call a row; looking at each cell by itself would take many.
    with Effort() as effort:
        assert word_findings(names) == ()
    assert effort.calls < 2 * 100_000
