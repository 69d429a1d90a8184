r"""Tables of numbers as text: millions of rows at once, and row by row where something is wrong.

The quick way takes only bytes that can't be misread (digits, signs, points, exponents, commas, face letters) in rows that
all have the same number of cells; anything else goes the careful way, which reads what a person may have typed and names
the line of what it can't read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.paths import shown
from slabwright.job.readings.source import FARTHEST, Source

_HEADS_FACE = re.compile(r"\W*face\W+[ab]\W*", re.IGNORECASE)
_PLAIN = b"0123456789+-.eE,\n"
_LETTERS = bytes.maketrans(b"ABab,\n", b"1212  ")
_SPACES = bytes.maketrans(b",\n", b"  ")


@dataclass(frozen=True)
class Text:
    r"""A text file with its delimiter.

    Attributes:
        source: the file
        data: its bytes, UTF-8, lines ended by `\n`
        delimiter: `,`, `;`, a tab, or a space for any run of blanks
    """

    source: Source
    data: bytes
    delimiter: str

    def rows(self, start: int = 0, first_line: int = 1) -> Iterator[tuple[int, list[str]]]:
        """Line number and cells of each line that is neither blank nor a comment.

        Args:
            start: byte at which to start
            first_line: the number of the line there
        """
        for line, raw in enumerate(self.data[start:].split(b"\n"), first_line):
            stripped = raw.strip()
            if not stripped or stripped.startswith((b"#", b'"#')):
                continue
            try:
                text = raw.decode()
            except UnicodeDecodeError:
                self.source.fail("the line holds characters that are not UTF-8; save the file as CSV in UTF-8.", line)
            cells = self.split(text)
            if any(cells):
                yield line, cells

    def split(self, text: str) -> list[str]:
        """The cells of a line; where the delimiter leaves the comma free, a decimal comma becomes a point."""
        if self.delimiter == " ":
            return text.split()
        cells = [cell.strip().strip('"').strip() for cell in text.split(self.delimiter)]
        return cells if self.delimiter == "," else [_point(cell) for cell in cells]


def _point(cell: str) -> str:
    return cell.replace(",", ".") if cell.count(",") == 1 and "." not in cell else cell


def open_text(source: Source) -> Text:
    """Read a text file and see which delimiter it uses, from its first line that is neither blank nor a comment."""
    data = source.read_text()
    end, _, line = _first_line(source, data)
    if _HEADS_FACE.fullmatch(line) and data[end:].strip():
        # The line that heads the grid of a face holds no delimiter, or a blank that is none.
        _, _, line = _first_line(source, data[end:])
    return Text(source, data, next((mark for mark in ";\t," if mark in line), " "))


def _first_line(source: Source, data: bytes) -> tuple[int, int, str]:
    """Byte after it, number and text of the first line that is neither blank nor a comment."""
    start, number = 0, 0
    while start < len(data):
        end = data.find(b"\n", start)
        end = len(data) if end < 0 else end
        raw, start, number = data[start:end], end + 1, number + 1
        stripped = raw.strip(b' \t\f,;"')
        if stripped and not stripped.startswith(b"#"):
            try:
                return start, number, raw.decode()
            except UnicodeDecodeError:
                source.fail("the line holds characters that are not UTF-8; save the file as CSV in UTF-8.", number)
    source.fail("the file holds nothing but comments; export the readings again.")


@dataclass(frozen=True)
class Header:
    """The first line that counts.

    Attributes:
        cells: as they stand
        names: the same in lower case
        line: its number
        end: the byte after it
    """

    cells: list[str]
    names: tuple[str, ...]
    line: int
    end: int


def header_of(text: Text) -> Header:
    """The header of a table, empty cells at its end left out."""
    end, line, raw = _first_line(text.source, text.data)
    cells = text.split(raw)
    while cells and not cells[-1]:
        cells.pop()
    return Header(cells, tuple(cell.lower() for cell in cells), line, end)


@dataclass(frozen=True)
class Table:
    """Rows of numbers in mm.

    Attributes:
        values: shape (rows, columns); a column of face letters holds 1 for A and 2 for B
        text: where they come from
        start: byte of the first row
        first_line: its line
    """

    values: Floats
    text: Text
    start: int
    first_line: int

    def line(self, row: int) -> int:
        """The line on which a row stands."""
        for at, (line, _) in enumerate(self.text.rows(self.start, self.first_line)):
            if at == row:
                return line
        raise IndexError(row)


def read_table(text: Text, columns: Sequence[str], start: int, first_line: int, *, more: bool = False) -> Table:
    """Read the rows of a table.

    Args:
        text: the file
        columns: what stands in each, for messages; a column `face` holds A or B and comes first
        start: byte of the first row
        first_line: its line
        more: whether rows may have further columns, which are passed over

    Raises:
        SlabwrightError: a row that can't be read, by its line.
    """
    values = None if more else _quickly(text, columns, start)
    if values is None:
        values = _carefully(text, columns, start, first_line, more)
    return Table(values, text, start, first_line)


def _quickly(text: Text, columns: Sequence[str], start: int) -> Floats | None:
    """All rows at once, or None where the bytes are not plain enough to be sure."""
    body, letters, width = text.data[start:], columns[0] == "face", len(columns)
    if b"#" in body:
        body = b"\n".join(line for line in body.split(b"\n") if not line.lstrip().startswith((b"#", b'"#')))
    body = _with_commas(body, text.delimiter)
    while b"\n\n" in body:
        body = body.replace(b"\n\n", b"\n")
    body = body.strip(b"\n") + b"\n"
    if body.translate(None, _PLAIN + (b"ABab" if letters else b"")) or len(body) < 2:
        return None
    bytes_ = np.frombuffer(body, np.uint8)
    ends = np.flatnonzero(bytes_ == ord("\n"))
    commas = np.flatnonzero(bytes_ == ord(","))
    if commas.size != ends.size * (width - 1):
        return None
    starts = np.concatenate([[0], ends[:-1] + 1])
    marks = np.column_stack([starts - 1, commas.reshape(ends.size, width - 1), ends])
    if np.any(np.diff(marks, axis=1) < 2):
        return None
    if letters:
        count = len(body) - len(body.translate(None, b"ABab"))
        if count != ends.size or np.any(marks[:, 1] != starts + 1) or np.any(bytes_[starts] < ord("A")):
            return None
    try:
        flat = np.fromstring(body.translate(_LETTERS if letters else _SPACES), dtype=np.float64, sep=" ")
    except (ValueError, DeprecationWarning):
        return None
    if flat.size != ends.size * width:
        return None
    values: Floats = flat.reshape(ends.size, width)
    values[:, 1 if letters else 0 :] *= text.source.factor
    # The careful way names the line of what is not finite or too far away.
    return values if bool(np.all(np.abs(values) <= FARTHEST)) else None


def _with_commas(body: bytes, delimiter: str) -> bytes:
    """The same rows delimited by commas with decimal points and without blanks about the delimiters."""
    if delimiter == " ":
        body = body.replace(b"\t", b" ")
        while b"  " in body:
            body = body.replace(b"  ", b" ")
        return body.replace(b"\n ", b"\n").replace(b" \n", b"\n").strip(b" ").replace(b" ", b",")
    if delimiter != ",":
        body = body.replace(b",", b".").replace(delimiter.encode(), b",")
    if b" " in body:
        for old, new in ((b", ", b","), (b" ,", b","), (b"\n ", b"\n"), (b" \n", b"\n")):
            body = body.replace(old, new)
    return body


def _carefully(text: Text, columns: Sequence[str], start: int, first_line: int, more: bool) -> Floats:
    source, width = text.source, len(columns)
    rows: list[list[float]] = []
    for line, cells in text.rows(start, first_line):
        while len(cells) > width and not cells[-1]:
            cells.pop()
        if len(cells) < width or (len(cells) > width and not more):
            source.fail(
                f"the row has {len(cells)} {'cell' if len(cells) == 1 else 'cells'}; {width} are wanted: {','.join(columns)}.",
                line,
            )
        row = []
        for what, cell in zip(columns, cells, strict=False):
            if what != "face":
                row.append(source.number(cell, what, line))
            elif cell.upper() in ("A", "B"):
                row.append(1.0 if cell.upper() == "A" else 2.0)
            else:
                source.fail(f"the face is {shown(cell)}; it is A or B.", line)
        rows.append(row)
    if not rows:
        source.fail(f"there are no rows below the header; write the readings as {','.join(columns)}.", first_line)
    return np.array(rows, dtype=np.float64)
