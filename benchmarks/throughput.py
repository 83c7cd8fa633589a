"""What a batch costs: the whole of `personalize make`, beside the same fit in typst.

Both run as commands of their own, in turn, on the same messages. See README.md here.
"""

import argparse
import json
import os
import platform
import shutil
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from invented import messages, write_csv
from measure import ROOT, Cost, cost_of, environment, least, output_of

HERE = Path(__file__).resolve().parent
FONTS = ROOT / "fonts_open" / "nunito"
CARD, FLAG = "card", "plant-flag"
CARD_SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="76mm" height="36mm"
 viewBox="0 0 76 36"><rect id="edge" width="76" height="36" fill="none" stroke="#000"
 stroke-width="0.2"/></svg>
"""
CARD_TOML = """name = "Plain card"
svg = "card.svg"
[lines]
Cutting = "#edge"
[margins]
outline = 3
bleed = 0
[type]
font = "Nunito Bold"
sizes = "largest"
max_pt = 40
max_lines = 5
width_share = 1
[[panel]]
name = "front"
at = [38, 18]
text = "{name}"
"""
MOST_RATIO = 3.0
"""Our whole command may take so many times the peer's time at 1,000 messages."""
MOST_GROWTH = 1.2
"""Cost per message at 10,000 over that at 1,000 which still counts as flat."""


@dataclass(frozen=True)
class Row:
    """One design with one number of messages, measured."""

    design: str
    count: int
    ours: Cost
    peer: Cost | None


class Bench:
    """A temporary folder with messages, a design, and what comes of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "card.svg").write_text(CARD_SVG, "utf-8")
        self.design = folder / "card.toml"
        self.design.write_text(CARD_TOML, "utf-8")
        self.script = folder / "peer.typ"
        shutil.copy(HERE / "peer.typ", self.script)
        self.table = folder / "messages.csv"
        self.out = folder / "out"
        self.env = environment(folder / "compiled")

    def ours(self, design: str) -> Cost:
        """Run our whole command: sheets, cut file, proof, report and all checks."""
        shutil.rmtree(self.out, ignore_errors=True)
        chosen = self.design if design == CARD else design
        command: list[str | Path] = [sys.executable, "-m", "personalize", "make"]
        # Exit code 1 would only say that a finding stands.
        command += [self.table, "--design", chosen, "--out", self.out]
        cost = cost_of(command, self.env, good=(0, 1))
        if not (self.out / "print.pdf").is_file():
            raise SystemExit(f"{design}: no sheets were made; look at its findings")
        return cost

    def peer(self) -> Cost:
        """Compile the peer's sheets."""
        return cost_of([*self._peer_command(), self.folder / "peer.pdf"], self.env)

    def _peer_command(self) -> list[str | Path]:
        return [sys.executable, HERE / "peer.py", self.script, FONTS]

    def measured(self, design: str, count: int, repeats: int, *, peer: bool) -> Row:
        """Run both in turn some times; give the least of each."""
        write_csv(self.table, count)
        ours, peers = [], []
        for _ in range(repeats):
            ours.append(self.ours(design))
            if peer:
                peers.append(self.peer())
        return Row(design, count, least(ours), least(peers) if peers else None)

    def same_work(self, count: int) -> Iterator[str]:
        """Say how far the sizes of both agree."""
        write_csv(self.table, count)
        self.ours(CARD)
        report = json.loads((self.out / "report.json").read_text("utf-8"))
        ours = [p["texts"][0] for p in report["pieces"] if p["row"] is not None]
        peer = json.loads(output_of([*self._peer_command(), "--sizes"]))
        said = messages(count)
        if [text["text"] for text in ours] != said or len(peer) != count:
            raise SystemExit("the two did not set the same messages")
        pairs = [
            (
                a["size_pt"] / b["size"],
                len(a["lines"]) == b["lines"],
                a["size_pt"],
                b["size"],
            )
            for a, b in zip(ours, peer, strict=True)
        ]
        yield f"Sizes, ours over the peer's, at {count:,} messages:"
        yield _spread("all", [p[0] for p in pairs])
        free = [p[0] for p in pairs if min(p[2:]) < 40]
        yield _spread("below the cap of 40 pt", free)
        yield _spread(
            "  and in as many lines", [p[0] for p in pairs if p[1] and min(p[2:]) < 40]
        )
        for text, size in list(zip(ours, peer, strict=True))[:6]:
            words = " / ".join(text["lines"])
            yield (
                f"  {text['size_pt']:6.2f} pt in {len(text['lines'])}, peer"
                f" {size['size']:6.2f} pt in {size['lines']:.0f}: {words}"
            )


def _spread(name: str, ratios: Sequence[float]) -> str:
    if len(ratios) < 2:
        return f"  {name}: {len(ratios)} of them"
    parts = statistics.quantiles(ratios, n=20)
    return (
        f"  {name}: {len(ratios)} of them, median {statistics.median(ratios):.4f},"
        f" 5 % under {parts[0]:.3f}, 5 % over {parts[-1]:.3f}"
    )


def _per_message(cost: Cost, count: int, fixed: Cost | None = None) -> float:
    """Milliseconds of a message, with or without what one message alone costs."""
    if fixed is None:
        return 1000 * cost.wall_s / count
    return 1000 * (cost.wall_s - fixed.wall_s) / max(1, count - 1)


HEADS = (
    "design", "messages", "ours s", "cpu s", "peak MB", "ms/msg", "beyond 1",
    "peer s", "cpu s", "peak MB", "ms/msg", "beyond 1", "ours/peer", "cpu/cpu",
)  # fmt: skip
WIDTHS = (10, 9, 8, 8, 9, 8, 10, 9, 8, 9, 8, 10, 11, 9)


def _line(cells: Sequence[str]) -> str:
    first, *rest = zip(cells, WIDTHS, strict=True)
    return f"{first[0]:{first[1]}}" + "".join(f"{c:>{w}}" for c, w in rest)


def _cells(row: Row, one: Row) -> list[str]:
    cells = [row.design, f"{row.count:,}"]
    for cost, fixed in ((row.ours, one.ours), (row.peer, one.peer)):
        if cost is None:
            cells += ["-"] * 5
            continue
        cells += [f"{cost.wall_s:.2f}", f"{cost.cpu_s:.2f}", f"{cost.peak_mb:.0f}"]
        if row is one:
            cells += ["-", "-"]
        else:
            cells.append(f"{_per_message(cost, row.count):.2f}")
            cells.append(f"{_per_message(cost, row.count, fixed):.2f}")
    if row.peer is None:
        return [*cells, "-", "-"]
    wall, cpu = (
        row.ours.wall_s / row.peer.wall_s,
        row.ours.cpu_s / row.peer.cpu_s,
    )
    return [*cells, f"{wall:.2f}", f"{cpu:.2f}"]


def _verdicts(rows: Sequence[Row]) -> Iterator[str]:
    by = {(row.design, row.count): row for row in rows}
    main = by.get((CARD, 1000))
    if main and main.peer:
        ratio = main.ours.wall_s / main.peer.wall_s
        yield (
            f"At 1,000 messages ours takes {ratio:.2f} times the peer's time"
            f" ({main.ours.cpu_s / main.peer.cpu_s:.2f} in CPU time):"
            f" {_kept(ratio, MOST_RATIO)}."
        )
    for design in (CARD, FLAG):
        if (design, 1000) not in by or (design, 10_000) not in by:
            continue
        sides: list[tuple[str, Callable[[Row], Cost | None]]] = [
            ("ours", lambda row: row.ours),
            ("the peer", lambda row: row.peer),
        ]
        for name, side in sides:
            small, large, one = (side(by[design, n]) for n in (1000, 10_000, 1))
            if small is None or large is None:
                continue
            wall = _per_message(large, 10_000) / _per_message(small, 1000)
            beyond = _per_message(large, 10_000, one) / _per_message(small, 1000, one)
            cpu = (large.cpu_s - one.cpu_s) / 9999 / ((small.cpu_s - one.cpu_s) / 999)
            told = f": {_kept(cpu, MOST_GROWTH)}" if name == "ours" else ""
            yield (
                f"{design}, {name}: a message at 10,000 costs {wall:.2f} of what it"
                f" costs at 1,000; beyond the first {beyond:.2f}, in CPU time"
                f" {cpu:.2f}{told}."
            )


def _kept(value: float, most: float) -> str:
    return f"{'kept' if value <= most else 'MISSED'} (at most {most:g})"


def pin(processors: int) -> None:
    """Keep this process, and so all that it starts, on so many processors."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:processors])


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--messages", type=int, nargs="+", default=[100, 1000, 10_000])
    parser.add_argument("--repeats", type=int, default=3, help="the least is taken")
    parser.add_argument("--peer-up-to", type=int, default=10_000)
    parser.add_argument("--flag-up-to", type=int, default=1000)
    parser.add_argument(
        "--processors",
        type=int,
        default=1,
        help="given to each run: the peer works on all it gets, ours on one (Linux only)",
    )
    given = parser.parse_args()
    pin(given.processors)
    counts = sorted({1, *given.messages})
    print(
        f"{platform.system()}, {given.processors} of {os.cpu_count()} processors, Python"
        f" {platform.python_version()}; least of {given.repeats} runs; load"
        f" {os.getloadavg()[0]:.1f} at the start"
    )
    rows: list[Row] = []
    with tempfile.TemporaryDirectory(prefix="throughput-") as temporary:
        bench = Bench(Path(temporary))
        write_csv(bench.table, 1)
        bench.ours(CARD)  # once for nothing, so that all modules are compiled
        bench.peer()
        print(_line(HEADS))
        for design in (CARD, FLAG):
            one: Row | None = None
            for count in counts:
                if design == FLAG and count > given.flag_up_to:
                    continue
                # A long run evens out by itself.
                repeats = 1 if design == FLAG and count > 100 else given.repeats
                peer = design == CARD and count <= given.peer_up_to
                row = bench.measured(design, count, repeats, peer=peer)
                one = one or row
                rows.append(row)
                print(_line(_cells(row, one)), flush=True)
        print()
        for said in _verdicts(rows):
            print(said)
        print()
        for said in bench.same_work(min(1000, counts[-1])):
            print(said)


if __name__ == "__main__":
    main()
