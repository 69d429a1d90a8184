"""A photo is known by what it holds, is made small, and keeps nothing but the picture."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo
from sqlalchemy import delete
from sqlalchemy.exc import DBAPIError
from tests.book_places import FILES, KINDS, new_place, photo

from slabwright.book import Book, open_book
from slabwright.book.photos import LONGEST_SIDE, picture
from slabwright.book.tables import photos
from slabwright.findings import SlabwrightError


@pytest.fixture(params=KINDS)
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Book]:
    with open_book(new_place(request.param, tmp_path)) as opened:
        opened.add(FILES, "Ada", "")
        yield opened


def colour(data: bytes, at: tuple[int, int]) -> tuple[int, ...]:
    with Image.open(io.BytesIO(data)) as image:
        found = image.getpixel(at)
    assert isinstance(found, tuple)
    return found


def test_a_photo_is_kept_with_its_job(book: Book) -> None:
    kept = book.add_photo(1, "C:\\photos\\face a.png", photo("PNG"), "Ada", "before flattening")
    assert (kept.id, kept.job, kept.name, kept.width, kept.height) == (1, 1, "face a.png", 60, 40)
    assert kept.data.startswith(b"\xff\xd8\xff") and kept.size == len(kept.data)
    assert book.photo(1) == kept
    (row,) = book.photos(1)
    assert (row.id, row.note, row.size, hasattr(row, "data")) == (1, "before flattening", kept.size, False)
    for number in (0, 2, 10**12):
        with pytest.raises(SlabwrightError, match=f"there is no photo {number}"):
            book.photo(number)
    with book.store.engine.connect() as connection, pytest.raises(DBAPIError, match="a shop book only adds"):
        connection.execute(delete(photos))


@pytest.mark.parametrize(
    "program",
    [
        b"\x7fELF\x02\x01\x01" + b"\x00" * 200,
        b"MZ\x90\x00" + b"\x00" * 200,
        b"#!/bin/sh\nrm -rf /\n",
    ],
)
def test_a_photo_that_is_a_program_is_refused(book: Book, program: bytes) -> None:
    with pytest.raises(SlabwrightError, match=r"'face-a\.jpg' is a program, whatever its name says"):
        book.add_photo(1, "face-a.jpg", program, "Ada")
    assert book.photos(1) == ()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"<svg onload='x()'/>", "is no picture, whatever its name says"),
        (b"%PDF-1.7", "is a PDF"),
        (photo("GIF"), "in a format that is not kept; save it as JPEG"),
        (photo("BMP"), "in a format that is not kept"),
        (photo("TIFF"), "in a format that is not kept"),
        (b"\x00\x00\x00\x18ftypheic", "in a format that is not kept"),
        (b"\xff\xd8\xff\xe0 a program in disguise", "is broken"),
        (photo()[:-300], "is broken"),
        (photo("PNG")[:60], "is broken"),
        (photo("WEBP")[:40], "is broken"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "is broken"),
    ],
)
def test_what_is_no_picture_is_told(data: bytes, says: str) -> None:
    with pytest.raises(SlabwrightError, match=says):
        picture(data, "face-a.jpg")


def test_a_small_file_with_endless_pixels_is_refused() -> None:
    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    assert len(out.getvalue()) < 100_000
    with pytest.raises(SlabwrightError, match="has 20000 x 20000 pixels; a photo may have 80 million"):
        picture(out.getvalue(), "wall.png")
    with pytest.raises(SlabwrightError, match="holds 61 MB; a photo may hold 60 MB"):
        picture(photo() + b"\x00" * 61_000_000, "wall.jpg")


def test_a_large_photo_is_made_small_in_its_shape() -> None:
    made = picture(photo(size=(6000, 3000)), "wide.jpg")
    assert (made.width, made.height) == (LONGEST_SIDE, LONGEST_SIDE // 2)
    small = picture(photo(size=(30, 200)), "tall.jpg")
    assert (small.width, small.height) == (30, 200)


def test_nothing_but_the_picture_stays() -> None:
    exif = Image.Exif()
    exif[0x010E] = "the secret place"
    exif.get_ifd(0x8825)[1] = "N"
    words = PngInfo()
    words.add_text("Author", "a secret name")
    for data in (
        photo(exif=exif, comment=b"a secret word", xmp=b"<secret/>") + b"PK\x03\x04 secret behind the picture",
        photo("PNG", pnginfo=words, exif=exif),
        photo("WEBP", exif=exif, xmp=b"<secret/>"),
    ):
        assert b"secret" in data
        made = picture(data, "x").data
        assert b"secret" not in made
        with Image.open(io.BytesIO(made)) as image:
            assert not image.getexif() and set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_photo_taken_on_its_side_is_turned_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32, table 4, Orientation 6: the first row is at the right
    made = picture(photo(exif=exif), "x.jpg")
    assert (made.width, made.height) == (40, 60)
    red, blue = colour(made.data, (20, 5)), colour(made.data, (20, 55))
    assert red[0] > 200 > 60 > red[2] and blue[2] > 200 > 60 > blue[0]


def test_every_mode_keeps_what_is_seen() -> None:
    for kind, mode in (("JPEG", "L"), ("JPEG", "CMYK"), ("PNG", "P"), ("PNG", "1"), ("PNG", "LA"), ("PNG", "I;16")):
        data = photo(kind, mode=mode) if mode != "I;16" else _deep_grey()
        made = picture(data, "x")
        assert (made.width, made.height) == (60, 40)
    clear = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(clear, "PNG")
    assert min(colour(picture(clear.getvalue(), "x").data, (10, 10))) > 250
    assert 120 <= colour(picture(_deep_grey(), "x").data, (30, 20))[0] <= 135


def _deep_grey() -> bytes:
    out = io.BytesIO()
    Image.new("I;16", (60, 40), 0x8000).save(out, "PNG")
    return out.getvalue()


def test_a_camera_s_own_colours_are_those_of_the_screen() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert colour(picture(photo(icc_profile=lab), "x").data, (5, 5))[0] > 240
    assert picture(photo(icc_profile=b"no profile at all"), "x").width == 60
