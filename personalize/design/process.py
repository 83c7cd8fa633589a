"""Run a module of ours that works on what nobody vouches for, in a process of its own."""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

LIMIT_S = 90.0
"""Longest that it may take. Ordinary artwork takes 0.02 s, the slowest filter met in 87
drawings by others 36 s."""


@dataclass(frozen=True, slots=True)
class Done:
    """What a process came to."""

    code: int | None
    """Its exit code; None where it took longer than `LIMIT_S`."""
    made: bytes
    told: str
    """What it said on standard error."""


def work(
    script: str,
    task: Mapping[str, object],
    data: bytes,
    files: Mapping[str, bytes] | None = None,
) -> Done:
    """Run a file of Python with a task, as one line of JSON, and data after it.

    Its working folder holds `files` by their names, and nothing else.
    """
    paths = [path for path in sys.path if os.path.isabs(path)]
    # As a file, so that the rest of the package is not loaded. -P: no module that lies
    # beside it or in the working folder is taken for a library.
    command = [sys.executable, "-P", script]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        for name, content in (files or {}).items():
            Path(folder, name).write_bytes(content)
        try:
            done = subprocess.run(
                command,
                input=json.dumps(task).encode() + b"\n" + data,
                capture_output=True,
                cwd=folder,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
                timeout=LIMIT_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return Done(None, b"", "")
    told = done.stderr.decode("utf-8", "replace").strip()
    return Done(done.returncode, done.stdout, told)
