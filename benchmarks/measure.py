"""What a command costs: wall time, CPU time and peak memory, its own children included."""

import os
import subprocess
import sys
import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
_PER_MB = 1e6 if sys.platform == "darwin" else 1e3
"""Units of ru_maxrss in a megabyte."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one run took."""

    wall_s: float
    cpu_s: float
    peak_mb: float
    """Of the largest process; the others add little (a worker that draws the artwork)."""


def environment(cache: Path) -> dict[str, str]:
    """Keep compiled modules in a folder of ours, as an installed package has them."""
    env = {**os.environ, "PYTHONPYCACHEPREFIX": str(cache)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    return env


def cost_of(
    command: Sequence[str | Path], env: Mapping[str, str], good: Collection[int] = (0,)
) -> Cost:
    """Run a command from the root of the project; SystemExit with its words if it fails."""
    begin = time.perf_counter()
    with subprocess.Popen(
        command, cwd=ROOT, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    ) as process:
        assert process.stderr is not None
        said = process.stderr.read()
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begin
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in good:
        raise SystemExit(f"exit {process.returncode}: {command}\n{said.decode()}")
    return Cost(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / _PER_MB)


def output_of(command: Sequence[str | Path]) -> str:
    """Run a command and give what it prints."""
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True)
    return done.stdout.decode()


def least(costs: Sequence[Cost]) -> Cost:
    """Give what the machine's other work disturbed least, and the highest peak."""
    return Cost(
        min(cost.wall_s for cost in costs),
        min(cost.cpu_s for cost in costs),
        max(cost.peak_mb for cost in costs),
    )
