"""How much ink artwork lays down in one place, all inks together, as it will be printed.

Colours in four inks are summed as they stand; those of a screen are converted by the
profile of the press, where it is given. A spot ink counts as one. What lies on another is
not added to it: an ink that overprints may come to more.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from personalize.checks.pdf_samples import OddError, picture_samples, shading_samples
from personalize.design.artwork_render import has_picture, render_artwork
from personalize.design.design import Artwork
from personalize.design.pdf_seen import Colour, Image, Seen, Shading, seen_on
from personalize.design.pictures import small_copy
from personalize.design.png import png_pixels
from personalize.design.press_colours import Press

PX_PER_MM = 4.0
"""In which artwork of a screen's colours is looked at."""
LEAST_MM2 = 1.0
"""An ink is told of where there is this much of it in a picture: single pixels do not set
off. Judgement."""
PICTURE_PX = 400
"""Width of the copy of a row's picture that is looked at."""
_GREY = frozenset({"/DeviceGray", "/G", "/CalGray"})
_SCREEN = frozenset({"/DeviceRGB", "/RGB", "/CalRGB"})
_PALETTE = (pikepdf.Name.Indexed, pikepdf.Name.I)
_FOUR = frozenset({"/DeviceCMYK", "/CMYK"})
_SPACES = {"L": "/G", "RGB": "/RGB", "RGBA": "/RGB", "CMYK": "/CMYK"}

Floats = NDArray[np.float64]


@dataclass(slots=True)
class InkLook:
    """What was measured of one artwork or picture."""

    most: float = 0.0
    """The most ink in one place: 3 for 300 %."""
    screen: bool = False
    """Whether colours of a screen are in it that could not be converted."""
    odd: bool = False
    """Whether there is something in it that we cannot measure."""
    converted: bool = False
    """Whether `most` comes of colours that the profile converts."""


def ink_of_artwork(art: Artwork, press: Press | None) -> InkLook:
    """Measure an artwork."""
    meter = _Meter(press)
    if art.page is not None:
        meter.page(art.page)
    elif has_picture(art.svg):
        drawn = render_artwork(art.svg, PX_PER_MM, name=art.file, fonts=art.fonts)
        meter.pixels(png_pixels(drawn), 1 / PX_PER_MM**2)
    return meter.look


def ink_of_picture(
    path: Path, size_mm: tuple[float, float], press: Press | None
) -> InkLook:
    """Measure a row's own picture.

    Raises as `personalize.design.pictures.picture_size` does.
    """
    meter = _Meter(press)
    wide = PICTURE_PX
    high = max(1, round(wide * size_mm[1] / size_mm[0]))
    colours, small = small_copy(path, (high, wide))
    meter.pixels(small, size_mm[0] * size_mm[1] / (high * wide), colours)
    return meter.look


@dataclass(slots=True)
class _Meter:
    """Keeps the most ink that was seen."""

    press: Press | None
    look: InkLook = field(default_factory=InkLook)

    def page(self, page: bytes) -> None:
        """Measure all that a PDF of one page paints."""
        try:
            self._all(seen_on(page))
        except Exception:  # of whatever kind: the file is at fault
            self.look.odd = True

    def _all(self, seen: Iterable[Seen]) -> None:
        for one in seen:
            try:
                self._one(one)
            except Exception:  # of whatever kind, as above
                self.look.odd = True

    def _one(self, one: Seen) -> None:
        if isinstance(one, Colour):
            # Of a palette colours are told by number, samples of pictures as shares of 255.
            is_index = isinstance(one.space, pikepdf.Array) and one.space[0] in _PALETTE
            self._add(one.space, np.array([one.values]) / (255 if is_index else 1))
        elif isinstance(one, Shading):
            self._add(one.shading.ColorSpace, shading_samples(one.shading))
        elif not one.is_mask:  # a stencil has the colour that was told before it
            self._picture(one)

    def _picture(self, one: Image) -> None:
        space, samples = picture_samples(one.stream)
        if len(samples):
            pixel = one.size_mm[0] * one.size_mm[1] / (one.size_px[0] * one.size_px[1])
            share = one.size_px[0] * one.size_px[1] / len(samples)
            self._add(space, samples, pixel * share)

    def pixels(
        self, drawn: NDArray[np.uint8], pixel_mm2: float, colours: str = "RGBA"
    ) -> None:
        """Measure pixels (rows, columns, channels), those with opacity on white paper."""
        samples = drawn / 255
        if colours == "RGBA":
            samples = samples[:, :, :3] * samples[:, :, 3:] + 1 - samples[:, :, 3:]
        space = _SPACES[colours]
        self._add(space, samples.reshape(-1, samples.shape[2]), pixel_mm2)

    def _add(self, space: Any, samples: Floats, pixel_mm2: float = LEAST_MM2) -> None:
        """Take the most ink that an area of `LEAST_MM2` has of samples (n, channels)."""
        sums, converted = self._sums(space, np.clip(samples, 0, 1))
        if sums is None:
            self.look.screen = True
            return
        at = max(0, len(sums) - int(np.ceil(LEAST_MM2 / pixel_mm2 - 1e-9)))
        most = float(np.partition(sums, at)[at])
        if most > self.look.most:
            self.look.most, self.look.converted = most, converted

    def _sums(self, space: Any, samples: Floats) -> tuple[Floats | None, bool]:
        """Sum the inks of each sample; None where no profile converts them.

        Also tells whether one did. Raises OddError for colours that we cannot measure.
        """
        name = str(space[0] if isinstance(space, pikepdf.Array) else space)
        if name == "/ICCBased":
            name = {1: "/G", 3: "/RGB", 4: "/CMYK"}[int(space[1].N)]
        if name in _GREY:
            return 1 - samples[:, 0], False
        if name in _FOUR:
            return samples[:, :4].sum(axis=1), False
        if name in _SCREEN:
            if self.press is None:
                return None, False
            colours = np.round(samples[:, :3] * 255).astype(np.uint8)
            return self.press.inks(colours).sum(axis=1), True
        if name == "/Separation":
            times = {"/All": 4.0, "/None": 0.0}.get(str(space[1]), 1.0)
            return samples[:, 0] * times, False
        if name == "/DeviceN":
            real = np.array([str(one) != "/None" for one in space[1]])
            return (samples * real).sum(axis=1), False
        if name == "/Indexed":
            return self._sums(*_looked_up(space, samples))
        raise OddError


def _looked_up(space: Any, samples: Floats) -> tuple[Any, Floats]:
    """Give the space and colours that indices stand for (ISO 32000-1, 8.6.6.3)."""
    table = space[3]
    data = table.read_bytes() if isinstance(table, pikepdf.Stream) else bytes(table)
    count = int(space[2]) + 1
    packed = np.frombuffer(data, np.uint8)
    colours = packed[: len(packed) // count * count].reshape(count, -1) / 255
    # Indices come as shares of 255.
    at = np.clip(np.round(samples[:, 0] * 255).astype(int), 0, count - 1)
    return space[1], colours[at]
