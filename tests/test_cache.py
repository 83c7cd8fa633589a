"""The cache: what is kept comes back whole or not at all, and changes no result."""

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import personalize
from personalize import cache
from personalize.design.artwork_render import compile_artwork
from tests.conftest import command, drawing, line, put

KEY = cache.key_of(b"plum", b"lane")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "kept"))
    return tmp_path / "kept"


def test_what_is_put_comes_back(folder: Path) -> None:
    assert cache.get(KEY) is None
    cache.put(KEY, b"jam")
    assert cache.get(KEY) == b"jam"
    cache.put(KEY, b"honey")
    assert cache.get(KEY) == b"honey"
    assert [path.name for path in folder.iterdir()] == [KEY]


@pytest.mark.parametrize("damage", [b"", b"x" * 8, b"x" * 40])
def test_what_is_damaged_is_not_given(folder: Path, damage: bytes) -> None:
    cache.put(KEY, b"jam")
    (folder / KEY).write_bytes(damage)
    assert cache.get(KEY) is None


def test_keys_tell_where_one_part_ends() -> None:
    assert cache.key_of(b"ab", b"c") != cache.key_of(b"a", b"bc")
    assert cache.key_of(b"ab") != cache.key_of(b"ab", b"")


def test_those_not_used_for_longest_go_first(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "MOST_BYTES", 4000)
    keys = [cache.key_of(bytes([i])) for i in range(8)]
    (folder).mkdir()
    (folder / "mine.txt").write_bytes(b"m" * 9000)
    for i, key in enumerate(keys):
        cache.put(key, bytes(700))
        if (folder / key).exists():
            os.utime(folder / key, ns=(i, i))
    left = [key for key in keys if cache.get(key) is not None]
    assert left == keys[-len(left) :]
    assert sum((folder / key).stat().st_size for key in left) <= 4000
    assert (folder / "mine.txt").exists()


@pytest.mark.parametrize("word", ["off", "OFF", "0", "no"])
def test_it_can_be_switched_off(word: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(cache.SWITCH, word)
    cache.put(KEY, b"jam")
    assert cache.get(KEY) is None


def test_a_folder_that_cannot_be_written_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "file" / "kept"))
    cache.put(KEY, b"jam")
    assert cache.get(KEY) is None


@pytest.mark.parametrize(
    ("platform", "env", "wanted"),
    [
        # XDG Base Directory Specification 0.8; a relative path there is to be ignored.
        ("linux", {}, "home/.cache/personalize"),
        ("linux", {"XDG_CACHE_HOME": "/x"}, "/x/personalize"),
        ("linux", {"XDG_CACHE_HOME": "x"}, "home/.cache/personalize"),
        # From memory: the folders that the makers of these systems name.
        ("darwin", {}, "home/Library/Caches/personalize"),
        ("win32", {"LOCALAPPDATA": "/l"}, "/l/personalize/Cache"),
    ],
)
def test_it_lies_where_the_system_has_caches(
    platform: str, env: dict[str, str], wanted: str
) -> None:
    assert cache.cache_folder(platform, env, Path("home")) == Path(wanted)


def test_results_are_the_same_with_and_without(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    back = '<rect x="-3" y="-3" width="66" height="46" fill="#f4e3c1"/>'
    put(
        tmp_path,
        {"tag.svg": drawing(back + line("M2 2H58V38H2Z")), "l.csv": "front\nAda\n"},
    )
    words = ("make", tmp_path / "l.csv", "--design", tmp_path / "tag.svg", "--out")
    made = []
    for name, switch in (("first", str(folder)), ("again", str(folder)), ("off", "off")):
        monkeypatch.setenv(cache.SWITCH, switch)
        assert command(*words, tmp_path / name).exit_code in (0, 1)
        files = sorted((tmp_path / name).iterdir())
        made.append({file.name: file.read_bytes() for file in files})
    assert made[0] == made[1] == made[2]
    assert any(folder.iterdir())


def test_what_is_kept_is_used(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    art = personalize.load_design("jar-lid").artwork
    width, height = art.size_mm
    first = compile_artwork(art.svg, width, height, fonts=art.fonts)
    monkeypatch.setattr("personalize.design.artwork_render._asked", None)
    assert compile_artwork(art.svg, width, height, fonts=art.fonts) == first


def test_many_may_write_the_same_at_once(folder: Path) -> None:
    data = b"jam" * 10_000

    def both(_: int) -> bytes | None:
        cache.put(KEY, data)
        return cache.get(KEY)

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(both, range(60))) == {data}
    assert [path.name for path in folder.iterdir()] == [KEY]
