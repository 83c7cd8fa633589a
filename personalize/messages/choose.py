"""Choose and order messages by their words: plain comparison, no expressions."""

from collections.abc import Callable, Sequence
from difflib import get_close_matches
from typing import Any

from personalize.errors import InputError, Problem, refuse
from personalize.messages.reserved import reserved
from personalize.messages.table import Message

WHERE, SORT = "--where", "--sort"


def choose_where(
    messages: Sequence[Message], conditions: Sequence[str], headings: Sequence[str]
) -> tuple[Message, ...]:
    """Keep the messages that meet all conditions.

    Parameters
    ----------
    messages
        All of the run.
    conditions
        Each ``HEADING=VALUE``: the cell under the heading is the value, but for spaces at
        both ends. An equals sign in a heading is taken as part of it where such a heading
        exists.
    headings
        Of the table.

    Raises
    ------
    InputError
        A condition cannot be read, names no heading, or no message meets all of them.
    """
    problems: list[Problem] = []
    wanted: list[tuple[str, str]] = []
    for condition in conditions:
        told = _split(condition, headings)
        if isinstance(told, Problem):
            problems.append(told)
        else:
            wanted.append(told)
    if problems:
        raise InputError(problems)
    kept = tuple(
        message
        for message in messages
        if all(_cell(message, heading) == value for heading, value in wanted)
    )
    if not kept:
        said = " and ".join(conditions)
        raise refuse(WHERE, f"no row has {said}.", "Check the words, capitals count.")
    return kept


def sort_by(
    messages: Sequence[Message],
    heading: str,
    headings: Sequence[str],
    key: Callable[[str], Any],
) -> tuple[Message, ...]:
    """Order messages by the words under a heading; equal ones stay as they were.

    `key` gives what to compare of a text (a collation key). Raises InputError when there
    is no such heading.
    """
    if (problem := _unknown(SORT, heading, headings)) is not None:
        raise InputError(problem)
    return tuple(sorted(messages, key=lambda message: key(_cell(message, heading))))


def _split(condition: str, headings: Sequence[str]) -> tuple[str, str] | Problem:
    """Cut a condition at the equals sign that leaves a known heading before it."""
    parts = condition.split("=")
    if len(parts) < 2:
        return Problem(
            WHERE,
            f"{condition!r} has no equals sign.",
            "Write a heading and a value, such as table=4.",
        )
    for at in range(len(parts) - 1, 0, -1):
        heading = "=".join(parts[:at]).strip()
        if _unknown(WHERE, heading, headings) is None:
            return heading, "=".join(parts[at:]).strip()
    problem = _unknown(WHERE, parts[0].strip(), headings)
    assert problem is not None
    return problem


def _unknown(place: str, heading: str, headings: Sequence[str]) -> Problem | None:
    if heading in headings:
        return None
    near = get_close_matches(heading, headings, 1, 0.6)
    do = f"Did you mean {near[0]!r}?" if near else f"There are {', '.join(headings)}."
    return Problem(place, f"there is no column headed {heading!r}.", do)


def _cell(message: Message, heading: str) -> str:
    kind = reserved(heading)
    if kind is not None:
        return message.own(kind)
    return message.words[heading].strip()
