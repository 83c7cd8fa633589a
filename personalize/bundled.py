"""Where the fonts and samples that ship with the package lie."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """Find a bundled folder in an installed wheel or in a checkout."""
    for place in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the package is incomplete: its folder {name} is missing")
