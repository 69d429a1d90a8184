"""The shop's history of hours: a CSV with one row for each operation of an earlier job."""

from __future__ import annotations

import csv
import datetime
import math
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from slabwright.findings import SlabwrightError
from slabwright.job.paths import inside, shown

WANTED = ("date", "job", "kind", "amount", "minutes")
LARGEST = 20_000_000
"""Bytes; a history beyond is refused: it holds hundreds of thousands of rows."""
MOST_MINUTES = 1_000_000.0


@dataclass(frozen=True)
class LoggedHours:
    """What one operation of an earlier job took.

    Attributes:
        date: when it was done
        job: whose
        kind: of operation
        amount: of what drives it: metres, joints, square metres, pieces
        minutes: hands on it, of one crew
        line: of the file
    """

    date: datetime.date
    job: str
    kind: str
    amount: float
    minutes: float
    line: int = 0


def history(folder: Path, name: str, key: str) -> tuple[LoggedHours, ...]:
    """Read the shop's history.

    Args:
        folder: the shop file's folder
        name: the CSV as it was stated
        key: where it was stated, as messages say it: `shop.toml:7: history.file`

    Returns:
        The rows in the order of their dates; rows of one day as they stand.

    Raises:
        SlabwrightError: it is not there, lies outside the folder, or a row cannot be used; names file and line.
    """
    path = inside(folder, name, key)
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
        text = data.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise SlabwrightError(f"{key}: {shown(name)} cannot be read as text; save it as CSV in UTF-8") from None
    if len(data) > LARGEST:
        raise SlabwrightError(f"{key}: {shown(name)} is larger than 20 MB; leave the oldest rows out")
    return _rows(text, shown(name, 200)[1:-1])


def _rows(text: str, file: str) -> tuple[LoggedHours, ...]:
    lines = text.splitlines()
    reader = csv.reader(lines, delimiter=";" if lines and ";" in lines[0] else ",")
    header: list[str] | None = None
    found: list[LoggedHours] = []
    try:
        for cells in reader:
            cells = [cell.strip() for cell in cells]
            if not any(cells) or cells[0].startswith("#"):
                continue
            if header is None:
                header = [cell.lower() for cell in cells]
                if missing := [column for column in WANTED if column not in header]:
                    _fail(file, reader.line_num, f"there is no column {missing[0]}; the header is {','.join(WANTED)}")
                continue
            found.append(_row(dict(zip(header, cells, strict=False)), file, reader.line_num))
    except csv.Error as error:
        _fail(file, reader.line_num, f"is no row of a CSV ({error}); write {','.join(WANTED)}")
    if header is None:
        _fail(file, 1, f"is empty; the first line is {','.join(WANTED)}")
    return tuple(sorted(found, key=lambda row: row.date))


def _row(cells: dict[str, str], file: str, line: int) -> LoggedHours:
    if missing := [column for column in WANTED if not cells.get(column)]:
        _fail(file, line, f"{missing[0]} is missing; a row is {','.join(WANTED)}")
    try:
        date = datetime.date.fromisoformat(cells["date"])
    except ValueError:
        _fail(file, line, f"date is {shown(cells['date'])}; write it as 2026-03-14")
    amounts = []
    for column in ("amount", "minutes"):
        try:
            value = float(cells[column])
        except ValueError:
            value = math.nan
        if not 0.0 < value <= MOST_MINUTES * (1000.0 if column == "amount" else 1.0):
            _fail(file, line, f"{column} is {shown(cells[column])}; it must be a number above 0, of a reasonable size")
        amounts.append(value)
    return LoggedHours(date, cells["job"][:200], cells["kind"][:200], amounts[0], amounts[1], line)


def _fail(file: str, line: int, wrong: str) -> NoReturn:
    raise SlabwrightError(f"{file}:{line}: {wrong}")
