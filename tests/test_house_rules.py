"""The rules of DEVELOPERS.md that a machine can check."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT

PACKAGE = ROOT / "personalize"
MODULES = sorted(PACKAGE.rglob("*.py"))
STAGES = ("messages", "design", "type", "fold", "sheet", "output", "checks")
ALONE = {
    "uharfbuzz": {"fonts/harfbuzz.py"},
    "brotli": {"fonts/files.py"},
    "icu": {"type/itemise.py"},
    "pyphen": {"type/hyphens.py"},
    "shapely": {
        *("geometry/convex.py", "geometry/faces.py", "geometry/parts.py"),
        "geometry/zone.py",
    },
    "openpyxl": {"starter.py"},
    "pandas": {"messages/frames.py"},
    "PIL": {
        *("design/picture_file.py", "design/pictures.py"),
        "design/press_colours.py",
    },
    "platformdirs": {"settings.py"},
    "ezdxf": {"output/cut_dxf.py"},
    "pypdfium2": {"output/raster.py"},
    "typst": {"design/artwork_worker.py"},
    "resvg_py": {"design/artwork_worker.py"},
    "click": {
        *("cli.py", "cli_cut.py", "cli_fonts.py", "cli_inputs.py", "cli_inspect.py"),
        "cli_progress.py",
        "cli_ruler.py",
        "cli_tell.py",
    },
}
"""Libraries that one module alone may use."""


def run(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_linter_finds_nothing() -> None:
    run("ruff", "check", "--no-cache", ".")


def test_the_formatter_would_change_nothing() -> None:
    run("ruff", "format", "--no-cache", "--check", ".")


def test_types_hold_strictly(tmp_path: Path) -> None:
    run("mypy", "--cache-dir", str(tmp_path))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_is_short_and_so_are_its_functions(path: Path) -> None:
    text = path.read_text("utf-8")
    assert text.count("\n") < 400
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            lines = (node.end_lineno or 0) - node.lineno + 1
            doc = ast.get_docstring(node, clean=False) or ""
            assert lines - doc.count("\n") <= 40, (
                f"{path.name}: {node.name} has {lines} lines"
            )


def imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


@pytest.mark.parametrize("library", ALONE)
def test_a_library_is_used_by_one_module_alone(library: str) -> None:
    users = {
        path.relative_to(PACKAGE).as_posix()
        for path in MODULES
        if any(name.split(".")[0] == library for name in imports(path))
    }
    assert users == ALONE[library]


def test_stages_import_only_from_stages_before_them() -> None:
    # The base (geometry, fonts, units, errors, finding) is open to all.
    wrong = []
    for path in MODULES:
        stage = path.relative_to(PACKAGE).parts[0]
        if stage not in STAGES:
            continue
        for name in imports(path):
            parts = name.split(".")
            inside = parts[0] == "personalize" and len(parts) > 1 and parts[1] in STAGES
            if inside and STAGES.index(parts[1]) > STAGES.index(stage):
                wrong.append((path.name, name))
    assert wrong == []


def test_no_file_names_a_place_of_one_machine() -> None:
    places = re.compile(r"(?<![\w.:/])/(home|root|work|Users)/\w+")
    for folder in ("personalize", "tests", "docs", "samples", "benchmarks"):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in (".py", ".md", ".toml", ".svg", ".csv", ".json", ".css"):
                found = places.search(path.read_text("utf-8"))
                assert found is None, (path.name, found)


def test_a_bundled_font_has_its_licence_beside_it_and_is_listed() -> None:
    import tomllib

    listed = tomllib.loads((ROOT / "fonts_open" / "fonts.toml").read_text("utf-8"))["font"]
    files = {entry["file"] for entry in listed}
    for path in (ROOT / "fonts_open").rglob("*"):
        if path.suffix in (".ttf", ".otf", ".ttc"):
            assert path.relative_to(ROOT / "fonts_open").as_posix() in files
    for entry in listed:
        assert (ROOT / "fonts_open" / entry["licence_file"]).is_file()
        assert entry["origin"]


def test_modules_that_contributors_are_told_of_are_there() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    folder = PACKAGE
    for line in told.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("|") and cells[0].strip("`").endswith("/"):
            folder = PACKAGE / cells[0].strip("`/")
        elif not line.startswith("| |"):
            folder = PACKAGE  # a table of stages has ended
        for name in re.findall(r"`([\w*/]+\.(?:py|toml|css|js))`", line):
            places = (folder, PACKAGE, ROOT, ROOT / "tests", *PACKAGE.iterdir())
            assert any(list(place.glob(name)) for place in places if place.is_dir()), name


def test_contributors_are_told_of_what_stands_round_the_stages() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    plain = {"units.py", "errors.py", "finding.py", "rules_page.py"}  # used by all stages
    names = {path.name for path in MODULES if path.parent == PACKAGE} - plain
    names = {name for name in names if not name.startswith(("__", "cli"))}
    assert names
    assert {name for name in names if f"`{name}`" not in told} == set()
