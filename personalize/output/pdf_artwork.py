"""What is drawn under the words, stored once each: artwork as forms, pictures as images.

Forms are in the frame of the piece in pt, images in the unit square (ISO 32000-1, 8.10
and 8.9).
"""

import io
import zlib
from collections.abc import Mapping

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from personalize.design.artwork_render import compile_artwork
from personalize.design.chosen import Picture
from personalize.design.design import Artwork, PictureArea
from personalize.design.picture_page import colour_space
from personalize.design.pictures import Pixels, pixels_of
from personalize.geometry.zone import Region
from personalize.output.pdf_content import TO_PT, matrix, path, polygon
from personalize.units import PT_PER_MM, number


class ArtworkBook:
    """Artwork and pictures of a document; each is stored when it is first drawn."""

    def __init__(self, pdf: pikepdf.Pdf, printed: Mapping[str, Region]) -> None:
        """Begin; nothing of a design is `printed` past its region, by its name."""
        self._pdf = pdf
        self._clips = {name: polygon(region, TO_PT) for name, region in printed.items()}
        self._names: dict[object, str] = {}
        self.resources = Dictionary()

    def artwork(self, design: str, artwork: Artwork) -> str:
        """Give the operator that draws an artwork of a design."""
        key = (design, artwork.file, artwork.svg, artwork.fonts, artwork.page)
        if key not in self._names:
            self._keep(key, "Artwork", self._form(artwork, self._clips[design]))
        return f"/{self._names[key]} Do"

    def picture(self, design: str, picture: Picture, area: PictureArea) -> str:
        """Give the operators that draw a picture, in the frame of the piece in pt."""
        key = (picture.path, picture.width_mm)
        if key not in self._names:
            pixels = pixels_of(picture.path, picture.width_mm)
            self._keep(key, "Picture", self._image(pixels))
        return (
            f"q\n{self._clips[design]}\nW n\n{path(area.contour, TO_PT)}\nW n\n"
            f"{matrix(TO_PT @ picture.place)} cm /{self._names[key]} Do\nQ"
        )

    def _keep(self, key: object, kind: str, stored: pikepdf.Object) -> None:
        count = sum(name.startswith(kind) for name in self._names.values())
        name = f"{kind}{count + 1}" if count else kind
        self._names[key] = name
        self.resources[f"/{name}"] = stored

    def _form(self, artwork: Artwork, clip: str) -> pikepdf.Object:
        """Store an artwork in the frame of the piece, clipped to what is printed."""
        x0, y0, x1, y1 = artwork.box_mm
        page = artwork.page
        if page is None:
            page = compile_artwork(
                artwork.svg, x1 - x0, y1 - y0, name=artwork.file, fonts=artwork.fonts
            )
        with pikepdf.open(io.BytesIO(page)) as source:
            inner = self._pdf.copy_foreign(source.pages[0].as_form_xobject())
        corner = (x0 * PT_PER_MM, y0 * PT_PER_MM)
        content = (
            f"q\n{clip}\nW n\n"
            f"1 0 0 1 {number(corner[0])} {number(corner[1])} cm /Picture Do\nQ"
        )
        box = [corner[0], corner[1], x1 * PT_PER_MM, y1 * PT_PER_MM]
        return self._pdf.make_indirect(
            Stream(
                self._pdf,
                content.encode("ascii"),
                Type=Name.XObject,
                Subtype=Name.Form,
                BBox=Array([pikepdf.Object.parse(number(v).encode()) for v in box]),
                Resources=Dictionary(XObject=Dictionary(Picture=inner)),
            )
        )

    def _image(self, pixels: Pixels) -> pikepdf.Object:
        image = self._samples(pixels, colour_space(self._pdf, pixels))
        if pixels.is_inverted:
            image.Decode = Array([1, 0] * 4)
        if pixels.alpha is not None:
            size = (pixels.width, pixels.height)
            mask = Pixels(*size, pixels.alpha, is_jpeg=False, channels=1, alpha=None)
            image.SMask = self._samples(mask, Name.DeviceGray)
        return image

    def _samples(self, pixels: Pixels, space: pikepdf.Object) -> pikepdf.Object:
        data = pixels.data if pixels.is_jpeg else zlib.compress(pixels.data, 6)
        stream = Stream(
            self._pdf,
            b"",
            Type=Name.XObject,
            Subtype=Name.Image,
            Width=pixels.width,
            Height=pixels.height,
            ColorSpace=space,
            BitsPerComponent=8,
            Interpolate=True,
        )
        stream.write(data, filter=Name.DCTDecode if pixels.is_jpeg else Name.FlateDecode)
        return self._pdf.make_indirect(stream)
