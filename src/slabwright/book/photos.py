"""Photos: known by what they hold and not by their name, made small, and freed of everything but the picture."""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, insert, select

from slabwright.book.contents import keep, kept
from slabwright.book.revisions import newest
from slabwright.book.rows import Photo, PhotoRow
from slabwright.book.stated import now, words
from slabwright.book.tables import contents, photos
from slabwright.findings import SlabwrightError
from slabwright.job.paths import shown

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFile import ImageFile

LARGEST = 60_000_000
"""Bytes of a photo that is read."""
MOST_PIXELS = 80_000_000
LONGEST_SIDE = 2400
"""Pixels of the longer side of a photo as it is kept."""
_QUALITY = 85
_BROKEN = (
    OSError,
    ValueError,
    SyntaxError,
    TypeError,
    LookupError,
    EOFError,
    MemoryError,
    ArithmeticError,
    RuntimeError,
    AttributeError,
    struct.error,
    zlib.error,
)
"""What a broken file makes the readers of Pillow raise."""
_KINDS = "a JPEG, PNG or WebP picture"


@dataclass(frozen=True)
class Picture:
    """A photo as it is kept: a JPEG without metadata."""

    data: bytes
    width: int
    height: int


def picture(data: bytes, name: str) -> Picture:
    """A photo made fit to keep: turned upright, made small, in the screen's colours, without metadata.

    What is kept is drawn anew from the pixels, so nothing that was hidden in or behind the picture comes along.

    Args:
        data: the file as it came
        name: what messages call it

    Raises:
        SlabwrightError: it is no JPEG, PNG or WebP picture, is broken, or is too large.
    """
    from PIL import Image as Images
    from PIL import ImageOps

    quoted = shown(name)
    if len(data) > LARGEST:
        raise SlabwrightError(f"{quoted} holds {len(data) / 1e6:.0f} MB; a photo may hold {LARGEST / 1e6:.0f} MB")
    reader = _reader(data)
    if reader is None:
        raise SlabwrightError(f"{quoted} {_what_it_is(data)}; a photo is {_KINDS}")
    try:
        with reader(io.BytesIO(data)) as opened:
            width, height = opened.size
            if width * height > MOST_PIXELS:
                raise SlabwrightError(
                    f"{quoted} has {width} x {height} pixels; a photo may have {MOST_PIXELS / 1e6:.0f} million"
                )
            opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            opened.load()
            shades: Image = _in_shades(opened)
            shades.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Images.Resampling.LANCZOS)
            upright = _on_white(_in_screen_colours(ImageOps.exif_transpose(shades)))
            bare = Images.new("RGB", upright.size)
            bare.paste(upright)
    except SlabwrightError:
        raise
    except _BROKEN as error:
        raise SlabwrightError(f"{quoted} is broken and cannot be read as a picture; a photo is {_KINDS}") from error
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return Picture(out.getvalue(), *bare.size)


def _reader(data: bytes) -> type[ImageFile] | None:
    """Who reads a file that begins like this; without Pillow's own guess, which would try every format that it knows."""
    if data.startswith(b"\xff\xd8\xff"):
        from PIL.JpegImagePlugin import JpegImageFile

        return JpegImageFile
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        from PIL.PngImagePlugin import PngImageFile

        return PngImageFile
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        from PIL.WebPImagePlugin import WebPImageFile

        return WebPImageFile
    return None


def _what_it_is(data: bytes) -> str:
    """What a file is instead, where it is well known."""
    if not data:
        return "is empty"
    if data.startswith((b"\x7fELF", b"MZ", b"#!", b"\xca\xfe\xba\xbe", b"\xcf\xfa\xed\xfe")):
        return "is a program, whatever its name says"
    if data[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypavif"):
        return "is a picture in a format that is not kept; save it as JPEG"
    if data.startswith((b"GIF8", b"II*\x00", b"MM\x00*", b"BM")):
        return "is a picture in a format that is not kept; save it as JPEG"
    if data.startswith(b"%PDF"):
        return "is a PDF; put it into the job's folder instead"
    return "is no picture, whatever its name says"


def _in_shades(image: Image) -> Image:
    """In a mode that can be made small: a palette, black on white or 16 bits of grey cannot."""
    if image.mode in ("P", "PA"):
        return image.convert("RGBA")
    if image.mode.startswith("I"):  # the upper 8 of 16 bits
        return image.point(lambda grey: grey / 256.0).convert("L")
    return image.convert("L") if image.mode == "1" else image


def _in_screen_colours(image: Image) -> Image:
    """The same colours on every screen: a camera's own colour space is turned into sRGB before its profile goes."""
    from PIL import ImageCms

    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA"):
        return image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode=image.mode)
    except (ImageCms.PyCMSError, OSError):
        return image  # a profile that cannot be read says nothing about the colours
    return turned or image


def _on_white(image: Image) -> Image:
    """Without transparency."""
    from PIL import Image as Images

    if image.mode.startswith(("RGBA", "LA", "PA", "La", "RGBa")) or "transparency" in image.info:
        clear = image.convert("RGBA")
        white = Images.new("RGBA", clear.size, "white")
        return Images.alpha_composite(white, clear).convert("RGB")
    return image.convert("RGB")


def add(connection: Connection, job: int, name: str, made: Picture, who: str, note: str) -> Photo:
    """One more photo of a job.

    Raises:
        SlabwrightError: there is no such job.
    """
    newest(connection, job)
    row: dict[str, Any] = {
        "job": job,
        "name": words(name.replace("\\", "/").rpartition("/")[2], "the photo's name", most=200),
        "width": made.width,
        "height": made.height,
        "content": keep(connection, made.data),
        "who": words(who, "who", most=200),
        "at": now(),
        "note": words(note, "the note", wanted=False),
    }
    (photo,) = connection.execute(insert(photos), row).inserted_primary_key or (0,)
    size = len(made.data)
    return Photo(
        int(photo), job, row["name"], made.width, made.height, size, row["who"], row["at"], row["note"], made.data
    )


def rows(connection: Connection, job: int) -> tuple[PhotoRow, ...]:
    """A job's photos, oldest first.

    Raises:
        SlabwrightError: there is no such job.
    """
    newest(connection, job)
    asked = select(photos, contents.c.size).join_from(photos, contents).where(photos.c.job == job)
    return tuple(_photo_row(row) for row in connection.execute(asked.order_by(photos.c.id)))


def photo(connection: Connection, number: int) -> Photo:
    """A photo with its picture.

    Raises:
        SlabwrightError: there is no such photo.
    """
    asked = select(photos, contents.c.size).join_from(photos, contents).where(photos.c.id == number)
    row = 0 < number < 2**31 and connection.execute(asked).first()
    if not row:
        raise SlabwrightError(f"there is no photo {number} in the book")
    told = _photo_row(row)
    return Photo(**vars(told), data=kept(connection, row.content))


def _photo_row(row: Any) -> PhotoRow:
    return PhotoRow(row.id, row.job, row.name, row.width, row.height, row.size, row.who, row.at, row.note)
