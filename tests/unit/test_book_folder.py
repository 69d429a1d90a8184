"""A job's folder is read and written whole, and nothing leads out of it."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job.folder import checked_files, checked_name, read_folder, write_folder

FILES = {"job.toml": b"[job]\r\n", "photos/face a.jpg": b"\x00\xff", "a/b/c.csv": b"", "ü.csv": b"1"}


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    home = write_folder(tmp_path / "deep" / "desk", FILES)
    read = read_folder(home)
    assert dict(read.files) == FILES and read.left_out == ()
    assert [path.name for path in home.parent.iterdir()] == ["desk"]
    assert stat.S_IMODE(home.stat().st_mode) & 0o700 == 0o700
    (tmp_path / "empty").mkdir()
    write_folder(tmp_path / "empty", FILES)
    assert dict(read_folder(tmp_path / "empty").files) == FILES


def test_what_can_be_made_again_and_what_is_hidden_is_left_out(tmp_path: Path) -> None:
    home = write_folder(tmp_path / "desk", FILES | {"plan/plan.json": b"{}", "plan/a.pdf": b"", "sheets/a.pdf": b""})
    (home / ".git").mkdir()
    (home / ".git" / "config").touch()
    (home / ".hidden").touch()
    os.mkfifo(home / "pipe")
    read = read_folder(home)
    assert sorted(read.files) == sorted([*FILES, "sheets/a.pdf"])
    assert read.left_out == (".git", ".hidden", "pipe", "plan/")


def test_links_stay_within(tmp_path: Path) -> None:
    home = write_folder(tmp_path / "desk", FILES)
    (home / "again.csv").symlink_to("a/b/c.csv")
    assert read_folder(home).files["again.csv"] == b""
    (tmp_path / "secret").write_text("not yours")
    for target in (tmp_path / "secret", tmp_path, Path("nowhere"), Path("a")):
        (home / "link").symlink_to(target)
        with pytest.raises(SlabwrightError, match="'link' is a link that leads to no file within the job's folder"):
            read_folder(home)
        (home / "link").unlink()


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "is empty"),
        ("/etc/passwd", "from the machine's root"),
        ("C:\\x", "from the machine's root"),
        ("c:x", "from the machine's root"),
        ("..", "leads out of"),
        ("../x", "leads out of"),
        ("a/../../x", "leads out of"),
        ("a//b", "has an empty part"),
        ("a/", "has an empty part"),
        ("./a", "has an empty part"),
        ("a\\..\\b", "has a backslash"),
        ("a\x00b", "cannot be printed"),
        ("a\nb", "cannot be printed"),
        ("a\udcffb", "cannot be printed"),
        ("x" * 256, "is too long"),
        ("ü" * 128, "is too long"),
        ("/".join(["x" * 200] * 6), "is too long"),
    ],
)
def test_a_name_that_leads_out_is_refused(tmp_path: Path, name: str, says: str) -> None:
    with pytest.raises(SlabwrightError, match=says) as told:
        checked_name(name)
    assert str(told.value).isprintable()
    with pytest.raises(SlabwrightError, match="file name"):
        write_folder(tmp_path / "desk", FILES | {name: b""})
    assert list(tmp_path.iterdir()) == []


def test_names_of_every_script_are_welcome() -> None:
    for name in ("a b.csv", "木/ü.csv", "...", "..a", "a..b/c", "x" * 255):
        assert checked_name(name) == name


def test_files_that_make_no_folder_are_refused(tmp_path: Path) -> None:
    for files, says in (
        ({}, "there is no job.toml among the files"),
        ({"a/job.toml": b""}, "there is no job.toml among the files"),
        ({"job.toml": b"", "a": b"", "a/b/c": b""}, "'a' is also the folder of 'a/b/c'"),
        ({"job.toml": b""} | {str(number): b"" for number in range(2000)}, "2001 files are too many"),
    ):
        with pytest.raises(SlabwrightError, match=says):
            checked_files(files)
    assert list(checked_files(FILES)) == sorted(FILES)


def test_a_folder_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "empty").mkdir()
    for folder, says in (
        (tmp_path / "none", "there is no such folder"),
        (tmp_path / "file", "there is no such folder"),
        (tmp_path / "empty", "there is no job.toml in this folder"),
        ("a\x00b", "cannot be read|there is no such folder"),
    ):
        with pytest.raises(SlabwrightError, match=says):
            read_folder(folder)
    for folder, says in (
        (tmp_path, "holds something already"),
        (tmp_path / "file", "is no folder"),
        (tmp_path / "file" / "below", "cannot be written"),
        (tmp_path / ("x" * 300), "cannot be written"),
    ):
        with pytest.raises(SlabwrightError, match=says):
            write_folder(folder, FILES)
    assert (tmp_path / "file").read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["empty", "file"]
