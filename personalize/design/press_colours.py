"""Colours of a screen as a press would print them, by the profile of its maker.

With `pictures` the only user of Pillow, whose part this is stands on a library of its own
(LittleCMS).
"""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

_INTENT = ImageCms.Intent.RELATIVE_COLORIMETRIC
_FLAGS = ImageCms.Flags.BLACKPOINTCOMPENSATION
"""How print shops mostly convert. Common practice, no source."""


class UnusableProfileError(ValueError):
    """A profile that nothing can be converted with."""


class Press:
    """What a press makes of the colours of a screen (sRGB, IEC 61966-2-1)."""

    def __init__(self, profile: bytes) -> None:
        """Read the profile (ICC.1) of a press with four inks.

        Raises UnusableProfileError where it has no tables to convert with, or is for
        another number of inks.
        """
        try:
            self._transform = ImageCms.buildTransform(
                ImageCms.createProfile("sRGB"),
                ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                "RGB",
                "CMYK",
                _INTENT,
                _FLAGS,
            )
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            raise UnusableProfileError("it cannot convert colours to four inks") from None

    def inks(self, colours: NDArray[np.uint8]) -> NDArray[np.float64]:
        """Give the shares of the four inks, from 0 to 1: shape (n, 3) becomes (n, 4)."""
        # One row of an image may not be longer than 65,500 px.
        wide = 4096
        count = len(colours)
        padded = np.zeros((-(-count // wide) * wide, 3), np.uint8)
        padded[:count] = colours
        image = Image.fromarray(padded.reshape(-1, wide, 3))
        made = ImageCms.applyTransform(image, self._transform)
        assert made is not None  # only a change in place gives nothing
        shares: NDArray[np.float64] = np.asarray(made).reshape(-1, 4)[:count] / 255
        return shares
