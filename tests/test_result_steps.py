"""Whichever step fails, what stands is the whole earlier result or the whole new one."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest

from personalize.errors import InputError
from personalize.result import staged
from tests.folders import NEW, OLD, held, put

# ---- A failure at each step ----

Real = Callable[..., object]
STEPS = ["mkdir", "open", "fsync", "close", "rename", "scandir", "rmdir", "unlink", "stat"]


@contextmanager
def failing(
    patch: pytest.MonkeyPatch, at: int, error: BaseException, *, after: bool
) -> Iterator[list[str]]:
    """Have the call number `at` to the disk fail, before or after it took effect."""
    calls: list[str] = []

    def failing_step(name: str, real: Real) -> Real:
        def step(*args: object, **more: object) -> object:
            calls.append(name)
            now = len(calls) == at
            if now and not after:
                raise error
            answer = real(*args, **more)
            if now and isinstance(answer, AbstractContextManager):
                answer.__exit__(None, None, None)
            if now:
                raise error
            return answer

        return step

    with patch.context() as local:
        for name in STEPS:
            local.setattr(os, name, failing_step(name, getattr(os, name)))
        yield calls


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize(
    "error",
    [
        KeyboardInterrupt,
        lambda: OSError(errno.EIO, "input/output error"),
        lambda: OSError(errno.ENOSPC, "no space"),
        lambda: OSError(errno.EACCES, "permission denied"),
    ],
    ids=["interrupted", "broken", "full", "barred"],
)
@pytest.mark.parametrize("earlier", [True, False])
def test_a_failure_at_each_step(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    error: Callable[[], BaseException],
    *,
    earlier: bool,
    after: bool,
) -> None:
    failed = whole = 0
    for at in range(1, 400):
        base = tmp_path / str(at)
        base.mkdir()
        out = base / "picnic"
        if earlier:
            put(out, OLD)
        raised: BaseException | None = None
        with failing(monkeypatch, at, error(), after=after) as calls:
            try:
                with staged(out) as stage:
                    put(stage, NEW)
            except (KeyboardInterrupt, InputError, OSError) as caught:
                raised = caught
        left = [path.name for path in base.iterdir() if path.name != "picnic"]
        found = held(out) if out.exists() else None
        if raised is None:
            assert found == NEW, (at, calls)
            whole += 1
        elif found != NEW:
            assert found == (OLD if earlier else None), (at, calls)
            assert left == [], (at, calls)
            failed += 1
        else:
            # Only an interruption while the earlier folder is being deleted.
            assert isinstance(raised, KeyboardInterrupt), (at, calls)
            assert calls.count("rename") == 1 + earlier, (at, calls)
        if len(calls) < at:
            assert left == []
            break
    else:
        pytest.fail("the steps have no end")
    assert failed > 10
    assert whole >= 1
