"""What the proof of a large batch costs a browser: size, first paint, scrolling.

Makes the proof of invented messages and opens it from disk in Debian's Chromium, in turn
with a peer: a page of as many bytes that holds the same words and nothing else. See
README.md here.
"""

import argparse
import shutil
import statistics
import subprocess
import sys
import tempfile
from html import escape
from itertools import cycle
from pathlib import Path

from invented import write_csv
from playwright.sync_api import Page, sync_playwright

MOST_MB = 15.0
MOST_PAINT_MS = 1000.0
FRAME_MS = 1000 / 60
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
PAINTED = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime"
READY = "() => performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
SCROLL = """async (steps) => {
  const times = [];
  let last = await new Promise(requestAnimationFrame);
  for (let i = 0; i < steps; i++) {
    scrollBy(0, 300);
    const now = await new Promise(requestAnimationFrame);
    times.push(now - last);
    last = now;
  }
  return times;
}"""


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--messages", type=int, default=1000)
    parser.add_argument("--design", default="plant-flag")
    parser.add_argument("--repeats", type=int, default=3)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        page = _made(Path(folder), chosen.messages, chosen.design)
        size_mb = page.stat().st_size / 1e6
        print(f"{chosen.messages} messages, {chosen.design}: {size_mb:.1f} MB")
        plain = _plain(page, Path(folder) / "messages.csv")
        (paints, readies, frames), peer = _browsed((page, plain), chosen.repeats)
    paint, ready = min(paints), min(readies)
    late = sum(frame > 2 * FRAME_MS for frame in frames) / len(frames)
    print(f"first paint {paint:.0f} ms, all read {ready:.0f} ms (least of {len(paints)})")
    frames.sort()
    print(
        f"scrolling: median frame {statistics.median(frames):.1f} ms, 95 of 100 within"
        f" {frames[int(0.95 * len(frames))]:.1f} ms, {late:.0%} later than two frames"
    )
    print(
        f"a plain page of that size: first paint {min(peer[0]):.0f} ms, all read"
        f" {min(peer[1]):.0f} ms; ours over it {paint / min(peer[0]):.2f} and"
        f" {ready / min(peer[1]):.2f} times"
    )
    good = size_mb < MOST_MB and paint < MOST_PAINT_MS
    print(f"targets ({MOST_MB:g} MB, {MOST_PAINT_MS:g} ms): {'met' if good else 'MISSED'}")


def _made(folder: Path, count: int, design: str) -> Path:
    table, out = folder / "messages.csv", folder / "out"
    write_csv(table, count)
    command = [sys.executable, "-m", "personalize", "make", table]
    # Exit code 1 would only say that a finding stands.
    subprocess.run([*command, "--design", design, "--out", out], check=False)
    return out / "proof.html"


def _plain(page: Path, table: Path) -> Path:
    """Write a page as large as another, of nothing but the messages, again and again."""
    words = table.read_text("utf-8").splitlines()[1:]
    out = ["<!DOCTYPE html><meta charset='utf-8'><title>Words</title>"]
    left = page.stat().st_size - len(out[0])
    for text in cycle(words):
        out.append(f"<p>{escape(text)}</p>\n")
        left -= len(out[-1].encode())
        if left <= 0:
            break
    peer = table.with_name("plain.html")
    peer.write_text("".join(out), "utf-8")
    return peer


Measured = tuple[list[float], list[float], list[float]]
"""First paints, times until all is read, and frames while it is scrolled, in ms."""


def _browsed(pages: tuple[Path, ...], repeats: int) -> list[Measured]:
    """Open some pages in turn, each time in a new browser."""
    out: list[Measured] = [([], [], []) for _ in pages]
    program = next(filter(None, map(shutil.which, NAMES)))
    for page, (paints, readies, frames) in zip(pages * repeats, cycle(out), strict=False):
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=program, args=["--no-sandbox"]
            )
            tab: Page = browser.new_page(viewport={"width": 1280, "height": 900})
            tab.goto(page.as_uri())
            tab.wait_for_timeout(500)
            paints.append(tab.evaluate(PAINTED))
            readies.append(tab.evaluate(READY))
            frames += tab.evaluate(SCROLL, 200)
            browser.close()
    return out


if __name__ == "__main__":
    main()
