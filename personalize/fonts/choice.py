"""Which font of a file is meant: the member of a collection, the place on its axes."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from personalize.errors import InputError, Problem, refuse
from personalize.fonts.files import Axes, Axis, Member, folded

_MOST_LISTED = 12


@dataclass(frozen=True, slots=True)
class Part:
    """What a design says beside a font's name, None or empty where it says nothing."""

    member: str | int | None = None
    """A name, or a number from 1."""
    instance: str | None = None
    axes: Axes = ()


@dataclass(frozen=True, slots=True)
class Chosen:
    """One font: a member of a file, at a place on its axes."""

    member: Member
    axes: Axes
    """A value for every axis; empty where the font has none."""
    said: str
    """What of that place was asked for, in words: "SemiBold", "wght 650", or nothing."""


def listed(names: Iterable[str]) -> str:
    """List names for a sentence, the first dozen of them."""
    given = list(dict.fromkeys(names))
    more = len(given) - _MOST_LISTED
    shown = ", ".join(given[:_MOST_LISTED])
    return f"{shown} and {more} more" if more > 0 else shown


def near(name: str, known: Iterable[str]) -> str | None:
    """Give the known name that is most like a name that is not known."""
    by_fold = {folded(k): k for k in known}
    found = difflib.get_close_matches(folded(name), by_fold, 1, 0.6)
    return by_fold[found[0]] if found else None


_STYLES = frozenset(
    [
        "thin",
        "light",
        "book",
        "regular",
        "roman",
        "normal",
        "medium",
        "bold",
        "black",
        "heavy",
        "italic",
        "oblique",
        "condensed",
        "narrow",
        "expanded",
        "wide",
        "semibold",
        "extrabold",
        "ultrabold",
        "demibold",
        "extralight",
        "ultralight",
        "semilight",
    ]
)
"""Last words of names that tell a weight, a width or a slant (OpenType 1.9.1, OS/2)."""


def of_family(name: str, known: Iterable[str]) -> list[str]:
    """Give the fonts of a family, where a name is the family's, or a style that it lacks.

    >>> of_family("Plum Black", ["Plum Bold", "Plum Regular", "Plumage Bold"])
    ['Plum Bold', 'Plum Regular']
    """
    words = name.casefold().split()
    while words and words[-1] in _STYLES:
        words.pop()
    family = len(words)
    styled = [(k, k.casefold().split()) for k in dict.fromkeys(known)]
    return [
        k
        for k, told in styled
        if words and told[:family] == words and all(w in _STYLES for w in told[family:])
    ]


def choose_member(
    members: Sequence[Member], asked: str | int | None, file: str, place: str
) -> Member:
    """Take the member that a design asks for. Raises InputError."""
    names = [member.full_name for member in members]
    if asked is None:
        if len(members) == 1:
            return members[0]
        raise refuse(
            place,
            f"the font file {file!r} holds {len(members)} fonts: {listed(names)}.",
            f'Choose one: font_member = "{names[0]}".',
        )
    if isinstance(asked, int):
        if 1 <= asked <= len(members):
            return members[asked - 1]
        raise refuse(
            place,
            f"font_member is {asked}, but the font file {file!r} holds"
            f" {len(members)} font{'s' * (len(members) > 1)}.",
            f"Give a number from 1 to {len(members)}, or one of {listed(names)}.",
        )
    found = [m for m in members if folded(asked) in m.names]
    found = found or [m for m in members if folded(asked) in m.families]
    if len(found) == 1:
        return found[0]
    like = near(asked, names)
    raise refuse(
        place,
        f"the font file {file!r} holds {'several fonts' if found else 'no font'} called"
        f" {asked!r}.",
        f"Did you mean {like!r}?"
        if like and not found
        else f"Use one of {listed(m.full_name for m in found or members)}.",
    )


def choose_place(member: Member, part: Part, place: str) -> Chosen:
    """Take the place on the axes that a design asks for; raises InputError with all faults.

    An instance comes first, single axes overrule it, the rest stays at its default.
    """
    if not member.axes:
        key = "font_instance" if part.instance else "font_axes"
        if part.instance or part.axes:
            raise refuse(
                place,
                f"the font {member.full_name!r} is not variable, it has one shape only.",
                f"Leave {key} out.",
            )
        return Chosen(member, (), "")
    problems: list[Problem] = []
    at = {axis.tag: axis.default for axis in member.axes}
    said = []
    if part.instance is not None:
        instance = next(
            (i for i in member.instances if folded(i.name) == folded(part.instance)), None
        )
        if instance is None:
            problems.append(_no_instance(member, part.instance, place))
        else:
            at.update(instance.axes)
            said.append(instance.name)
    for tag, value in part.axes:
        axis = next((a for a in member.axes if a.tag == tag), None)
        if axis is None or not axis.least <= value <= axis.most:
            problems.append(_off_axis(member, axis, tag, value, place))
        else:
            at[tag] = value
            said.append(f"{tag} {value:g}")
    if problems:
        raise InputError(problems)
    return Chosen(member, tuple(sorted(at.items())), " ".join(said))


def _no_instance(member: Member, asked: str, place: str) -> Problem:
    names = [instance.name for instance in member.instances]
    like = near(asked, names)
    return Problem(
        place,
        f"the font {member.full_name!r} has no instance called {asked!r}.",
        f"Did you mean {like!r}?"
        if like
        else f"Use one of {listed(names)}."
        if names
        else "Give font_axes instead, for example font_axes = { "
        f"{member.axes[0].tag} = {member.axes[0].most:g} }}.",
    )


def _off_axis(
    member: Member, axis: Axis | None, tag: str, value: float, place: str
) -> Problem:
    if axis is not None:
        return Problem(
            place,
            f"{tag} of the font {member.full_name!r} goes from {axis.least:g} to"
            f" {axis.most:g}, not to {value:g}.",
            "Give a value between them.",
        )
    ranges = listed(f"{a.tag} ({a.least:g} to {a.most:g})" for a in member.axes)
    return Problem(
        place,
        f"the font {member.full_name!r} has no axis {tag!r}.",
        f"Its axes are {ranges}." if len(member.axes) > 1 else f"Its axis is {ranges}.",
    )
