"""What in a list may be a slip of its writer: names twice, numbers for names, no headings.

Nothing is changed for it. Words are compared as `compared` has them.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence

from personalize.finding import Finding, Severity
from personalize.messages.grid import numbers_told, runs_of
from personalize.messages.heading import is_number
from personalize.messages.reserved import reserved
from personalize.messages.same import compared
from personalize.messages.table import Row, Table
from personalize.rules import Rule

_NAME = frozenset(
    [
        "name",
        "names",
        "guest",
        "guests",
        "person",
        "people",
        "first",
        "firstname",
        "grower",
        "child",
        "kid",
        "pupil",
        "student",
        "nom",
        "prénom",
        "invité",
        "nombre",
        "invitado",
        "nome",
        "convidado",
        "ospite",
        "vorname",
        "gast",
        "gäste",
        "naam",
        "navn",
        "namn",
        "imię",
        "imie",
        "jméno",
        "név",
        "nimi",
    ]
)
"""Words of headings over names of people. Judgement, from memory."""
_FAMILY = frozenset(
    [
        "surname",
        "family",
        "last",
        "lastname",
        "initial",
        "familia",
        "apellido",
        "apellidos",
        "cognome",
        "nachname",
        "familienname",
        "achternaam",
        "etternavn",
        "efternamn",
        "nazwisko",
        "příjmení",
        "sobrenome",
    ]
)
"""Words of headings over what tells people of one name apart."""
_WORDS = re.compile(r"[^\W\d_]+")
_WHOLE = re.compile(r"\d{1,6}")
_DATE = re.compile(r"\d{1,4}[-./]\d{1,2}[-./]\d{1,4}")
_ADDRESS = re.compile(r"\S+@\S+\.\S+")
_MOST_TOLD = 20
"""Findings of one rule that are told one by one; the rest is counted. Judgement."""


def doubts(table: Table, used: Collection[str]) -> Iterator[Finding]:
    """Tell of slips in the columns that a design uses (by their headings)."""
    columns = {
        heading: [(row, row.cells[i]) for row in table.rows]
        for i, heading in enumerate(table.headings)
        if heading in used and not reserved(heading)
    }
    yield from _like_data(table)
    for heading, cells in columns.items():
        names = _names(heading, _NAME)
        if names:
            yield from _numbers(table, heading, cells)
        yield from _most(list(_twins(heading, cells)), Rule.NEAR_TWINS)
        if names:
            yield from _most(list(_same(table, heading, cells)), Rule.SAME_NAME)


def _names(heading: str, words: Collection[str]) -> bool:
    return any(word.casefold() in words for word in _WORDS.findall(heading))


def _like_data(table: Table) -> Iterator[Finding]:
    """Tell of headings that look like what stands under headings."""
    odd = [h for h in table.headings if is_number(h) or _is_entry(h)]
    if odd:
        row = table.source.heading_row or 1
        yield Finding(
            Rule.HEADING_LIKE_DATA,
            Severity.WARNING,
            f"The heading {odd[0]!r} looks like an entry of the list: is row {row} the row"
            " of headings?",
            "Put headings above the list, or say which row has them with --heading-row.",
            row,
            odd[0],
            figures={"headings": len(odd)},
        )


def _is_entry(text: str) -> bool:
    return bool(_DATE.fullmatch(text.strip()) or _ADDRESS.fullmatch(text.strip()))


_Cells = Sequence[tuple[Row, str]]


def _numbers(table: Table, heading: str, cells: _Cells) -> Iterator[Finding]:
    filled = [cell.strip() for _, cell in cells if cell.strip()]
    if len(filled) > 1 and all(_WHOLE.fullmatch(cell) for cell in filled):
        others = [h for h in table.headings if h and h != heading and not reserved(h)]
        other = f" ({', '.join(others[:5])})" if others else ""
        yield Finding(
            Rule.NUMBERS_AS_WORDS,
            Severity.WARNING,
            f"The column {heading!r} holds whole numbers only, such as {filled[0]}: they"
            " are printed as the words of the pieces.",
            "If it says how many, head it copies; if another column has the words, name it"
            f" in the design{other}.",
            column=heading,
            figures={"cells": len(filled)},
        )


def _groups(cells: _Cells) -> Mapping[str, _Cells]:
    groups: dict[str, list[tuple[Row, str]]] = {}
    for row, cell in cells:
        if cell.strip():
            groups.setdefault(compared(cell), []).append((row, cell))
    return {key: group for key, group in groups.items() if len(group) > 1}


def _twins(heading: str, cells: _Cells) -> Iterator[Finding]:
    """Tell of cells that differ to a program and not, or hardly, to a person."""
    for group in _groups(cells).values():
        forms = dict.fromkeys(cell for _, cell in group)
        if len(forms) < 2:
            continue
        first = group[0]
        second = next(one for one in group if one[1] != first[1])
        how = _difference(first[1], second[1])
        yield Finding(
            Rule.NEAR_TWINS,
            Severity.NOTE,
            f"Row {first[0].number} has {first[1]!r} and row {second[0].number} has"
            f" {second[1]!r}: they differ only in {how}.",
            "Write them alike if they are one, or so that the eye tells them apart.",
            second[0].number,
            heading,
            figures={"forms": len(forms), "rows": len(group)},
        )


def _difference(one: str, other: str) -> str:
    if one.strip() == other.strip():
        return "spaces at their ends"
    if one.casefold().strip() == other.casefold().strip():
        return "capitals"
    return "the way that accents are typed"


def _same(table: Table, heading: str, cells: _Cells) -> Iterator[Finding]:
    """Tell of names that stand in several rows, and offer what tells them apart."""
    family = next(
        (i for i, h in enumerate(table.headings) if h != heading and _names(h, _FAMILY)),
        None,
    )
    for group in _groups(cells).values():
        if len({cell for _, cell in group}) > 1:
            continue
        numbers = [row.number for row, _ in group]
        runs = [(str(a), str(b)) for a, b in runs_of(numbers)]
        name = group[0][1].strip()
        yield Finding(
            Rule.SAME_NAME,
            Severity.NOTE,
            f"{name!r} stands in {numbers_told('row', runs)}.",
            f"If they are several people, add an initial to each{_offer(group, family)}; if"
            " one was meant, take a row out.",
            numbers[1],
            heading,
            figures={"rows": len(numbers)},
        )


def _offer(group: _Cells, family: int | None) -> str:
    """Offer names with an initial, where another column gives different ones."""
    if family is None:
        return ""
    initials = [row.cells[family].strip()[:1] for row, _ in group]
    if not all(initials) or len(set(initials)) < len(initials):
        return ""
    made = [f"{cell.strip()} {i}." for (_, cell), i in zip(group, initials, strict=True)]
    return f" ({', '.join(made[:3])})"


def _most(found: Sequence[Finding], rule: Rule) -> Iterator[Finding]:
    """Tell the first ones, and count the rest in one more."""
    yield from found[:_MOST_TOLD]
    rest = found[_MOST_TOLD:]
    if rest:
        rows = [one.row for one in rest if one.row is not None]
        runs = [(str(a), str(b)) for a, b in runs_of(sorted(rows))]
        yield Finding(
            rule,
            rest[0].severity,
            f"{len(rest)} more of this kind, at {numbers_told('row', runs)}.",
            rest[0].do,
            column=rest[0].column,
            figures={"more": len(rest)},
        )
