"""The folder with the result of a run: written beside, then put in place as a whole.

    staged(out)
      1 make .out.XXXX.new beside out        the caller writes into it
      2 flush every file to the disk
      3 rename out to .out.XXXX.old
      4 rename .out.XXXX.new to out          from here on the new result stands
      5 delete .out.XXXX.old

Whatever goes wrong before the end of step 4, the earlier result stands as it was.
"""

import contextlib
import errno
import json
import logging
import os
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from personalize.errors import OwnFaultError, refuse

REPORT = "report.json"
REPORT_KEY = "personalize_report"
"""Key of a report that says: this folder is ours."""

LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
"""What file managers leave behind in a folder that somebody only looked at (common
practice, no source). It is no one's work, and goes with the folder."""

_MOST_REPORT_BYTES = 512 * 1024 * 1024
_FULL = {errno.ENOSPC, errno.EFBIG, *({errno.EDQUOT} if hasattr(errno, "EDQUOT") else ())}
_BARRED = {errno.EACCES, errno.EPERM, errno.EROFS}
_ELSEWHERE = "Give another folder, or one that does not exist yet."

_ON_WINDOWS = os.name == "nt"
_log = logging.getLogger(__name__)


def check_writable(out: Path) -> None:
    """Check, before any work, that a result may be put at `out`. Writes nothing.

    A folder may be replaced if it is empty, or holds a report of ours and nothing but
    that and the files that it names (and `LITTER`).

    Raises
    ------
    InputError
        `out` is a file, its parent cannot be made or written to, or there are files in it
        that are not ours (the sentence names one).
    """
    place = _real(out)
    with _told(place.name):
        if place.exists() and Path.cwd().is_relative_to(place):
            raise refuse(
                str(out),
                "this is the folder that you are in, or one above it, and a result"
                " replaces its folder as a whole.",
                "Name a folder inside it, such as picnic.",
            )
        if place.exists() and not place.is_dir():
            raise refuse(place.name, "this is a file, not a folder.", _ELSEWHERE)
        _check_parent(place)
        foreign = _foreign(place)
    if foreign:
        more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        raise refuse(
            place.name,
            f"there is something in this folder that is not ours: {foreign[0]}{more}.",
            _ELSEWHERE,
        )


@contextlib.contextmanager
def staged(out: Path) -> Iterator[Path]:
    """Give an empty folder to write a result into; put it at `out` when all went well.

    On any error, an interruption included, the new folder is deleted, and what stood at
    `out` before stands there still. Where `out` is a symbolic link, what it leads to is
    replaced.

    Raises
    ------
    InputError
        As `check_writable`, now or when the result is put in place; or the disk is full,
        may not be written to, or will not do one of the steps.
    OwnFaultError
        The earlier result could not be put back. It says where it lies.
    """
    check_writable(out)
    place = _real(out)
    token = secrets.token_hex(4)
    stage = place.with_name(f".{place.name}.{token}.new")
    aside = place.with_name(f".{place.name}.{token}.old")
    made: list[Path] = []
    mark = None
    try:
        with _told(place.name):
            _make(stage, made)
            mark = stage.stat()
        with _told(place.name, inside=stage):
            yield stage
        with _told(place.name):
            _flush(stage)
        check_writable(place)
        with _told(place.name):
            _exchange(stage, place, aside)
    except BaseException:
        _roll_back(stage, place, aside, mark)
        _unmake(made)
        raise
    _tidy(place, aside)


@contextlib.contextmanager
def _told(name: str, inside: Path | None = None) -> Iterator[None]:
    """Turn what the disk says into a sentence.

    With `inside`, only errors of writing there are meant: the caller may read other files
    at the same time, and their errors go through as they are.
    """
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            says, do = "the disk is full.", "Make room on it."
        elif inside is not None and not _concerns(error, inside):
            raise
        elif error.errno in _BARRED:
            says = "the folder may not be written to."
            do = "Close what is open from it, or give another folder."
        elif inside is not None:
            raise
        else:
            says = f"the folder cannot be put in place ({error.strerror})."
            do = _ELSEWHERE
        raise refuse(name, says, do) from error


def _concerns(error: OSError, folder: Path) -> bool:
    """Tell whether an error names a path in a folder, or no path at all."""
    if not isinstance(error.filename, str | bytes):
        return True
    return Path(os.fsdecode(error.filename)).is_relative_to(folder)


def _check_parent(place: Path) -> None:
    parent = next((path for path in place.parents if os.path.lexists(path)), place)
    if not parent.is_dir():
        raise refuse(
            place.name,
            f"the folder cannot be made, as {parent.name} is a file.",
            _ELSEWHERE,
        )
    if not os.access(parent, os.W_OK | os.X_OK):
        raise refuse(
            place.name, f"the folder {parent.name} may not be written to.", _ELSEWHERE
        )


def _real(out: Path) -> Path:
    """Resolve links: the folder itself is replaced, and not the link to it."""
    return Path(os.path.realpath(out))


def _foreign(place: Path) -> list[str]:
    """Name what lies in a folder and is not ours, with / between folder and file."""
    if not place.is_dir():
        return []
    ours = _our_files(place / REPORT)
    return sorted(name for name in _names(place) if name not in ours)


def _names(folder: Path, prefix: str = "") -> Iterator[str]:
    with os.scandir(folder) as entries:
        for entry in entries:
            name = prefix + entry.name
            if not entry.is_dir(follow_symlinks=False):
                if entry.name not in LITTER:
                    yield name
                continue
            inside = list(_names(Path(entry.path), f"{name}/"))
            yield from inside or [f"{name}/"]


def _our_files(report: Path) -> frozenset[str]:
    """Read which files a report says are ours, itself among them; none without a report."""
    try:
        if report.is_symlink() or report.stat().st_size > _MOST_REPORT_BYTES:
            return frozenset()
        told = json.loads(report.read_bytes())
    except (OSError, ValueError, RecursionError):
        return frozenset()
    if not isinstance(told, dict) or REPORT_KEY not in told:
        return frozenset()
    files = told.get("files")
    names = files if isinstance(files, list) else []
    return frozenset({REPORT, *(name for name in names if isinstance(name, str))})


def _make(stage: Path, made: list[Path]) -> None:
    """Make the stage and the folders above it; note in `made` which of these are new."""
    for folder in (*reversed(stage.parents), stage):
        if not folder.exists():
            folder.mkdir()
            made.append(folder)


def _unmake(made: list[Path]) -> None:
    for folder in reversed(made):
        with contextlib.suppress(OSError):
            folder.rmdir()


def _flush(folder: Path) -> None:
    """Have the disk hold every file of a folder before the folder gets its name."""
    for path, _, files in os.walk(folder):
        for name in files:
            _sync_file(Path(path, name))
        _sync_folder(Path(path))


def _sync_file(path: Path) -> None:
    # Windows flushes only what is open for writing.
    handle = os.open(path, os.O_RDWR if _ON_WINDOWS else os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder(path: Path) -> None:
    """Flush the names in a folder, where the system can (POSIX fsync of a folder)."""
    if _ON_WINDOWS:
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        # Some network file systems cannot flush a folder, and say so in this way.
        if error.errno not in {errno.EINVAL, errno.ENOTSUP}:
            raise
    finally:
        os.close(handle)


def _exchange(stage: Path, place: Path, aside: Path) -> None:
    """Put the stage in place, and the earlier folder aside.

    In two steps, as no system that we know of but one can exchange folders in one, and
    Windows renames nothing over a folder.
    """
    if place.exists():
        os.rename(place, aside)
    os.rename(stage, place)


def _roll_back(stage: Path, place: Path, aside: Path, mark: os.stat_result | None) -> None:
    """Put the earlier folder back and delete the stage, however far the exchange got.

    What the disk shows decides: an interruption does not say after which step it came.
    `mark` tells the stage from any other folder that stands at `place`.
    """
    try:
        if mark and place.exists() and os.path.samestat(place.stat(), mark):
            os.rename(place, stage)
        if aside.exists():
            os.rename(aside, place)
    except OSError as error:
        raise OwnFaultError(
            f"{place.name}: the earlier result could not be put back. "
            f"It lies beside it, in {aside.name}."
        ) from error
    finally:
        _delete(stage)


def _tidy(place: Path, aside: Path) -> None:
    """Delete the earlier result. The new one stands, so no trouble here is an error."""
    with contextlib.suppress(OSError):
        _sync_folder(place.parent)
    _delete(aside)
    if os.path.lexists(aside):
        _log.warning(
            "%s: the earlier result could not be deleted. Delete the folder %s yourself.",
            place.name,
            aside.name,
        )


def _delete(folder: Path) -> None:
    """Delete what can be deleted of a folder; it need not be there."""
    # Closing a folder can fail even where errors are to be ignored.
    with contextlib.suppress(OSError):
        shutil.rmtree(folder, ignore_errors=True)
