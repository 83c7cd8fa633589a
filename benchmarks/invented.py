"""Invented messages: distinct, of one to five words, of mixed lengths as names are."""

import csv
import random
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

SEED = 2024
WORD_COUNTS = {1: 15, 2: 45, 3: 22, 4: 12, 5: 6}
"""Of a hundred messages, how many have so many words."""


def _parts(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_STARTS = _parts("""
A Ba Be Bri Ca Chri Da De E Flo Ga Gri Ha He I Ja Jo Ka Kri La Lu Ma Me Mi Na Ni O
Pa Pe Ra Ro Sa Si Ste Ta The To U Va Wi Zo A Be Ca Da E Ha Jo La Ma Ni Ro Sa Ta É Jó
Ma Ló Ní Ó Pé Thé Ü Ža Ča Ří Ål Ö Şe Ła
""")
_MIDDLES = _parts("""
b bel c chi d dri f g gui l la lla li m mi mo n na nna r ri rro s si ste t ti v vi z
dé fé lí né ró ží ği ña
""")
_ENDS = _parts("""
a ah an ana e el ela en er ette i ia in ina io is ka le na ne o on or us y é ía ová
só ý
""")
_FAMILY = _parts("""
bach berg burn by castellanos cliffe dale escu feather field ford garth hurst land
ley lund mann moor owski quist ridge sen sey shaw son stone thorpe wald wick wood
worth dóttir iño oğlu tón
""")
_PARTICLES = _parts("da de del di la van von")


def messages(count: int) -> list[str]:
    """Give the first `count` of one endless sequence; the same in every run."""
    return list(islice(_distinct(random.Random(SEED)), count))


def write_csv(path: Path, count: int) -> None:
    """Write messages as a table with the headings that the designs ask for."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["name", "back"])
        writer.writerows([message, ""] for message in messages(count))


def _distinct(rng: random.Random) -> Iterator[str]:
    seen = set()
    while True:
        message = _message(rng)
        if message not in seen:
            seen.add(message)
            yield message


def _message(rng: random.Random) -> str:
    (count,) = rng.choices(list(WORD_COUNTS), list(WORD_COUNTS.values()))
    words = [_given(rng)]
    while len(words) < count:
        last = len(words) == count - 1
        family = last or rng.random() < 0.4
        if family:
            words.append(_family(rng))
        elif rng.random() < 0.3:
            words.append(rng.choice(_PARTICLES))
        else:
            words.append(_given(rng))
    return " ".join(words)


def _given(rng: random.Random) -> str:
    middles = rng.choices(_MIDDLES, k=rng.choice((0, 1, 1, 1, 2)))
    return "".join((rng.choice(_STARTS), *middles, rng.choice(_ENDS)))


def _family(rng: random.Random) -> str:
    name = rng.choice(_STARTS) + rng.choice(_MIDDLES) + rng.choice(_FAMILY)
    return f"{name}-{_family(rng)}" if rng.random() < 0.1 else name
