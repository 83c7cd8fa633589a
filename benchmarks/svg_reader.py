"""Compare our SVG reader with a browser on drawings by others.

    python -m benchmarks.svg_reader [FOLDER]

Fetches open artwork packages from the npm registry with ``npm pack`` into FOLDER (else a
temporary one; what is there already is not fetched again), takes the same number of
drawings from each, evenly spread, and compares every shape and every ``use`` with what a
browser says of it: box and 25 points along it. Needs npm and a browser.
"""

import subprocess
import sys
import tarfile
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from personalize.design.svg import SvgDocument, parse_svg
from personalize.design.svg_walk import Leaf
from personalize.design.svg_xml import local
from personalize.units import MM_PER_PX
from tests.browser import Page, Seen, browse
from tests.svg_compare import CLOSE_MM, miss_mm, outside_mm

PACKAGES = {
    "bootstrap-icons@1.13.2": "MIT",
    "flag-icons@7.5.0": "MIT",
    "circle-flags@2.8.3": "MIT",
    "devicon@2.17.0": "MIT",
    "@twemoji/svg@15.0.0": "artwork CC BY 4.0",
    "svg-country-flags@1.2.10": "public domain",
    "cryptocurrency-icons@0.18.1": "CC0 1.0",
    "@tabler/icons@3.52.0": "MIT",
}
"""Packages and their licences. Nothing of them is kept here."""
EACH = 30
BATCH = 40
MOST_BYTES = 300_000
"""Larger drawings are passed over, so that a batch is one page for the browser."""


def fetched(package: str, folder: Path) -> Path:
    """Give the archive of a package, fetched if it is not there."""
    name, version = package.rsplit("@", 1)
    archive = folder / f"{name.lstrip('@').replace('/', '-')}-{version}.tgz"
    if not archive.is_file():
        command = ["npm", "pack", "--silent", "--ignore-scripts", package]
        subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=300)
    return archive


def drawings(archive: Path) -> Iterator[tuple[str, bytes]]:
    """Give EACH drawings of an archive, evenly spread over its names."""
    with tarfile.open(archive) as opened:
        files = sorted(
            (one.name, one)
            for one in opened.getmembers()
            if one.isfile() and one.name.endswith(".svg") and one.size < MOST_BYTES
        )
        step = max(1, len(files) // EACH)
        for name, member in files[::step][:EACH]:
            inside = opened.extractfile(member)
            assert inside is not None
            yield f"{archive.stem} {Path(name).name}", inside.read()


def by_element(document: SvgDocument) -> dict[int, list[Leaf]]:
    """Sort what is drawn by its element; what a ``use`` draws by the outermost use."""
    out: dict[int, list[Leaf]] = {}
    for leaf in document.leaves:
        way = list(leaf.way.up())
        uses = [at for at in way if local(document.tree.elements[at]) == "use"]
        if leaf.contours is not None:
            out.setdefault(uses[-1] if uses else way[0], []).append(leaf)
    return out


def misses(document: SvgDocument, page: Page) -> Iterator[tuple[str, float]]:
    """Give for each element by how many mm it differs.

    Clip paths are left aside: a browser's boxes and points know nothing of them. The box
    that it gives of a turned shape in a ``use`` is one round the shape's own box, so
    there ours has to lie within it.
    """
    size = abs(document.width_mm - page.width_px * MM_PER_PX)
    yield "page", size if document.size_stated else 0.0
    found = by_element(document)
    for key, one in page.found.items():
        leaves = found.get(int(key), [])
        tag = local(document.tree.elements[int(key)])
        if one.points is not None and not leaves:
            yield f"{tag} not drawn", 1.0
        if leaves and not one.drawn:
            yield f"{tag} drawn", 1.0
        elif leaves and abs(one.to_px.determinant) > 1e-12:
            yield tag, _miss_mm(document, leaves, one)


def _miss_mm(document: SvgDocument, leaves: list[Leaf], one: Seen) -> float:
    contours, turned = [], False
    for leaf in leaves:
        to_page = document.page_from_root @ leaf.to_root
        contours += [c.transformed(to_page) for c in leaf.contours or ()]
        rel = one.to_px.inverse() @ to_page
        turned |= min(abs(rel.a), abs(rel.b)) > 1e-9 * max(abs(rel.a), abs(rel.b))
    if one.points is not None or not turned:
        return miss_mm(contours, one, document.height_mm)
    return outside_mm(contours, one, document.height_mm)


def main() -> None:
    """Fetch, compare and print."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    files: dict[str, bytes] = {}
    for package in PACKAGES:
        files |= dict(drawings(fetched(package, folder)))
    worst: dict[str, float] = {}
    kinds: Counter[str] = Counter()
    shapes, spent = 0, 0.0
    names = list(files)
    for first in range(0, len(names), BATCH):
        batch = names[first : first + BATCH]
        texts = {name: files[name].decode("utf-8-sig") for name in batch}
        pages = browse(texts, Path(tempfile.mkdtemp(dir=folder)), every=True)
        for name in batch:
            started = time.perf_counter()
            document = parse_svg(files[name], name)
            spent += time.perf_counter() - started
            for tag, miss in misses(document, pages[name]):
                shapes += 1
                worst[name] = max(worst.get(name, 0.0), miss)
                if miss >= CLOSE_MM:
                    kinds[f"{name}: {tag}"] += 1
    far = np.array(sorted(worst.values()))
    print(f"{len(files)} drawings, {shapes} elements, {spent:.1f} s to read them")
    print(f"within {CLOSE_MM} mm: {(far < CLOSE_MM).sum()} drawings")
    print(f"worst of each: median {np.median(far):.5f} mm, largest {far[-1]:.5f} mm")
    for said, count in kinds.most_common(40):
        print(f"  {said} x {count}, {worst[said.rpartition(':')[0]]:.4f} mm at most")


if __name__ == "__main__":
    main()
