"""What changed since an earlier report: pieces added, gone, said or set otherwise.

Rows move when somebody sorts a list or puts one in between, so pieces are found again by
their words first and by their row after that.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from personalize.design.design import Design
from personalize.earlier_report import read_report
from personalize.errors import refuse
from personalize.finding import Finding, Severity
from personalize.job import Job
from personalize.rules import Rule
from personalize.type.compose import ComposedText

AGAINST = "--against"
_SAME_PT = 0.01


class Change(StrEnum):
    """How a piece changed."""

    ADDED = "added"
    WORDS = "changed-words"
    LOOK = "changed-look"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class TextSeen:
    """One text of a piece, as a report tells of it."""

    place: tuple[str, str | None]
    """Panel and block."""
    words: str
    size_pt: float
    look: tuple[str, ...]
    """Font, colour, rim, turn, and then the lines."""


@dataclass(frozen=True, slots=True)
class PieceSeen:
    """One piece, as a report tells of it."""

    design: str
    row: int
    copy: int
    version: str
    picture: str
    texts: tuple[TextSeen, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """Words of its texts, in their order."""
        return tuple(text.words for text in self.texts)

    def looks_like(self, other: "PieceSeen") -> bool:
        """Whether two pieces of the same words are printed alike."""
        return (self.version, self.picture) == (other.version, other.picture) and all(
            (a.place, a.look) == (b.place, b.look) and abs(a.size_pt - b.size_pt) < _SAME_PT
            for a, b in zip(self.texts, other.texts, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Changed:
    """A piece that changed."""

    kind: Change
    now: PieceSeen | None
    """None where it is gone."""
    before: PieceSeen | None
    """None where it was added."""


def earlier_pieces(entries: Iterable[Mapping[str, Any]]) -> tuple[PieceSeen, ...]:
    """Read the `pieces` of a report; spares are left out.

    Raises KeyError, TypeError or ValueError where they are damaged.
    """
    seen = []
    for entry in entries:
        if entry["row"] is None:
            continue
        piece = (int(entry["row"]), int(entry["copy"]))
        back = entry.get("back")
        for side, picture in ((entry, entry["picture"]), (back, None)):
            if side is not None:
                texts = tuple(map(_text_seen, side["texts"]))
                version = side["version"] or ""
                name = str(side["design"])
                seen.append(PieceSeen(name, *piece, version, picture or "", texts))
    return tuple(seen)


def _text_seen(entry: Mapping[str, Any]) -> TextSeen:
    look = (entry["font"], entry["colour"], entry["rim"] or "none")
    turn = f"{float(entry['turn_deg']):.3f}"
    lines = tuple(map(str, entry["lines"]))
    place = (str(entry["panel"]), entry["block"])
    return TextSeen(
        place, str(entry["text"]), float(entry["size_pt"]), (*look, turn, *lines)
    )


def read_pieces(path: Path) -> tuple[PieceSeen, ...]:
    """Read a report.json, or the one in a folder. Raises InputError where it is none."""
    do = "Give the report.json of an earlier `make`, or its folder."
    name, report = read_report(path, AGAINST)
    try:
        pieces = earlier_pieces(report["pieces"])
    except (KeyError, TypeError, ValueError):
        raise refuse(AGAINST, f"the pieces in {name} are damaged.", do) from None
    if not pieces:
        raise refuse(AGAINST, f"{name} has no pieces: a proof alone has none.", do)
    return pieces


def piece_seen(
    design: Design,
    row: int,
    copy: int,
    chosen: tuple[str, str],
    texts: Sequence[ComposedText],
) -> PieceSeen:
    """Tell of a piece of this run as a report would; `chosen` is version and picture."""
    seen = []
    for text in texts:
        panel = design.panel(text.panel)
        rim = text.rim.kind if text.rim else "none"
        turn = f"{round(text.turn_deg, 6):.3f}"
        look = (text.font, text.colour.css, rim, turn, *text.said)
        seen.append(TextSeen((panel.of, panel.block), text.text, text.size_pt, look))
    return PieceSeen(design.name, row, copy, *chosen, tuple(seen))


def compared(job: Job, against: Sequence[PieceSeen]) -> Job:
    """Tell among a job's findings what changed since earlier pieces."""
    now = []
    for unit in job.units:
        texts, chosen = job.composed(unit), unit.chosen
        drawn = (
            chosen.version_name,
            chosen.picture.file if chosen.picture else "",
        )
        now += [
            piece_seen(job.design, unit.message.row, copy, drawn, texts)
            for copy in unit.copies
        ]
    return replace(job, findings=(*job.findings, *changes_as_findings(against, now)))


def changes(old: Sequence[PieceSeen], new: Sequence[PieceSeen]) -> tuple[Changed, ...]:
    """Compare two batches, design by design; pieces in neither way changed are left out.

    Those of the new batch come in its order, those that are gone after them.
    """
    designs = {piece.design for piece in new}
    left = [piece for piece in old if piece.design in designs]
    partner: dict[int, PieceSeen] = {}
    for same in (_same_place, _same_words, _same_row):
        waiting: dict[tuple[object, ...], list[PieceSeen]] = {}
        for piece in left:
            waiting.setdefault(same(piece), []).append(piece)
        for nth, piece in enumerate(new):
            found = waiting.get(same(piece)) if nth not in partner else None
            if found:
                partner[nth] = found.pop(0)
        left = [piece for pieces in waiting.values() for piece in pieces]
    out = [
        changed
        for nth, piece in enumerate(new)
        if (changed := _compared(partner.get(nth), piece)) is not None
    ]
    gone = sorted(left, key=lambda piece: (piece.row, piece.copy))
    return (*out, *(Changed(Change.GONE, None, piece) for piece in gone))


def _same_place(piece: PieceSeen) -> tuple[object, ...]:
    return (piece.design, piece.row, piece.copy, piece.words)


def _same_words(piece: PieceSeen) -> tuple[object, ...]:
    return (piece.design, piece.words)


def _same_row(piece: PieceSeen) -> tuple[object, ...]:
    return (piece.design, piece.row, piece.copy)


def _compared(before: PieceSeen | None, now: PieceSeen) -> Changed | None:
    if before is None:
        return Changed(Change.ADDED, now, None)
    if before.words != now.words:
        return Changed(Change.WORDS, now, before)
    return None if now.looks_like(before) else Changed(Change.LOOK, now, before)


def changes_as_findings(
    old: Sequence[PieceSeen], new: Sequence[PieceSeen]
) -> tuple[Finding, ...]:
    """Tell of changes as notes, once for all copies of a row."""
    told: dict[tuple[str, int | None, str], Finding] = {}
    for one in changes(old, new):
        says, do = _sentence(one)
        row = one.now.row if one.now is not None else None
        finding = Finding(Rule(one.kind), Severity.NOTE, says, do, row)
        told.setdefault((one.kind, row, says), finding)
    return tuple(told.values())


def _sentence(one: Changed) -> tuple[str, str]:
    look = "Look at it in the proof."
    if one.now is None:
        assert one.before is not None
        words = _shown(one.before)
        says = f"Gone since the earlier report: {words}, which was row {one.before.row}."
        return says, "Nothing to do if it is not wanted any more."
    if one.before is None:
        return f"Added since the earlier report: {_shown(one.now)}.", look
    if one.kind is Change.WORDS:
        return f"It said {_shown(one.before)} in the earlier report.", look
    parts = ", ".join(_apart(one.before, one.now))
    return f"It looks otherwise than in the earlier report: {parts}.", look


def _apart(before: PieceSeen, now: PieceSeen) -> Iterator[str]:
    """Name what is not as it was, each once."""
    said = []
    if before.version != now.version:
        said.append(f"version {before.version or 'none'}, now {now.version or 'none'}")
    if before.picture != now.picture:
        said.append("another picture")
    for a, b in zip(before.texts, now.texts, strict=True):
        if abs(a.size_pt - b.size_pt) >= _SAME_PT:
            said.append(f"{a.size_pt:.1f} pt, now {b.size_pt:.1f} pt")
        names = ("font", "colour", "rim", "turn")
        pairs = zip(names, a.look[:4], b.look[:4], strict=True)
        said += [f"another {name}" for name, x, y in pairs if x != y]
        if a.look[len(names) :] != b.look[len(names) :]:
            said.append("other lines")
        if a.place != b.place:
            said.append("another place")
    yield from dict.fromkeys(said)


def _shown(piece: PieceSeen) -> str:
    return " / ".join(map(repr, dict.fromkeys(piece.words))) or "a piece without words"
