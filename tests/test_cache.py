"""What is kept for the next run: by content, bounded, whole or not at all."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from personalize import cache
from personalize.cache import cache_folder, get, key_of, put
from personalize.design import artwork_render
from personalize.design.artwork_render import compile_artwork, render_artwork
from tests.artwork_help import art
from tests.conftest import snapshot

HOME = Path("/h")
SVG = art('<circle cx="20" cy="20" r="9" fill="red"/>')


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PERSONALIZE_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept"


# Source: XDG Base Directory Specification 0.8 (a relative path is to be ignored).
@pytest.mark.parametrize(
    ("platform", "env", "folder"),
    [
        ("linux", {}, "/h/.cache/personalize"),
        ("linux", {"XDG_CACHE_HOME": "/x"}, "/x/personalize"),
        ("linux", {"XDG_CACHE_HOME": "x"}, "/h/.cache/personalize"),
        ("darwin", {}, "/h/Library/Caches/personalize"),
        ("win32", {"LOCALAPPDATA": "/l"}, "/l/personalize/Cache"),
        ("win32", {}, "/h/AppData/Local/personalize/Cache"),
        ("linux", {"PERSONALIZE_CACHE": "/own"}, "/own"),
        ("linux", {"PERSONALIZE_CACHE": "off"}, None),
    ],
)
def test_the_folder_is_the_systems(
    platform: str, env: dict[str, str], folder: str | None
) -> None:
    assert cache_folder(platform, env, HOME) == (Path(folder) if folder else None)


def test_artwork_is_made_once_and_has_the_same_bytes(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = (compile_artwork(SVG, 40, 40), render_artwork(SVG, 4))
    assert len(list(kept.iterdir())) == 2

    def not_again(*_: object) -> bytes:
        raise AssertionError("made again")

    with monkeypatch.context() as patch:
        patch.setattr(artwork_render, "_asked", not_again)
        assert (compile_artwork(SVG, 40, 40), render_artwork(SVG, 4)) == first
        with pytest.raises(AssertionError):
            compile_artwork(SVG, 40, 41)
    monkeypatch.setenv("PERSONALIZE_CACHE", "off")
    assert (compile_artwork(SVG, 40, 40), render_artwork(SVG, 4)) == first


@pytest.mark.parametrize("damage", [b"", b"x", b"x" * 99])
def test_a_damaged_entry_counts_as_none(kept: Path, damage: bytes) -> None:
    key = key_of(b"a")
    put(key, b"made")
    assert get(key) == b"made"
    (kept / key).write_bytes(damage)
    assert get(key) is None
    put(key, b"made")
    assert get(key) == b"made"


def test_a_folder_that_cannot_be_used_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("PERSONALIZE_CACHE", str(tmp_path / "file"))
    put(key_of(b"a"), b"made")
    assert get(key_of(b"a")) is None


def test_what_was_not_used_for_longest_goes_and_other_files_stay(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    monkeypatch.setattr(cache, "MOST_BYTES", 1000)
    keys = [key_of(bytes([at])) for at in range(6)]
    kept.mkdir()
    (kept / "letter.txt").write_bytes(b"x" * 5000)
    for at, key in enumerate(keys):
        put(key, b"x" * 150)
        os.utime(kept / key, (at, at))
    assert get(keys[0]) is None
    assert get(keys[5]) is not None
    assert (kept / "letter.txt").stat().st_size == 5000
    ours = [path for path in kept.iterdir() if path.name != "letter.txt"]
    assert sum(path.stat().st_size for path in ours) <= 1000


def test_many_may_write_at_once(kept: Path) -> None:
    key, data = key_of(b"a"), b"made" * 10_000

    def both(_: int) -> bytes | None:
        put(key, data)
        return get(key)

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(both, range(60))) == {data}
    assert list(snapshot(kept)) == [key]
