"""How much work a call does, counted: the same on a slow machine as on a fast one."""

import sys
from types import FrameType


class Effort:
    """Counts the functions of Python and of C that are called within, in this thread.

    What one call into C does within itself is not seen.
    """

    def __init__(self) -> None:
        self.calls = 0

    def __enter__(self) -> "Effort":
        self._before = sys.getprofile()
        sys.setprofile(self._note)
        return self

    def __exit__(self, *_: object) -> None:
        sys.setprofile(self._before)

    def _note(self, frame: FrameType, event: str, what: object) -> None:
        if event in ("call", "c_call"):
            self.calls += 1
