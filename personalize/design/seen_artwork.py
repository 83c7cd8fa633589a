"""What ``inspect`` says of a PDF page or a picture."""

from typing import Any

from personalize.design.file_artwork import FileArtwork
from personalize.design.inspect import size_text


def artwork_text(art: FileArtwork) -> str:
    """Say what an artwork file is: its pages or pixels, and its size."""
    width, height = art.size_mm
    size = size_text(width, height)
    if art.page is None:
        return f"{art.path.name}: {size}{art.how}, {art.px_per_inch:.0f} pixels to the inch"
    page = art.page
    boxes = ", ".join(
        f"{name} box {page.size_mm(name)[0]:.2f} x {page.size_mm(name)[1]:.2f} mm"
        for name in page.boxes
    )
    turned = f", turned by {page.rotate} degrees" if page.rotate else ""
    left_out = f"; left out: {'; '.join(page.told)}" if page.told else ""
    return (
        f"{art.path.name}: page {page.number} of {page.count}, {size}{turned};"
        f" {boxes}{left_out}"
    )


def artwork_entry(art: FileArtwork) -> dict[str, Any]:
    """Give the same for programs."""
    out: dict[str, Any] = {
        "file": art.path.name,
        "size_mm": [round(side, 4) for side in art.size_mm],
        "size_in": [round(side / 25.4, 4) for side in art.size_mm],
    }
    if art.page is None:
        return {**out, "px_per_inch": round(art.px_per_inch or 0, 2)}
    return {
        **out,
        "page": art.page.number,
        "pages": art.page.count,
        "rotate_deg": art.page.rotate,
        "boxes_mm": {
            name: [round(side, 4) for side in art.page.size_mm(name)]
            for name in art.page.boxes
        },
        "left_out": list(art.page.told),
    }
