"""Compare artwork as we print it with a browser, on drawings by others.

    python -m benchmarks.artwork [FOLDER]

Fetches open artwork packages from the npm registry as `benchmarks.svg_reader` does, takes
drawings with gradients, clips, masks, filters, blend modes and text from each, and prints
by how much the picture in our PDF differs from what a browser paints: the mean absolute
difference of all pixels, 0 to 255. Needs npm and a browser.
"""

import sys
import tarfile
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from lxml import etree

from benchmarks.svg_reader import fetched
from personalize.design.svg_xml import local
from personalize.errors import InputError
from tests.artwork_help import printed
from tests.browser import TILE_PX, photograph

PACKAGES = {
    "flag-icons@7.5.0": "MIT",
    "devicon@2.17.0": "MIT",
    "circle-flags@2.8.3": "MIT",
    "@lobehub/fluent-emoji-modern@1.0.0": "MIT",
    "@bybas/weather-icons@2.0.0": "MIT",
    "@lobehub/icons-static-svg@1.95.1": "MIT",
    "material-icon-theme@5.38.1": "MIT",
    "svg-injector@1.1.3": "MIT",
}
"""Packages and their licences. Nothing of them is kept here."""
EACH = 18
MOST_BYTES = 300_000
FEATURES = {
    "gradient": b"Gradient",
    "clip": b"clip-path",
    "mask": b"<mask",
    "filter": b"<filter",
    "blend": b"mix-blend",
    "text": b"<text",
    "pattern": b"<pattern",
    "marker": b"<marker",
    "opacity": b"opacity",
}
GOOD, WORST = 1.0, 5.0
"""Wanted: the mean of all under the first, none above the second."""
SCALE = 2
_MOVING = ("animate", "animateTransform", "animateMotion", "set", "script")


def drawings(archive: Path) -> Iterator[tuple[str, bytes]]:
    """Give up to EACH drawings of an archive, evenly spread over those with most in."""
    with tarfile.open(archive) as opened:
        found: list[tuple[int, str, bytes]] = []
        for one in opened.getmembers():
            if not one.isfile() or not one.name.endswith(".svg") or one.size > MOST_BYTES:
                continue
            inside = opened.extractfile(one)
            assert inside is not None
            data = inside.read()
            # Rare features first: opacity and gradients are in nearly every drawing.
            rare = sum(word in data for word in list(FEATURES.values())[2:8])
            if any(word in data for word in FEATURES.values()):
                found.append((-rare, one.name, data))
    found.sort()
    half = found[: max(EACH * 3, len(found) // 3)]
    step = max(1, len(half) // EACH)
    for _, name, data in half[::step][:EACH]:
        yield f"{archive.stem.rsplit('-', 1)[0]} {'/'.join(name.split('/')[-2:])}", data


def tile(data: bytes) -> str | None:
    """Write a drawing anew as a square of `TILE_PX`, standing still; None for none."""
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False))
    except etree.XMLSyntaxError:
        return None
    if local(root) != "svg":
        return None
    if root.get("viewBox") is None:
        sides = [(root.get(name) or "").removesuffix("px") for name in ("width", "height")]
        if not all(side.replace(".", "", 1).isdigit() for side in sides):
            return None
        root.set("viewBox", f"0 0 {sides[0]} {sides[1]}")
    root.set("width", f"{TILE_PX}px")
    root.set("height", f"{TILE_PX}px")
    for element in [e for e in root.iter() if local(e) in _MOVING]:
        element.getparent().remove(element)
    return str(etree.tostring(root, encoding="unicode"))


def main() -> None:
    """Fetch, compare and print."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    files: dict[str, str] = {}
    for package in PACKAGES:
        for name, data in drawings(fetched(package, folder)):
            text = tile(data)
            if text is not None:
                files[name] = text
    seen = photograph(files, Path(tempfile.mkdtemp(dir=folder)), SCALE)
    misses: dict[str, float] = {}
    pictured: dict[str, int] = {}
    for name, text in files.items():
        try:
            ours = printed(text, name, TILE_PX * SCALE)
        except InputError as error:
            print(f"   refused  {name}: {error.problems[0].says}")
            continue
        misses[name] = float(np.abs(ours.pixels - seen[name]).mean())
        pictured[name] = len(ours.pictures)
    for name, miss in sorted(misses.items(), key=lambda one: -one[1]):
        data = files[name].encode()
        has = ", ".join(key for key, word in FEATURES.items() if word in data)
        parts = pictured[name]
        told = f"; {parts} printed as picture{'s' if parts > 1 else ''}" if parts else ""
        print(f"{miss:10.3f}  {name}: {has}{told}")
    all_of = np.array(list(misses.values()))
    above = [f"{(all_of > limit).sum()} above {limit:g}" for limit in (GOOD, WORST)]
    print(
        f"{len(files)} drawings, {len(files) - len(misses)} refused; mean"
        f" {all_of.mean():.3f}, median {np.median(all_of):.3f}, worst {all_of.max():.3f},"
        f" {', '.join(above)};"
        f" {sum(count > 0 for count in pictured.values())} with a part as picture"
    )


if __name__ == "__main__":
    main()
