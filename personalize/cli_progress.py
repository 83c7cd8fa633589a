"""How far a long run is: told on the terminal, and not at all when it is short."""

import time
from collections.abc import Callable

import click

QUIET_S = 2.0
"""Nothing is said before: most runs are over by then."""
EVERY_S = 0.25
_STEPS = ("fitting", "setting")
"""A run looks at every piece twice."""
_WIDTH = 60


def shown_progress(
    clock: Callable[[], float] = time.monotonic,
    say: Callable[[str], None] = lambda words: click.echo(words, err=True, nl=False),
) -> Callable[[int, int], None]:
    """Give what is to be called with the pieces done and all pieces, step by step."""
    begun = started = said = called = clock()
    step, last, shown = 0, 0, False

    def show(done: int, total: int) -> None:
        nonlocal started, said, called, step, last, shown
        now = clock()
        if done < last or (done == last and done < total):
            step, started = min(step + 1, len(_STEPS) - 1), called
        last, called = done, now
        if done == total:
            if shown:
                say("\r" + " " * _WIDTH + "\r")
                shown = False
        elif now - begun >= QUIET_S and now - said >= EVERY_S:
            words = _words(_STEPS[step], done, total, now - started)
            say("\r" + words[:_WIDTH].ljust(_WIDTH))
            said, shown = now, True

    return show


def _words(step: str, done: int, total: int, seconds: float) -> str:
    """Say how far a step is, how fast it goes and how long it will take.

    >>> _words("setting", 50, 200, 5.0)
    'setting piece 50 of 200, 10 a second, 15 s left'
    """
    words = f"{step} piece {done} of {total}"
    if done <= 0 or seconds <= 0:
        return words
    rate = done / seconds
    left = (total - done) / rate
    long = f"{left / 60:.0f} min" if left >= 90 else f"{left:.0f} s"
    return f"{words}, {rate:.{0 if rate >= 10 else 1}f} a second, {long} left"
