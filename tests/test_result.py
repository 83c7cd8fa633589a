"""The earlier result stands as it was until the new one is whole."""

import errno
import os
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from personalize import result
from personalize.errors import InputError, OwnFaultError
from personalize.result import check_writable, staged
from tests.folders import NEW, OLD, held, put


def problem(out: Path) -> str:
    with pytest.raises(InputError) as caught:
        check_writable(out)
    (told,) = caught.value.problems
    assert told.place == out.name
    return told.says


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Give a folder with an earlier result in it."""
    folder = tmp_path / "picnic"
    put(folder, OLD)
    return folder


# ---- Which folder may be written ----


def test_folders_that_may_be_written(tmp_path: Path, out: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    for folder in (out, empty, tmp_path / "new", tmp_path / "a" / "b" / "c"):
        before = sorted(tmp_path.rglob("*"))
        check_writable(folder)
        assert sorted(tmp_path.rglob("*")) == before


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "picnic").write_text("mine")
    assert "a file, not a folder" in problem(tmp_path / "picnic")
    assert "picnic is a file" in problem(tmp_path / "picnic" / "a" / "b")
    with pytest.raises(InputError), staged(tmp_path / "picnic"):
        pytest.fail("the work must not begin")
    assert (tmp_path / "picnic").read_text() == "mine"


@pytest.mark.parametrize(
    "foreign", ["letter.txt", "sheets/letter.txt", "sheets/empty/", "print.pdf/x", ".git"]
)
def test_what_is_not_ours_is_named(out: Path, foreign: str) -> None:
    if foreign.startswith("print.pdf"):
        (out / "print.pdf").unlink()
    path = out / foreign
    path.parent.mkdir(exist_ok=True)
    path.mkdir() if foreign.endswith("/") else path.write_text("mine")
    assert problem(out) == f"there is something in this folder that is not ours: {foreign}."


def test_how_many_things_are_not_ours(out: Path) -> None:
    for name in ("a.txt", "b.txt", "c.txt"):
        (out / name).write_text("mine")
    assert problem(out).endswith("a.txt and 2 more.")


@pytest.mark.parametrize(
    "report",
    ["", "{", "[]", '{"files": ["print.pdf", "sheets/1.png"]}', '"personalize_report"',
     '{"personalize_report": 1}', '{"personalize_report": 1, "files": "print.pdf"}',
     '{"personalize_report": 1, "files": [7, null]}', "[" * 100_000, "\udcff"],
)  # fmt: skip
def test_a_report_that_is_not_ours_covers_nothing(out: Path, report: str) -> None:
    (out / "report.json").write_bytes(report.encode(errors="surrogateescape"))
    assert "is not ours: print.pdf" in problem(out)


def test_a_folder_without_a_report_is_not_ours(out: Path) -> None:
    (out / "report.json").unlink()
    assert "print.pdf and 1 more" in problem(out)


def test_a_link_to_a_folder_is_not_followed(tmp_path: Path, out: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "1.png").write_text("mine")
    shutil.rmtree(out / "sheets")
    (out / "sheets").symlink_to(tmp_path / "photos", target_is_directory=True)
    assert "is not ours: sheets" in problem(out)


def test_what_file_managers_leave_behind_does_not_matter(out: Path) -> None:
    (out / ".DS_Store").write_text("x")
    (out / "sheets" / "Thumbs.db").write_text("x")
    with staged(out) as stage:
        put(stage, NEW)
    assert held(out) == NEW


def test_a_parent_that_may_not_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "may not be written to" in problem(tmp_path / "picnic")


def test_a_folder_that_may_not_be_looked_into(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def barred(_: object) -> Iterator[object]:
        raise PermissionError(errno.EACCES, "Permission denied", str(out))

    monkeypatch.setattr(os, "scandir", barred)
    assert "may not be written to" in problem(out)


# ---- Putting a result in place ----


def test_a_first_result(tmp_path: Path) -> None:
    out = tmp_path / "autumn" / "picnic"
    with staged(out) as stage:
        assert stage.parent == out.parent
        assert stage.name.startswith(".picnic.")
        put(stage, NEW)
        assert not out.exists()
    assert held(out) == NEW
    assert [path.name for path in out.parent.iterdir()] == ["picnic"]


def test_a_second_result_replaces_the_first_whole(out: Path) -> None:
    with staged(out) as stage:
        put(stage, NEW)
        assert held(out) == OLD
    assert held(out) == NEW
    assert [path.name for path in out.parent.iterdir()] == ["picnic"]


def test_an_empty_folder_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "picnic").mkdir()
    with staged(tmp_path / "picnic") as stage:
        put(stage, NEW)
    assert held(tmp_path / "picnic") == NEW


def test_a_link_stays_a_link(tmp_path: Path, out: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(out, target_is_directory=True)
    with staged(link) as stage:
        put(stage, NEW)
    assert link.is_symlink()
    assert held(out) == NEW


def test_the_new_folder_can_be_read_by_whom_the_umask_lets(tmp_path: Path) -> None:
    with staged(tmp_path / "picnic") as stage:
        put(stage, NEW)
    (tmp_path / "plain").mkdir()
    assert (tmp_path / "picnic").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize("error", [ValueError("no"), KeyboardInterrupt(), SystemExit(2)])
def test_an_error_in_the_work_leaves_the_earlier_result(
    out: Path, error: BaseException
) -> None:
    def work() -> None:
        with staged(out) as stage:
            put(stage, NEW)
            raise error

    with pytest.raises(type(error)):
        work()
    assert held(out) == OLD
    assert [path.name for path in out.parent.iterdir()] == ["picnic"]


def test_an_error_before_a_first_result_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no"), staged(tmp_path / "a" / "picnic"):
        raise ValueError("no")
    assert list(tmp_path.iterdir()) == []


def test_a_foreign_file_that_came_meanwhile_is_kept(out: Path) -> None:
    def work() -> None:
        with staged(out) as stage:
            put(stage, NEW)
            (out / "letter.txt").write_text("mine")

    with pytest.raises(InputError, match=r"not ours: letter\.txt"):
        work()
    assert held(out) == OLD | {"letter.txt": "mine"}
    assert [path.name for path in out.parent.iterdir()] == ["picnic"]


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "the disk is full"),
        (errno.EACCES, "may not be written to"),
        (errno.EROFS, "may not be written to"),
    ],
)
def test_what_the_disk_says_while_writing(out: Path, number: int, says: str) -> None:
    with pytest.raises(InputError) as caught, staged(out) as stage:
        raise OSError(number, os.strerror(number), str(stage / "print.pdf"))
    (told,) = caught.value.problems
    assert told.place == "picnic"
    assert says in told.says
    assert held(out) == OLD


def test_a_full_disk_names_no_file(out: Path) -> None:
    with pytest.raises(InputError, match="disk is full"), staged(out):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("number", [errno.EACCES, errno.ENOENT])
def test_errors_of_other_files_go_through(out: Path, number: int) -> None:
    with pytest.raises(OSError) as caught, staged(out):  # noqa: PT011 - compared below
        raise OSError(number, "no", "font.ttf")
    assert caught.value.filename == "font.ttf"
    assert held(out) == OLD


def test_the_second_rename_fails_and_the_first_is_undone(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, seen = os.rename, []

    def rename(source: Path, target: Path) -> None:
        seen.append(source)
        if len(seen) == 2:
            raise PermissionError(errno.EACCES, "held open", str(source))
        real(source, target)

    monkeypatch.setattr(os, "rename", rename)
    with pytest.raises(InputError, match="may not be written to"), staged(out) as stage:
        put(stage, NEW)
    assert len(seen) == 3
    assert held(out) == OLD
    assert [path.name for path in out.parent.iterdir()] == ["picnic"]


def test_a_folder_that_came_between_the_renames_is_not_touched(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.rename

    def rename(source: Path, target: Path) -> None:
        real(source, target)
        if target.name.endswith(".old"):
            put(out, {"theirs.txt": "theirs"})

    monkeypatch.setattr(os, "rename", rename)
    told = r"It lies beside it, in \.picnic\."
    with pytest.raises(OwnFaultError, match=told), staged(out) as stage:
        put(stage, NEW)
    assert held(out) == {"theirs.txt": "theirs"}
    (aside,) = [path for path in out.parent.iterdir() if path != out]
    assert held(aside) == OLD


def test_an_earlier_folder_that_cannot_be_deleted_is_told(
    out: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(shutil, "rmtree", lambda *_, **__: None)
    with staged(out) as stage:
        put(stage, NEW)
    assert held(out) == NEW
    assert "could not be deleted. Delete the folder .picnic." in caplog.text


def test_files_and_folders_are_flushed(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flushed: list[int] = []
    real = os.fsync

    def fsync(handle: int) -> None:
        flushed.append(os.fstat(handle).st_ino)
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    with staged(out) as stage:
        put(stage, OLD)
        made = [path.stat().st_ino for path in (stage, *stage.rglob("*"), out.parent)]
    assert len(made) == 6
    assert sorted(flushed) == sorted(made)


def test_a_folder_that_the_system_cannot_flush(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, refused = os.fsync, []

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            refused.append(handle)
            raise OSError(errno.EINVAL, "invalid argument")
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    with staged(out) as stage:
        put(stage, NEW)
    assert len(refused) == 2
    assert held(out) == NEW


def test_windows_flushes_files_open_for_writing_and_no_folders(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[tuple[str, int]] = []
    real = os.open

    def spy(path: Path, flags: int) -> int:
        opened.append((Path(path).name, flags))
        return real(path, flags)

    with staged(out) as stage:
        put(stage, NEW)
        # Only now: pathlib asks for the system's name when it makes a path.
        monkeypatch.setattr(result, "_ON_WINDOWS", True)
        monkeypatch.setattr(os, "open", spy)
    assert {name for name, flags in opened if flags == os.O_RDWR} == {*NEW, "report.json"}
    assert "picnic" not in {name for name, _ in opened}
