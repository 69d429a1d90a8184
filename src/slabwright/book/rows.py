"""What the shop book hands out: frozen rows, with times in UTC."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from slabwright.findings import SlabwrightError

Event = Literal["started", "stopped", "done", "delayed", "failed", "approved"]
Verdict = Literal["approved", "asked"]
State = Literal["new", "changes asked", "approved", "in work", "done"]
StockKind = Literal["wood", "steel", "consumable"]

WHOLE_JOB = "job"
"""The operation of a log entry that speaks of the whole job: `job` `done` is a job that is finished."""


class Superseded(SlabwrightError):  # noqa: N818 - it is no fault of anybody's
    """A save that rests on a revision which is no longer the newest; what was to be saved is kept as a draft.

    Attributes:
        job: id
        based_on: number of the revision that the save rests on
        newest: number of the newest revision
        draft: id of the draft that holds what was to be saved
    """

    def __init__(self, job: int, based_on: int, newest: int, draft: int) -> None:
        super().__init__(
            f"job {job}: this rests on revision {based_on}, and revision {newest} is there by now; "
            f"it is kept as draft {draft}: compare the two and save what is right on top of revision {newest}"
        )
        self.job = job
        self.based_on = based_on
        self.newest = newest
        self.draft = draft

    def __reduce__(self) -> tuple[type[Superseded], tuple[int, int, int, int]]:
        """As it goes from one process to another."""
        return Superseded, (self.job, self.based_on, self.newest, self.draft)


@dataclass(frozen=True)
class JobRow:
    """A job at a glance.

    Attributes:
        id: of the job in this book
        title: as the newest job file says
        client: for whom
        revision: number of the newest revision
        when: it was saved
        who: saved it
        state: what the sign-offs and the log say
    """

    id: int
    title: str
    client: str
    revision: int
    when: datetime
    who: str
    state: State


@dataclass(frozen=True)
class RevisionRow:
    """A revision without its files.

    Attributes:
        job: id
        number: from 1
        who: saved it
        when: it was saved
        why: in their words
        title: what the piece was called
        based_on: the revision that it was made from; None for the first
    """

    job: int
    number: int
    who: str
    when: datetime
    why: str
    title: str
    based_on: int | None


@dataclass(frozen=True)
class Revision:
    """A job's files as they were saved.

    Attributes:
        job: id
        number: from 1
        files: bytes of each file by its name
        who: saved it
        when: it was saved
        why: in their words
    """

    job: int
    number: int
    files: Mapping[str, bytes] = field(repr=False)
    who: str
    when: datetime
    why: str


@dataclass(frozen=True)
class DraftRow:
    """What somebody was about to save when another had been quicker.

    Attributes:
        id: of the draft in this book
        job: id
        based_on: the revision that it was made from
        newest: the revision that had come before it
        who: wanted to save it
        when: they tried
        why: in their words
        settled: whether somebody has seen to it
    """

    id: int
    job: int
    based_on: int
    newest: int
    who: str
    when: datetime
    why: str
    settled: bool


@dataclass(frozen=True)
class Draft(DraftRow):
    """A draft with its files."""

    files: Mapping[str, bytes] = field(repr=False)


@dataclass(frozen=True)
class Change:
    """One difference between two revisions.

    Attributes:
        file: name
        key: of a TOML file, as messages write it (`slab.defects[0].depth`); empty where the file as a whole is told
        old: what it said, or None where there was nothing
        new: what it says, or None where there is nothing
    """

    file: str
    key: str
    old: str | None
    new: str | None


@dataclass(frozen=True)
class Entry:
    """One line of the log.

    Attributes:
        id: of the entry
        job: id
        operation: which one; `job` for the whole job
        event: what happened
        at: when it happened
        who: saw it
        minutes: attended time that it took, where it was told [min]
        note: in their words
        written: when it was logged
    """

    id: int
    job: int
    operation: str
    event: Event
    at: datetime
    who: str
    minutes: float | None
    note: str
    written: datetime


@dataclass(frozen=True)
class PhotoRow:
    """A photo without its picture.

    Attributes:
        id: of the photo
        job: id
        name: as it was given
        width: as kept [pixels]
        height: as kept [pixels]
        size: as kept [bytes]
        who: added it
        when: it was added
        note: in their words
    """

    id: int
    job: int
    name: str
    width: int
    height: int
    size: int
    who: str
    when: datetime
    note: str


@dataclass(frozen=True)
class Photo(PhotoRow):
    """A photo: a JPEG of at most 2400 pixels a side, without anything but the picture."""

    data: bytes = field(repr=False)


@dataclass(frozen=True)
class SignOff:
    """What a client said to a revision.

    Attributes:
        id: of the sign-off
        job: id
        what: they looked at, such as `drawing` or `sample of the finish`
        revision: that it showed
        name: of who said it
        at: when
        verdict: `approved`, or `asked` for changes
        words: in their own words
    """

    id: int
    job: int
    what: str
    revision: int
    name: str
    at: datetime
    verdict: Verdict
    words: str


@dataclass(frozen=True)
class StockItem:
    """Something in the shop.

    Attributes:
        id: of the item
        kind: wood, steel or consumable
        what: species, section or product
        length: of an offcut [mm], or None
        width: of an offcut [mm], or None
        thickness: of an offcut [mm], or None
        unit: of the amount: `pieces`, `l`, `kg`, `m`
        where: it lies
        amount: that is there
        note: anything to know
    """

    id: int
    kind: StockKind
    what: str
    length: float | None
    width: float | None
    thickness: float | None
    unit: str
    where: str
    amount: float
    note: str


@dataclass(frozen=True)
class StockMove:
    """Something that was put into stock or taken from it.

    Attributes:
        item: id
        amount: put in; negative where it was taken
        at: when
        who: did it
        why: in their words
        job: that it was taken for, or that it was left over from
    """

    item: int
    amount: float
    at: datetime
    who: str
    why: str
    job: int | None


@dataclass(frozen=True)
class PriceRow:
    """What a thing costs from a day on.

    Attributes:
        what: it is
        unit: that the price is for
        amount: of money
        currency: three letters, ISO 4217
        since: first day
        source: where it was learnt: a supplier's list, an invoice
        who: wrote it down
        when: it was written down
    """

    what: str
    unit: str
    amount: Decimal
    currency: str
    since: date
    source: str
    who: str
    when: datetime
