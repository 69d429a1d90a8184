"""Files that come in: by size and kind, told by what they hold rather than by their name."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE, checked_files, checked_name
from slabwright.job.paths import shown

LARGEST = 32 * 1024 * 1024
"""Bytes of one file."""
MOST_FILES = 200
MOST_UNPACKED = 128 * 1024 * 1024
_TEXT = (".toml", ".csv", ".txt", ".md", ".obj", ".dxf", ".svg")
_BEGINS: dict[str, tuple[bytes, ...]] = {
    ".ply": (b"ply",),
    ".jpg": (b"\xff\xd8\xff",),
    ".jpeg": (b"\xff\xd8\xff",),
    ".png": (b"\x89PNG\r\n\x1a\n",),
    ".webp": (b"RIFF",),
    ".pdf": (b"%PDF-",),
}
KINDS = tuple(sorted({*_TEXT, *_BEGINS, ".stl"}))


def checked_upload(name: str, data: bytes) -> str:
    """The name of a file that may be kept, once it is known to hold what its name says.

    Raises:
        SlabwrightError: its name leads out of the job's folder, it is too large, or of no kind that a job holds.
    """
    checked_name(name)
    ending = "." + name.rpartition(".")[2].lower() if "." in name else ""
    quoted = shown(name, 60)
    if len(data) > LARGEST:
        raise SlabwrightError(f"{quoted} holds {len(data) / 1e6:.0f} MB; at most {LARGEST / 1e6:.0f} MB are taken")
    if ending not in KINDS:
        raise SlabwrightError(f"{quoted} is of no kind that a job holds; send {', '.join(KINDS)}")
    if ending in _TEXT and not _is_text(data):
        raise SlabwrightError(f"{quoted} is no text, as {ending} should be; save it as UTF-8 text")
    if ending in _BEGINS and not data.startswith(_BEGINS[ending]):
        raise SlabwrightError(f"{quoted} does not hold what {ending} says; send the file as it was written")
    if ending == ".stl" and not (_is_text(data) or _is_binary_stl(data)):
        raise SlabwrightError(f"{quoted} does not hold a mesh; send the file as it was written")
    return name


def _is_text(data: bytes) -> bool:
    if b"\x00" in data:
        return False
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return True


def _is_binary_stl(data: bytes) -> bool:
    """A head of 80 bytes, the count of triangles, and 50 bytes for each."""
    return len(data) >= 84 and len(data) == 84 + 50 * int.from_bytes(data[80:84], "little")


def checked_folder(sent: Mapping[str, bytes]) -> dict[str, bytes]:
    """A job's files from what was sent: files, files of a folder, or one zip; the folder's own name is left out.

    Raises:
        SlabwrightError: there is no job file among them, or one of them may not be kept.
    """
    files = dict(sent)
    if len(files) == 1 and next(iter(files.values())).startswith(b"PK\x03\x04"):
        files = _unpacked(next(iter(files.values())))
    files = {name: data for name, data in files.items() if not _hidden(name)}
    heads = {name.partition("/")[0] for name in files}
    if len(heads) == 1 and all("/" in name for name in files):
        files = {name.partition("/")[2]: data for name, data in files.items()}
    if JOB_FILE not in files:
        raise SlabwrightError(f"there is no {JOB_FILE} among the files; choose the job's own folder, or its zip")
    if len(files) > MOST_FILES:
        raise SlabwrightError(f"{len(files)} files are too many for a job; at most {MOST_FILES} are taken")
    for name, data in files.items():
        checked_upload(name, data)
    return checked_files(files)


def _hidden(name: str) -> bool:
    """Whether a file or a folder on its way is hidden; a name that leads out is not, and is refused later."""
    return any(part.startswith(".") and part not in (".", "..") for part in name.split("/"))


def _unpacked(data: bytes) -> dict[str, bytes]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_UNPACKED:
                raise SlabwrightError(
                    f"the zip holds over {MOST_FILES} files or {MOST_UNPACKED / 1e6:.0f} MB; zip the job's own folder"
                )
            files: dict[str, bytes] = {}
            left = MOST_UNPACKED
            for entry in entries:
                with archive.open(entry) as stream:
                    files[entry.filename] = stream.read(min(left, LARGEST) + 1)
                left -= len(files[entry.filename])
                if left < 0:
                    raise SlabwrightError(f"the zip unpacks to over {MOST_UNPACKED / 1e6:.0f} MB; zip the job alone")
            return files
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        raise SlabwrightError("the zip cannot be read; zip the job's folder again, without a password") from error
