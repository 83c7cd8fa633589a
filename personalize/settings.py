"""What a maker keeps on her computer from run to run: her machine records, by name.

A record is a TOML file of its own, so that it can be read, mended and given to others.
"""

import os
import re
from pathlib import Path

import platformdirs

from personalize.design.files import bytes_of, is_file
from personalize.errors import refuse
from personalize.messages.same import compared
from personalize.sheet.machine import Machine, read_machine, written

FOLDER_VARIABLE = "PERSONALIZE_SETTINGS"
"""Environment variable that names another folder for settings."""
MOST_BYTES = 100_000
_NAME = re.compile(r"[\w][\w .()+-]{0,59}\Z")


def settings_folder() -> Path:
    """Give the folder for settings, as the operating system has it. It may not exist."""
    told = os.environ.get(FOLDER_VARIABLE)
    return Path(told) if told else platformdirs.user_config_path("personalize", False)


def machine_files() -> tuple[Path, ...]:
    """List the machine records that are kept, by name."""
    folder = settings_folder() / "machines"
    try:
        return tuple(sorted(path for path in folder.glob("*.toml") if path.is_file()))
    except OSError:
        return ()


def find_machine(name: str) -> Machine:
    """Read a machine record by its name, or from a file NAME.toml. Raises InputError."""
    kept = machine_files()
    path = next((p for p in kept if compared(p.stem) == compared(name)), None)
    if path is None and name.casefold().endswith(".toml") and is_file(Path(name)):
        path = Path(name)
    if path is None:
        names = ", ".join(p.stem for p in kept)
        raise refuse(
            "--machine",
            f"there is no machine record {name!r}.",
            f"Use one of {names}." if names else "Make one with `personalize ruler`.",
        )
    data = bytes_of(path)
    try:
        text = data[:MOST_BYTES].decode()
    except UnicodeDecodeError:
        text = "\0"  # no TOML, and told as such
    return read_machine(text, path.name, path.stem)


def check_name(name: str) -> None:
    """Refuse what cannot be the name of a record. Raises InputError."""
    if not _NAME.match(name) or name != name.strip() or name.endswith("."):
        raise refuse(
            "--save",
            f"{name!r} cannot be the name of a machine.",
            "Use letters, digits and spaces, such as kitchen.",
        )


def keep_machine(machine: Machine) -> Path:
    """Write a record where later runs find it; an earlier one of the name is replaced."""
    check_name(machine.name)
    path = settings_folder() / "machines" / f"{machine.name}.toml"
    beside = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(written(machine), "utf-8", newline="\n")
        beside.replace(path)
    except OSError as error:
        raise refuse(
            str(path.name),
            f"it cannot be written ({error.strerror}).",
            f"Name another folder in {FOLDER_VARIABLE}.",
        ) from None
    return path
