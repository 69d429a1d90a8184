"""A file of readings or of an outline: its name, who named it, its unit, and errors that name all of them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from slabwright.findings import SlabwrightError
from slabwright.job.models import ReadingUnit
from slabwright.job.paths import shown
from slabwright.quantities import QuantityError, parse_length

MILLIMETRES: dict[ReadingUnit, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
FARTHEST = 100_000.0
"""Millimetres; a coordinate beyond is no slab's."""

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_BYTE_ORDER_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_NOT_TEXT = bytes(set(range(32)) - set(b"\t\n\r\f")) + b"\x7f"


def is_number(cell: str) -> bool:
    """Whether a cell is a plain decimal number."""
    return len(cell) <= 60 and _NUMBER.fullmatch(cell) is not None


@dataclass(frozen=True)
class Source:
    """A file that the job names.

    Attributes:
        path: the file, checked to lie in the job's folder
        name: as it was stated
        key: the key that named it, and where: `slab.survey, job.toml:7`
        unit: of its numbers
    """

    path: Path
    name: str
    key: str
    unit: ReadingUnit

    @property
    def factor(self) -> float:
        """Millimetres in one of the file's units."""
        return MILLIMETRES[self.unit]

    def fail(self, wrong: str, line: int | None = None) -> NoReturn:
        """Raise the error that says what is wrong, in which file and line, and which key named the file."""
        at = shown(self.name, 200)[1:-1] if line is None else f"{shown(self.name, 200)[1:-1]}:{line}"
        raise SlabwrightError(f"{at}: {' '.join(wrong.split()).removesuffix('.')} ({self.key})")

    def number(self, cell: str, what: str, line: int) -> float:
        """A cell's number in mm; in inches also with fractions, as `3 5/16`.

        Args:
            cell: the text, with a decimal point
            what: what it should be, for the message: `z`
            line: its line in the file
        """
        text = cell.strip().replace("\u2212", "-")
        if is_number(text):
            value = float(text) * self.factor
        elif not text:
            self.fail(f"{what} is missing; write a number in {self.unit}.", line)
        elif self.unit == "in" and "/" in text:
            value = self._fraction(text, what, line)
        else:
            self.fail(f"{what} is {shown(text)}, not a number; write a number in {self.unit}.", line)
        if not abs(value) <= FARTHEST:
            self.fail(
                f"{what} is {shown(text)} {self.unit}, more than 100 m away; correct it, or the unit of the file.", line
            )
        return value

    def _fraction(self, text: str, what: str, line: int) -> float:
        sign = -1.0 if text.startswith("-") else 1.0
        try:
            return sign * parse_length(text.lstrip("+-").strip(), "in")
        except QuantityError:
            self.fail(f"{what} is {shown(text)}, not a number of inches; write it as 3.3125 or 3 5/16.", line)

    def read(self) -> bytes:
        """The whole file."""
        try:
            data = self.path.read_bytes()
        except OSError as error:
            self.fail(f"the file can't be read ({error.strerror}); check that it is readable.")
        if not data.strip():
            self.fail("the file is empty; export it again.")
        return data

    def read_text(self) -> bytes:
        r"""The whole file as UTF-8 without byte order mark, lines ended by `\n`."""
        data = self.read()
        for mark, encoding in _BYTE_ORDER_MARKS:
            if data.startswith(mark):
                try:
                    data = data[len(mark) :].decode(encoding).encode()
                except UnicodeDecodeError:
                    self.fail(f"the file's text can't be read as {encoding.upper()}; save it as CSV in UTF-8.")
                break
        wrong = len(data) - len(data.translate(None, _NOT_TEXT))
        if wrong:
            self.fail("the file holds bytes that are not text; save it as CSV in UTF-8.")
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in data else data
        if not data.strip():
            self.fail("the file is empty; export it again.")
        return data
