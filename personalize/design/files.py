"""Files that a design or a list names: found beside it, never outside its folder."""

import unicodedata
from difflib import get_close_matches
from pathlib import Path

from personalize.errors import refuse
from personalize.messages.same import compared


def beside(folder: Path, name: str, place: str) -> Path:
    r"""Find a file by the name that is written somewhere.

    Names agree as a person reads them: an accent typed two ways, or another case, finds
    the file where no other has exactly that name.

    Parameters
    ----------
    folder
        Where to look: there and below.
    name
        As written, with / between folders, or \ where no file has that in its name.
    place
        Who names it, for sentences.

    Raises
    ------
    InputError
        It lies outside the folder, or there is no such file.
    """
    path = _within(folder, name, place)
    if is_file(path):
        return path
    if "\\" in name:  # as it is typed where that is the sign between folders
        return beside(folder, name.replace("\\", "/"), place)
    folders = _folders_alike(folder, name)
    if folders is not None:
        raise refuse(
            place,
            f"there is no file {name!r} in the folder: folders are written {folders!r}.",
            f"Write {folders + '/' + path.name!r}.",
        )
    # A name such as "." is the folder itself: what lies round it is none of its files.
    others = sorted(_names_in(path.parent)) if path != folder.resolve() else []
    alike = [other for other in others if compared(other) == compared(path.name)]
    if len(alike) == 1:
        return _within(path.parent, alike[0], place, folder)
    stem = unicodedata.normalize("NFC", path.name)
    near = [o for o in others if compared(Path(o).stem) == compared(stem)]
    near = near or get_close_matches(stem, others, 1, 0.6)
    raise refuse(
        place,
        f"there is no file {name!r} in the folder.",
        f"Did you mean {near[0]!r}?" if near else "Put it there, or correct its name.",
    )


def _folders_alike(folder: Path, name: str) -> str | None:
    """Give the folders of a name as they are truly written, where only case differs."""
    *above, _ = name.split("/")
    at, found = folder, list[str]()
    for part in above:
        if part in (".", ".."):
            return None
        try:
            names = [path.name for path in at.iterdir() if path.is_dir()]
        except OSError:
            return None
        alike = [one for one in names if compared(one) == compared(part)]
        if part not in alike and len(alike) != 1:
            return None
        found.append(part if part in alike else alike[0])
        at /= found[-1]
    return "/".join(found) if found != above else None


def _within(folder: Path, name: str, place: str, root: Path | None = None) -> Path:
    """Give the path of a name, links followed. Raises InputError outside the root."""
    try:
        path = (folder / name).resolve()
        inside = path.is_relative_to((root or folder).resolve()) and "\0" not in name
    except (OSError, ValueError, RuntimeError):
        inside, path = False, folder
    if not inside:
        raise refuse(
            place, f"the file {name!r} lies outside its folder.", "Put it in the folder."
        )
    return path


def is_file(path: Path) -> bool:
    """Whether a file is there, or may be: reading it then says why it cannot be read."""
    try:
        return path.is_file()
    except PermissionError:  # of the folder that it would lie in
        return True
    except OSError:  # a name that is too long for any file
        return False


def _names_in(folder: Path) -> list[str]:
    try:
        return [path.name for path in folder.iterdir() if path.is_file()]
    except OSError:
        return []


def bytes_of(path: Path) -> bytes:
    """Read a file. Raises InputError where it cannot be read."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        do = "Check its name, and the folder that it lies in."
        raise refuse(path.name, "there is no such file.", do) from None
    except IsADirectoryError:
        raise refuse(path.name, "this is a folder.", "Name a file in it.") from None
    except OSError as error:
        raise refuse(
            path.name, f"it cannot be read ({error.strerror}).", "Check its permissions."
        ) from None
