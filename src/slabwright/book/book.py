"""The shop book as the commands and the pages see it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from slabwright.book import journal, photos, revisions
from slabwright.book.links import Links
from slabwright.book.readings import ReadingsBegun
from slabwright.book.rows import (
    Change,
    Draft,
    DraftRow,
    Entry,
    Event,
    JobRow,
    Photo,
    PhotoRow,
    Revision,
    RevisionRow,
    SignOff,
    Superseded,
    Verdict,
)
from slabwright.book.stated import words
from slabwright.book.stock import Stock
from slabwright.job.folder import checked_files

if TYPE_CHECKING:
    from slabwright.book.store import Store


class Book:
    """A shop book: it only ever adds. Many may read and write it at once, from threads and from processes.

    Each method is one transaction: when it returns, what it wrote is on the disk; when it raises, nothing was written (but for
    the draft of a `Superseded`). Times are in UTC.

    Attributes:
        stock: what lies in the shop, and prices
        readings: that are being taken
        links: given to clients
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self.stock = Stock(store)
        self.readings = ReadingsBegun(store)
        self.links = Links(store)

    @property
    def name(self) -> str:
        """What messages call it."""
        return self.store.name

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the book."""
        self.store.close()

    def jobs(self) -> tuple[JobRow, ...]:
        """Every job at a glance, by its id."""
        with self.store.reading() as connection:
            return journal.overview(connection)

    def job(self, job: int) -> JobRow:
        """One job at a glance.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return journal.overview(connection, job)[0]

    def add(self, files: Mapping[str, bytes], who: str, why: str) -> Revision:
        """Add a job with its first revision.

        Args:
            files: bytes of each file by its name, `job.toml` among them
            who: adds it
            why: in their words; may be empty

        Raises:
            SlabwrightError: the files make no job's folder.
        """
        checked = checked_files(files)
        said = _who_and_why(who, why)
        with self.store.writing() as connection:
            return revisions.add_job(connection, checked, *said)

    def save(self, job: int, files: Mapping[str, bytes], based_on: int, who: str, why: str) -> Revision:
        """Add a revision.

        Args:
            job: id
            files: bytes of each file by its name; all of them, whether changed or not
            based_on: number of the revision that they were made from
            who: saves it
            why: in their words; may be empty

        Raises:
            Superseded: another revision came first; what was to be saved is kept as a draft.
            SlabwrightError: there is no such job or revision, or the files make no job's folder.
        """
        checked = checked_files(files)
        said = _who_and_why(who, why)
        with self.store.writing() as connection:
            saved = revisions.save(connection, job, checked, based_on, *said)
        if isinstance(saved, Draft):
            raise Superseded(job, based_on, saved.newest, saved.id)
        return saved

    def revision(self, job: int, number: int | None = None) -> Revision:
        """A revision with its files; without a number the newest.

        Raises:
            SlabwrightError: there is no such job or revision, or it is damaged.
        """
        with self.store.reading() as connection:
            return revisions.revision(connection, job, number)

    def revisions(self, job: int) -> tuple[RevisionRow, ...]:
        """Every revision of a job, oldest first.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return revisions.rows(connection, job)

    def compare(self, job: int, old: int, new: int) -> tuple[Change, ...]:
        """What differs between two revisions: file by file, of TOML files key by key.

        Raises:
            SlabwrightError: there is no such job or revision.
        """
        from slabwright.book.comparing import changes

        with self.store.reading() as connection:
            before, after = (revisions.revision(connection, job, number).files for number in (old, new))
        return changes(before, after)

    def restore(self, job: int, number: int, who: str, why: str = "", *, as_it_was: bool = False) -> Revision:
        """Add a revision with what an earlier one stated; what happened since (log, deliveries, checks) stays.

        Args:
            job: id
            number: of the earlier revision
            who: goes back
            why: in their words; may be empty
            as_it_was: whether the files are to be those of the earlier one, with nothing of what happened since

        Raises:
            SlabwrightError: there is no such job or revision, or what happened cannot be put into it.
        """
        said = _who_and_why(who, why)
        with self.store.writing() as connection:
            return revisions.restore(connection, job, number, *said, as_it_was=as_it_was)

    def drafts(self, job: int, *, settled: bool = False) -> tuple[DraftRow, ...]:
        """What was kept beside a job's revisions, because another had been quicker.

        Args:
            job: id
            settled: whether those that somebody has seen to are told too

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return revisions.draft_rows(connection, job, settled=settled)

    def draft(self, draft: int) -> Draft:
        """A draft with its files.

        Raises:
            SlabwrightError: there is no such draft, or it is damaged.
        """
        with self.store.reading() as connection:
            return revisions.draft(connection, draft)

    def settle_draft(self, draft: int, who: str) -> None:
        """Say that a draft was seen to: it is no longer listed, and stays in the book.

        Raises:
            SlabwrightError: there is no such draft.
        """
        said = words(who, "who", most=200)
        with self.store.writing() as connection:
            revisions.settle(connection, draft, said)

    def log(
        self,
        job: int,
        operation: str,
        event: Event,
        at: datetime | None,
        who: str,
        minutes: float | None = None,
        note: str = "",
    ) -> Entry:
        """Log what happened.

        Args:
            job: id
            operation: which one, as the plan names it; `job` for the whole job
            event: started, stopped, done, delayed, failed or approved
            at: when it happened, with its zone; None for now
            who: saw it
            minutes: attended time that it took [min]
            note: in their words

        Raises:
            SlabwrightError: there is no such job, or something cannot be used.
        """
        with self.store.writing() as connection:
            return journal.log(connection, job, operation, event, at, who, minutes, note)

    def entries(self, job: int | None = None) -> tuple[Entry, ...]:
        """The log of a job, or of all, in the order in which it happened.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return journal.log_of(connection, job)

    def add_photo(self, job: int, name: str, data: bytes, who: str, note: str = "") -> Photo:
        """Add a photo: checked by what it holds, turned upright, made small, freed of all but the picture.

        Args:
            job: id
            name: of its file
            data: a JPEG, PNG or WebP picture
            who: adds it
            note: in their words

        Raises:
            SlabwrightError: there is no such job, or it is no picture that can be kept.
        """
        made = photos.picture(data, name)
        with self.store.writing() as connection:
            return photos.add(connection, job, name, made, who, note)

    def photos(self, job: int) -> tuple[PhotoRow, ...]:
        """A job's photos, oldest first, without their pictures.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return photos.rows(connection, job)

    def photo(self, photo: int) -> Photo:
        """A photo with its picture.

        Raises:
            SlabwrightError: there is no such photo, or it is damaged.
        """
        with self.store.reading() as connection:
            return photos.photo(connection, photo)

    def sign_off(
        self, job: int, what: str, revision: int, name: str, at: datetime | None, verdict: Verdict, words: str = ""
    ) -> SignOff:
        """Keep what a client said to a revision.

        Args:
            job: id
            what: they looked at, such as `drawing`
            revision: that it showed
            name: of who said it
            at: when, with its zone; None for now
            verdict: approved, or asked for changes
            words: in their own words; wanted where they asked for changes

        Raises:
            SlabwrightError: there is no such job or revision, or something cannot be used.
        """
        with self.store.writing() as connection:
            return journal.sign_off(connection, job, what, revision, name, at, verdict, words)

    def sign_offs(self, job: int) -> tuple[SignOff, ...]:
        """What was signed of a job, in order.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self.store.reading() as connection:
            return journal.sign_offs_of(connection, job)

    def backup(self, path: Path | str) -> Path:
        """Copy the book into a file, while others go on with it, and check the copy.

        Args:
            path: of the copy, itself a book in a file; it must not be there yet

        Raises:
            SlabwrightError: the file is there already or cannot be written, or the book is damaged.
        """
        from slabwright.book.backups import backup

        return backup(self.store, Path(path))


def _who_and_why(who: str, why: str) -> tuple[str, str]:
    return words(who, "who", most=200), words(why, "why", wanted=False)
