"""What many tests share: one finished result, made once; small drawings; a run."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from playwright.sync_api import Browser, sync_playwright

import personalize
from personalize.cache import SWITCH
from personalize.cli import cli
from personalize.fonts import installed
from personalize.sheet import kit_nest, nest, push
from tests.browser import program

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"

EDGE = '<rect id="edge" x="2" y="2" width="56" height="36" fill="none" stroke="#000"/>'
"""The outline of a bean tag: 56 x 36 mm, in the middle of a drawing of 60 x 40 mm."""


WHOLE_WORK = push.MOST_WORK
GUESTS = "front\nMaple\nOttoline\nRowan\n"


@pytest.fixture(scope="session", autouse=True)
def _cache_of_these_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep tests away from the cache of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(SWITCH, str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture(scope="session", autouse=True)
def _little_pushing() -> Iterator[None]:
    """Look for one piece more only briefly: what is promised holds of any amount of work.

    Tests of how much is found ask for `whole_work`.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(push, "MOST_WORK", WHOLE_WORK // 25)
        yield


@pytest.fixture
def whole_work(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Look for as many pieces as a maker's run does."""
    _forget_layouts()
    monkeypatch.setattr(push, "MOST_WORK", WHOLE_WORK)
    yield
    _forget_layouts()


def _forget_layouts() -> None:
    nest.arrangements.cache_clear()
    kit_nest.kit_arrangements.cache_clear()


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the flag sample with the whole guest list (not to be changed)."""
    out = tmp_path_factory.mktemp("made") / "picnic"
    table = personalize.read_table(SAMPLES / "picnic.csv")
    personalize.make(table, personalize.load_design("plant-flag"), out)
    return out


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A browser that tests share; each opens pages of its own."""
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(
            executable_path=program(), args=["--no-sandbox"]
        )
        yield launched
        launched.close()


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """Give a folder with a list of three guests and a plain tag."""
    put(tmp_path, {"guests.csv": GUESTS, "tag.svg": drawing(EDGE)})
    return tmp_path


@pytest.fixture
def font_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty folder that is the only one with installed fonts."""
    folder = tmp_path / "installed"
    folder.mkdir()
    monkeypatch.setattr(installed, "font_folders", lambda *_: (folder,))
    installed.installed.cache_clear()
    yield folder
    installed.installed.cache_clear()


def drawing(inside: str, width: float = 60, height: float = 40) -> str:
    """Give an SVG in millimetres."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">{inside}</svg>'
    )


def line(path: str, name: str = "edge") -> str:
    """Give a line of a drawing."""
    return f'<path id="{name}" d="{path}" fill="none" stroke="#000"/>'


def put(folder: Path, files: dict[str, str | bytes]) -> None:
    """Write files, with the folders that they lie in."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)


def snapshot(folder: Path) -> dict[str, bytes | None]:
    """Give everything in a folder, hidden or not; a folder has no bytes."""
    return {
        path.relative_to(folder).as_posix(): None if path.is_dir() else path.read_bytes()
        for path in folder.rglob("*")
    }


def command(*words: str | Path) -> Result:
    """Run the command line in this process.

    Problems of input are told inside the commands, so this is what a person gets. What
    `main` adds, the telling of our own faults, is not here: a crash fails the test.
    """
    result = CliRunner().invoke(cli, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result
