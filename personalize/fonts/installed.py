"""Fonts installed on the machine, found by their own names.

Nothing is asked of the operating system but its usual folders, so that the same files
give the same answer everywhere.
"""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from personalize.errors import refuse
from personalize.fonts.choice import Part, listed
from personalize.fonts.files import (
    SUFFIXES,
    Member,
    UnreadableFontError,
    folded,
    read_members,
)

_MOST_FILES = 50_000


def font_folders(platform: str, env: Mapping[str, str], home: Path) -> tuple[Path, ...]:
    """Give the folders in which a system keeps fonts, the person's own first.

    Linux: XDG Base Directory Specification 0.8, "fonts" in each data folder. macOS and
    Windows: the folders that their makers' own help names, from memory.
    """
    if platform == "win32":
        windows = Path(env.get("WINDIR") or "C:/Windows")
        local = env.get("LOCALAPPDATA")
        own = [Path(local) / "Microsoft/Windows/Fonts"] if local else []
        return (*own, windows / "Fonts")
    if platform == "darwin":
        roots = (home, Path("/"), Path("/Network"), Path("/System"))
        return tuple(root / "Library/Fonts" for root in roots)
    data = Path(env.get("XDG_DATA_HOME") or home / ".local/share")
    shared = (env.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share").split(":")
    folders = [data, *(Path(part) for part in shared if part)]
    return (*(folder / "fonts" for folder in folders), home / ".fonts")


def _files(folders: Sequence[Path]) -> Iterator[Path]:
    """Give the font files in some folders and below, in the order of their names."""
    seen = set()
    for folder in folders:
        for here, below, names in os.walk(folder):
            below.sort()
            for name in sorted(names):
                path = Path(here) / name
                if name.casefold().endswith(SUFFIXES) and path not in seen:
                    seen.add(path)
                    yield path
                    if len(seen) >= _MOST_FILES:
                        return


def found_in(folders: Sequence[Path]) -> tuple[Member, ...]:
    """Give every font in some folders; files that cannot be read are left out."""
    out: list[Member] = []
    for path in _files(folders):
        try:
            out += read_members(path)
        except (OSError, UnreadableFontError):
            continue
    return tuple(out)


@lru_cache(maxsize=1)
def installed() -> tuple[Member, ...]:
    """Give every font installed on this machine (looked for once in a process)."""
    try:
        home = Path.home()
    except RuntimeError:  # nobody's process, as in some services
        home = Path("/")
    return found_in(font_folders(sys.platform, os.environ, home))


def match(
    name: str, part: Part, fonts: Sequence[Member], place: str
) -> tuple[Member, Part] | None:
    """Find a font by its full name, its family's name, or family and instance.

    Gives the font and what is left to choose of it, or None where there is none. Raises
    InputError where several are meant.
    """
    found = _different(_named(folded(name), part, fonts))
    if not found:
        return None
    if len(found) == 1:
        return found[0]
    names = sorted({font.full_name for font, _ in found})
    if len(names) > 1:
        raise refuse(
            place,
            f"{len(found)} installed fonts go by the name {name!r}: {listed(names)}.",
            f'Name one of them in full, such as font = "{names[0]}".',
        )
    files = listed(sorted(font.path.name for font, _ in found))
    raise refuse(
        place,
        f"{len(found)} different installed fonts are called {names[0]!r}: {files}.",
        "Copy the one that you mean beside the design, and give its file's name.",
    )


def _named(wanted: str, part: Part, fonts: Sequence[Member]) -> list[tuple[Member, Part]]:
    """Give the fonts that a name may mean, each with what is left to choose of it."""
    family = [font for font in fonts if wanted in font.families]
    if part.instance is not None:
        # A family of single files: its styles are asked for as instances are.
        style = folded(part.instance)
        alone = replace(part, instance=None)
        files = [f for f in family if not f.axes and folded(f.style) == style]
        if files:
            return [(font, alone) for font in files]
    found = [(font, part) for font in fonts if wanted in font.names]
    if not found and part.instance is None:
        found = [
            (font, replace(part, instance=instance.name))
            for font in fonts
            for instance in font.instances
            if any(f"{name} {folded(instance.name)}" == wanted for name in font.families)
        ]
    return found or [(font, part) for font in family]


def _different(found: Sequence[tuple[Member, Part]]) -> list[tuple[Member, Part]]:
    """Drop further copies of the same file."""
    if len(found) < 2:
        return list(found)
    out: dict[tuple[bytes, int, Part], tuple[Member, Part]] = {}
    for font, part in found:
        try:
            data = font.path.read_bytes()
        except OSError:
            continue
        out.setdefault((data, font.index, part), (font, part))
    return list(out.values())
