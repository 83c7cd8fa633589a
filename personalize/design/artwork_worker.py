"""Run a renderer in a process of its own: what it dies of does not kill the run.

Renderers are native code; on hostile drawings they were seen to abort, to overflow the
stack and to take minutes. `personalize.design.artwork` starts this module and sets it a
time limit. Standard input: one line of JSON (``to`` is "pdf", "png" or "page", and its
arguments), then the SVG, or the PDF. Standard output: the file. Exit code `REFUSED` with a
sentence on standard error when the renderer does not take the drawing.
"""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

REFUSED = 4
"""Exit code for a drawing that the renderer refuses (1 is Python's own)."""
_MEMORY_BYTES = 4 * 1024**3
"""Most address space: many times what a sheet of artwork takes, less than a machine has."""

_FONTS: Any = ["."]
"""The working folder holds the fonts that text may take, and no others: those of the
machine would make other bytes on another machine."""

_TYPST = b"""
#set document(date: none)
#set page(width: float(sys.inputs.width) * 1mm, height: float(sys.inputs.height) * 1mm,
  margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: 100%, height: 100%, fit: "stretch")
"""
_TYPST_PAGE = b"""
#set document(date: none)
#set page(width: float(sys.inputs.width) * 1mm, height: float(sys.inputs.height) * 1mm,
  margin: 0pt, fill: none)
#image("page.pdf", width: 100%, height: 100%, fit: "stretch")
"""


def to_pdf(svg: str, width: float, height: float) -> bytes:
    """Set the drawing on a PDF page of `width` times `height` mm, as vectors."""
    import typst  # here: only this process has to survive it

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=_FONTS
    )
    inputs = {"svg": svg, "width": repr(width), "height": repr(height)}
    made: Any = typst.compile(
        _TYPST,
        format="pdf",
        sys_inputs=inputs,
        font_paths=fonts,
        pdf_tags=False,
    )
    return bytes(made)


def to_png(svg: str, width: int, height: int) -> bytes:
    """Draw the drawing, whose size is `width` times `height` px, as a PNG with alpha."""
    import resvg_py  # see above

    made: Any = resvg_py.svg_to_bytes(
        svg_string=svg,
        width=width,
        height=height,
        dpi=96,
        skip_system_fonts=True,
        font_dirs=_FONTS,
    )
    return bytes(made)


def page_to_png(page: bytes, width: float, height: float, px_per_mm: float) -> bytes:
    """Draw the one page of a PDF, `width` times `height` mm, as a PNG with alpha."""
    import typst  # see above

    Path("page.pdf").write_bytes(page)  # the working folder is a fresh one
    Path("main.typ").write_bytes(_TYPST_PAGE)
    inputs = {"width": repr(width), "height": repr(height)}
    made: Any = typst.compile(
        "main.typ",
        root=".",
        format="png",
        ppi=px_per_mm * 25.4,
        sys_inputs=inputs,
        ignore_system_fonts=True,
    )
    return bytes(made)


_TASKS: dict[str, Callable[..., bytes]] = {
    "pdf": to_pdf,
    "png": to_png,
    "page": page_to_png,
}


def limit_memory() -> None:
    """Bound this process's memory where the system can (not on Windows)."""
    if sys.platform == "win32":
        return
    import resource

    _, most = resource.getrlimit(resource.RLIMIT_AS)
    bound = _MEMORY_BYTES if most == resource.RLIM_INFINITY else min(_MEMORY_BYTES, most)
    try:
        resource.setrlimit(resource.RLIMIT_AS, (bound, most))
    except (ValueError, OSError):
        return  # some systems know the limit and do not let it be set


def main() -> int:
    """Do the one task that standard input holds."""
    task = json.loads(sys.stdin.buffer.readline())
    data = sys.stdin.buffer.read()
    limit_memory()
    make = _TASKS[task.pop("to")]
    try:
        made = make(data if make is page_to_png else data.decode("utf-8"), **task)
    except ImportError:
        raise  # the installation is at fault, not the drawing
    except BaseException as error:  # a panic of native code is no Exception
        sys.stderr.write(" ".join(str(error).split())[:300])
        return REFUSED
    sys.stdout.buffer.write(made)
    sys.stdout.buffer.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
