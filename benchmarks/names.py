"""Names of many countries: are they set without a missing letter, and read back exactly?

    pip install faker
    python benchmarks/names.py [--count 1000] [--locales de_DE vi_VN ...]

Makes names with the package Faker (seeded, one set for each of its locales that has names
of its own), writes a print.pdf with one name to a sheet, and reads it back with poppler's
pdftotext and with pdfium. A line counts as exact when a reader gives its very characters;
marks of direction that a reader adds are left out of the comparison. Both readers take a
hyphen at the end of a line for hyphenation and join the words, even those of a name with a
hyphen of its own; pdfium gives several spaces as one. Such lines are counted as exact, and
told apart in the last column.
Faker is no dependency of the package, and no test needs it.
"""

import argparse
import json
import re
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
from faker import Faker
from faker.config import AVAILABLE_LOCALES

import personalize

SEED = 2024
PT_PER_MM = 72 / 25.4
PAPER = "160x110mm"
RIGHT_TO_LEFT = ("ar", "fa", "he", "ps", "ur")
MARKS = dict.fromkeys(map(ord, "\u200e\u200f\u202a\u202b\u202c\u202d\u202e"))
CARD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="40mm"'
    ' viewBox="0 0 100 40"><rect id="edge" x="0" y="0" width="100" height="40"'
    ' fill="none" stroke="#000"/></svg>'
)


def locales() -> list[str]:
    """Locales with names of their own, those that run right to left last."""
    own = [locale for locale in sorted(AVAILABLE_LOCALES) if _has_names(locale)]
    return sorted(own, key=lambda locale: locale.startswith(RIGHT_TO_LEFT))


def _has_names(locale: str) -> bool:
    """Whether a locale's names are not borrowed from another one's."""
    modules = (type(provider).__module__ for provider in Faker(locale).get_providers())
    return f"faker.providers.person.{locale}" in modules


def names(locale: str, count: int) -> list[str]:
    faker = Faker(locale)
    faker.seed_instance(SEED)
    return [faker.name() for _ in range(count)]


def table_of(words: Sequence[str]) -> personalize.Table:
    rows = [personalize.Row(i, (word,)) for i, word in enumerate(words, 2)]
    return personalize.Table(personalize.Source("names.csv"), ("front",), tuple(rows))


def poppler(pdf: Path, box: Sequence[float], height_mm: float) -> list[str]:
    """Text in the same box of every page."""
    x0, y0, x1, y1 = (round(v * 10) for v in box)
    command = ["pdftotext", "-r", "254", "-x", str(x0), "-W", str(x1 - x0)]
    command += ["-y", str(round(height_mm * 10) - y1), "-H", str(y1 - y0), str(pdf), "-"]
    done = subprocess.run(command, capture_output=True, check=True)
    return [page.strip("\n") for page in done.stdout.decode("utf-8").split("\f")]


def pdfium(pdf: Path, box: Sequence[float]) -> list[str]:
    left, bottom, right, top = (v * PT_PER_MM for v in box)
    pages = []
    for page in pypdfium2.PdfDocument(pdf):
        words = page.get_textpage().get_text_bounded(left, bottom, right, top)
        pages.append(words.replace("\r\n", "\n").strip("\n"))
    return pages


def measure(words: Sequence[str], folder: Path) -> tuple[tuple[int, ...], list[str]]:
    """Give how many names are set, read by poppler, by pdfium and joined at a hyphen by
    either; and examples of those read otherwise."""
    (folder / "card.svg").write_text(CARD, "utf-8")
    (folder / "card.toml").write_text("[type]\nmax_pt = 40\n", "utf-8")
    design = personalize.load_design(str(folder / "card.toml"))
    paper = personalize.parse_paper(PAPER)
    sheets = personalize.SheetRules(paper)
    options = personalize.Options(sheets=sheets, leave_out_faulty=True, proof=False)
    out = folder / "out"
    result = personalize.make(table_of(words), design, out, options)
    missing = {f.row for f in result.findings if f.rule == "missing-letter"}
    if not result.made:
        return (len(words) - len(missing), 0, 0, 0), []
    report = json.loads((out / "report.json").read_text("utf-8"))
    places: dict[tuple[float, ...], list[tuple[int, str]]] = {}
    for piece in report["pieces"]:
        for text in piece["texts"]:
            wanted = places.setdefault(tuple(text["zone_box_mm"]), [])
            wanted.append((piece["sheet"] - 1, "\n".join(text["lines"])))
    exact, others, known = [0, 0], [], 0
    for (x0, y0, x1, y1), wanted in places.items():
        # poppler drops a word whose line, not its ink, sticks out of the box.
        box = (x0 - 4, y0 - 4, x1 + 4, y1 + 4)
        by_poppler = poppler(out / "print.pdf", box, paper.height_mm)
        by_pdfium = pdfium(out / "print.pdf", box)
        for i, pages in enumerate((by_poppler, by_pdfium)):
            for sheet, want in wanted:
                got = pages[sheet].translate(MARKS)
                joined = want.replace("-\n", ("", "\x02")[i])
                joined = re.sub(" {2,}", " ", joined)
                exact[i] += got in (want, joined)
                known += got != want and got == joined
                if got not in (want, joined) and len(others) < 4:
                    others.append(f"{('poppler', 'pdfium')[i]}: {want!r} read as {got!r}")
    return (len(words) - len(missing), *exact, known), others


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--locales", nargs="*")
    told = parser.parse_args()
    print("locale        set  poppler   pdfium   joined; of", told.count, flush=True)
    for locale in told.locales or locales():
        with tempfile.TemporaryDirectory() as folder:
            words = names(locale, told.count)
            counts, others = measure(words, Path(folder))
        print(f"{locale:8}", *(f"{count:8}" for count in counts), flush=True)
        for line in others:
            print("   ", line, flush=True)


if __name__ == "__main__":
    main()
