"""Any job goes from a folder into the book and back, byte for byte; any order of saves leaves what a plain list would."""

from __future__ import annotations

import io
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from tests.book_places import FILES, JOB, KINDS, new_place, photo
from tests.property.test_job_files import CHANGES, GOOD, SHOP, changes

from slabwright.book import Book, Superseded, open_book, restore_book
from slabwright.book.comparing import changes as differences
from slabwright.book.photos import picture
from slabwright.book.stated import is_control
from slabwright.findings import SlabwrightError
from slabwright.job.folder import checked_name, read_folder, write_folder
from slabwright.job.load import job_from, toml_from
from slabwright.job.write import with_values

remarks = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
names = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="/\\:\x7f"), min_size=1, max_size=20
).filter(lambda name: not name.startswith("."))
contents = st.binary(max_size=200) | st.text(max_size=80).map(lambda text: text.encode("utf-8", "surrogatepass"))


@st.composite
def jobs(draw: st.DrawFn) -> dict[str, bytes]:
    """A job's files: a job file with any values and remarks, and any other files in any folders."""
    wanted = draw(st.lists(changes, max_size=3, unique_by=lambda change: change[0].partition("[")[0].partition(".")[0]))
    text = with_values(GOOD, dict(wanted))
    for remark in draw(st.lists(remarks, max_size=3)):
        lines = text.split("\n")
        lines.insert(draw(st.sampled_from([0, 1, len(lines)])), f"# {remark}")
        text = "\n".join(lines)
    if draw(st.booleans()):
        text = text.replace("\n", "\r\n")
    mark = b"\xef\xbb\xbf" if draw(st.booleans()) else b""
    files = {"job.toml": mark + text.encode("utf-8", "replace")}
    if draw(st.booleans()):
        files["shop.toml"] = SHOP.encode()
    for name in draw(st.lists(names, max_size=4, unique_by=lambda name: name.casefold())):
        within = "photos/" if draw(st.booleans()) else ""
        if name.casefold() not in ("job.toml", "shop.toml", "photos"):
            files[within + name] = draw(contents)
    return files


def test_the_changes_that_are_drawn_reach_every_table() -> None:
    assert {key.partition(".")[0].partition("[")[0] for key in CHANGES} >= {"job", "piece", "room", "slab", "fill"}


@pytest.fixture(params=KINDS, scope="module")
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    with open_book(new_place(request.param, tmp_path_factory.mktemp("book"))) as opened:
        yield opened


@settings(max_examples=60)
@given(files=jobs())
def test_any_job_goes_into_the_book_and_back(book: Book, files: dict[str, bytes]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        there = write_folder(Path(folder) / "there", files)
        saved = book.add(read_folder(there).files, "Ada", "")
        back = write_folder(Path(folder) / "back", book.revision(saved.job).files)
        again = {path.relative_to(back).as_posix(): path.read_bytes() for path in back.rglob("*") if path.is_file()}
    assert again == files, "byte for byte, so with its remarks"
    assert _meaning(again["job.toml"]) == _meaning(files["job.toml"])
    assert book.job(saved.job).title == "".join(" " if is_control(c) else c for c in _title(files)) or "(no title)"


def _title(files: dict[str, bytes]) -> str:
    return str(tomllib.loads(files["job.toml"].decode("utf-8-sig").replace("\r\n", "\n"))["job"]["title"])


def _meaning(data: bytes) -> object:
    try:
        return job_from(toml_from(data, "job.toml"))
    except SlabwrightError as error:
        return str(error)


steps = st.lists(
    st.tuples(st.sampled_from(["save", "late", "restore", "draft"]), st.integers(0, 99), st.integers(0, 4)),
    max_size=12,
)


@settings(max_examples=40)
@given(steps=steps)
def test_any_order_of_saves_leaves_what_a_plain_list_would(book: Book, steps: list[tuple[str, int, int]]) -> None:
    kept: list[dict[str, bytes]] = [FILES]
    beside: list[dict[str, bytes]] = []
    job = book.add(FILES, "Ada", "").job
    for what, pick, content in steps:
        files = {"job.toml": JOB + b"# %d\n" % content}
        number = pick % len(kept) + 1
        if what == "save":
            assert book.save(job, files, len(kept), "Ada", "").number == len(kept) + 1
            kept.append(files)
        elif what == "late" and number < len(kept):
            with pytest.raises(Superseded) as told:
                book.save(job, files, number, "Ben", "")
            assert told.value.newest == len(kept)
            beside.append(files)
        elif what == "restore":
            book.restore(job, number, "Ada")
            kept.append(kept[number - 1])
        elif what == "draft" and beside:
            row = book.drafts(job)[pick % len(beside)]
            assert dict(book.draft(row.id).files) == beside[pick % len(beside)]
    assert [dict(book.revision(job, number + 1).files) for number in range(len(kept))] == kept
    assert [dict(book.draft(row.id).files) for row in book.drafts(job)] == beside
    one, other = kept[0], kept[-1]
    assert (book.compare(job, 1, len(kept)) == ()) == (one == other)


@settings(max_examples=60)
@given(old=jobs(), new=jobs())
def test_differences_name_every_file_that_differs(old: dict[str, bytes], new: dict[str, bytes]) -> None:
    told = {change.file for change in differences(old, new)}
    assert told == {name for name in old.keys() | new.keys() if old.get(name) != new.get(name)}
    for change in differences(old, new):
        assert (change.old is None) <= (change.new is not None)


@settings(max_examples=150)
@given(st.text(max_size=30) | st.lists(st.sampled_from(["..", ".", "", "a", "C:", "\\"])).map("/".join))
def test_a_name_stays_in_its_folder_or_is_refused(name: str) -> None:
    home = Path("/somewhere/desk")
    try:
        checked_name(name)
    except SlabwrightError as error:
        assert str(error).isprintable()
        return
    path = home / name
    assert path.is_relative_to(home) and path != home and ".." not in path.parts


@settings(max_examples=200)
@given(data=st.data(), kind=st.sampled_from(["JPEG", "PNG", "WEBP"]))
def test_a_broken_photo_is_a_photo_or_one_line(data: st.DataObject, kind: str) -> None:
    whole = bytearray(photo(kind))
    for _ in range(data.draw(st.integers(0, 6))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    cut = bytes(whole[: data.draw(st.integers(0, len(whole)))]) if data.draw(st.booleans()) else bytes(whole)
    try:
        made = picture(cut, "face-a.jpg")
    except SlabwrightError as error:
        assert str(error).startswith("'face-a.jpg' ") and str(error).isprintable()
        return
    with Image.open(io.BytesIO(made.data)) as image:
        assert image.format == "JPEG" and image.size == (made.width, made.height)


@settings(max_examples=5)
@given(st.lists(jobs(), min_size=1, max_size=3))
def test_any_book_comes_back_from_its_backup(many: list[dict[str, bytes]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        with open_book(home / "book.sqlite") as own:
            for files in many:
                own.add(files, "Ada", "")
            own.backup(home / "copy.sqlite")
        restore_book(home / "copy.sqlite", home / "back.sqlite")
        with open_book(home / "back.sqlite") as back:
            found: list[Any] = [dict(back.revision(job.id).files) for job in back.jobs()]
    assert found == many
