"""Folders with a result in them, for the tests."""

import json
from pathlib import Path

OLD = {"print.pdf": "old sheets", "sheets/1.png": "old picture"}
NEW = {"print.pdf": "new sheets", "cut.svg": "new lines"}


def put(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    report = {"personalize_report": 1, "files": list(files)}
    (folder / "report.json").write_text(json.dumps(report))


def held(folder: Path) -> dict[str, str]:
    """All files of a folder but the report, by their names in it."""
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in folder.rglob("*")
        if path.is_file() and path.name != "report.json"
    }
