"""What took long to make, kept in the person's cache folder for the next run.

Entries go by the content they were made from, so a run with them and one without give the
same bytes. Nothing here ever stops a run: what cannot be read or written is made again.
Set PERSONALIZE_CACHE to a folder to keep them there, or to "off" to keep none.
"""

import hashlib
import os
import re
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

SWITCH = "PERSONALIZE_CACHE"
MOST_BYTES = 256 * 2**20
"""Most that all entries may take; past it those not used for longest go."""
_LESS = 0.75
"""Share of that which is left when there is too much, so that it is not so each time."""
_DIGEST = hashlib.sha256().digest_size
_OURS = re.compile(r"[0-9a-f]{64}|new-\w+")
"""Names of our entries. Whatever else lies in the folder is left alone."""


def cache_folder(platform: str, env: Mapping[str, str], home: Path) -> Path | None:
    """Give the folder for our entries; None where none shall be kept.

    Linux: XDG Base Directory Specification 0.8. macOS and Windows: the folders that their
    makers name for it, from memory.
    """
    told = env.get(SWITCH, "")
    if told:
        return None if told.casefold() in ("off", "0", "no") else Path(told)
    if platform == "win32":
        local = env.get("LOCALAPPDATA")
        base = Path(local) if local else home / "AppData/Local"
        return base / "personalize" / "Cache"
    if platform == "darwin":
        return home / "Library/Caches/personalize"
    xdg = env.get("XDG_CACHE_HOME", "")
    # A relative path is invalid and to be ignored, says the specification.
    base = Path(xdg) if os.path.isabs(xdg) else home / ".cache"
    return base / "personalize"


def key_of(*parts: bytes) -> str:
    """Name what is made from some bytes: all that it depends on."""
    digest = hashlib.sha256()
    for part in parts:
        digest.update(hashlib.sha256(part).digest())
    return digest.hexdigest()


def get(key: str) -> bytes | None:
    """Give an entry as it was put; None where it is not there, or damaged."""
    folder = _folder()
    if folder is None:
        return None
    path = folder / key
    try:
        data = path.read_bytes()
        if hashlib.sha256(data[_DIGEST:]).digest() != data[:_DIGEST]:
            return None
        os.utime(path)  # used just now
    except OSError:
        return None
    return data[_DIGEST:]


def put(key: str, data: bytes) -> None:
    """Keep an entry. It is there as a whole or not at all, whoever else writes it."""
    folder = _folder()
    if folder is None or len(data) > MOST_BYTES // 4:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folder, prefix="new-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(data).digest() + data)
            os.replace(name, folder / key)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
        _bound(folder)
    except OSError:
        return


def _folder() -> Path | None:
    try:
        return cache_folder(sys.platform, os.environ, Path.home())
    except RuntimeError:  # nobody's process, as in some services
        return None


def _bound(folder: Path) -> None:
    """Take out the entries that were not used for longest, where there are too many."""
    found = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if not _OURS.fullmatch(entry.name):
                continue
            try:
                stat = entry.stat(follow_symlinks=False)
            except OSError:
                continue  # another run took it out
            found.append((stat.st_mtime_ns, entry.name, stat.st_size))
    total = sum(size for _, _, size in found)
    if total <= MOST_BYTES:
        return
    for _, name, size in sorted(found):
        (folder / name).unlink(missing_ok=True)
        total -= size
        if total <= MOST_BYTES * _LESS:
            return
