"""The book and its plans: every change of a job goes through here, is checked first, and says what it moved."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

from slabwright.book import Book, JobRow, Revision, Superseded
from slabwright.book.revisions import newest
from slabwright.book.rows import Change
from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.happened import going_back
from slabwright.job.load import SHOP_FILE, job_from, shop_from, toml_from
from slabwright.job.switched_units import switched
from slabwright.job.write import with_values
from slabwright.web.client_word import ClientWord, Matter, changed_since, matter_of
from slabwright.web.live import Live
from slabwright.web.models import Edited, Movement
from slabwright.web.moved import movement
from slabwright.web.planning import Planned, Planner
from slabwright.web.shop_file import shop_text
from slabwright.web.timing import in_turn

_KEPT_REVISIONS = 48
_KEPT_MOVEMENTS = 24
_KEPT_CHANGES = 256


class NotThere(SlabwrightError):  # noqa: N818 - it is what happened, in plain words
    """What was asked for is not in the book."""


class Behind(SlabwrightError):  # noqa: N818 - it is nobody's fault
    """What was looked at is not the newest revision any more, and nothing is to be kept as a draft."""

    def __init__(self, newest: int) -> None:
        super().__init__(f"revision {newest} is there by now; look at it first")
        self.newest = newest


@dataclass(frozen=True)
class Now:
    """A job as it stands: its row in the book, the newest revision, what follows from it, and what the client said last."""

    row: JobRow
    revision: Revision
    planned: Planned
    words: tuple[ClientWord, ...] = ()


class Store:
    """A shop book with its plans.

    Args:
        book: opened
        planner: works plans out
        live: tells other devices
    """

    def __init__(self, book: Book, planner: Planner, live: Live) -> None:
        self.book = book
        self.planner = planner
        self.live = live
        self._lock = threading.Lock()
        self._revisions: OrderedDict[tuple[int, int], Revision] = OrderedDict()
        self._movements: OrderedDict[tuple[str, str, int, int], Movement] = OrderedDict()
        self._turns: dict[int, threading.RLock] = {}
        self._changes: OrderedDict[tuple[int, int, int, Matter], tuple[Change, ...]] = OrderedDict()

    def turn(self, job: int) -> AbstractContextManager[None]:
        """The turn to change a job: one after the other, so that nobody works out what another has made old by then.

        Whoever has it may take it again. It speeds the work up; that no change is lost is the book's own care.
        """
        with self._lock:
            turn = self._turns.setdefault(job, threading.RLock())
        return in_turn(turn)

    def row(self, job: int) -> JobRow:
        """A job's row.

        Raises:
            NotThere: the book has no such job.
        """
        try:
            return self.book.job(job)
        except SlabwrightError:
            raise NotThere(f"there is no job {job} in this book") from None

    def newest(self, job: int) -> int:
        """Number of a job's newest revision.

        Raises:
            NotThere: the book has no such job.
        """
        try:
            with self.book.store.reading() as connection:
                return newest(connection, job)
        except SlabwrightError:
            raise NotThere(f"there is no job {job} in this book") from None

    def revision(self, job: int, number: int | None = None) -> Revision:
        """A revision of a job, the newest where no number is given.

        Raises:
            NotThere: the book has no such job or revision.
        """
        number = self.newest(job) if number is None else number
        with self._lock:
            found = self._revisions.get((job, number))
            if found is not None:
                self._revisions.move_to_end((job, number))
        if found is None:
            last = self.newest(job)
            if not 1 <= number <= last:
                raise NotThere(f"job {job} has no revision {number}; its revisions are 1 to {last}")
            found = self._keep(self.book.revision(job, number))
        return found

    def _keep(self, revision: Revision) -> Revision:
        with self._lock:
            self._revisions[revision.job, revision.number] = revision
            while len(self._revisions) > _KEPT_REVISIONS:
                self._revisions.popitem(last=False)
        return revision

    def now(self, job: int) -> Now:
        """A job as it stands.

        Raises:
            NotThere: the book has no such job.
        """
        row = self.row(job)
        revision = self.revision(job, row.revision)
        return Now(row, revision, self.planner.of(revision.files), self.client_words(job, row.revision))

    def client_words(self, job: int, number: int) -> tuple[ClientWord, ...]:
        """What a client said last of each matter, newest first, and whether what was looked at still stands.

        Args:
            job: id
            number: of the newest revision
        """
        found: dict[object, ClientWord] = {}
        for signed in reversed(self.book.sign_offs(job)):
            matter = matter_of(signed.what)
            if (matter or signed.what) not in found:
                changed = self._changed(job, signed.revision, number, matter) if matter is not None else ()
                found[matter or signed.what] = ClientWord(matter, signed, changed)
        return tuple(found.values())

    def _changed(self, job: int, then: int, number: int, matter: Matter) -> tuple[Change, ...]:
        """What decides a matter and changed between two revisions; known once for all, since revisions stay as they are."""
        key = (job, then, number, matter)
        with self._lock:
            known = self._changes.get(key)
        if known is None:
            old, new = (self.revision(job, one).files for one in (then, number))
            known = changed_since(old, new, matter) if then != number else ()
            with self._lock:
                self._changes[key] = known
                while len(self._changes) > _KEPT_CHANGES:
                    self._changes.popitem(last=False)
        return known

    def still_shown(self, job: int, then: int, number: int, matter: Matter) -> bool:
        """Whether what a client looked at in a revision is what a later one shows.

        Raises:
            NotThere: the book has no such revision.
        """
        return not self._changed(job, then, number, matter)

    def planned(self, job: int, number: int | None = None) -> Planned:
        """What follows from a revision.

        Raises:
            NotThere: the book has no such job or revision.
        """
        return self.planner.of(self.revision(job, number).files)

    def whole(self, job: int, wait: float | None = None) -> Planned | None:
        """A job's newest plan with the shop's days; None where it is not known within `wait` [s]: ask again.

        Raises:
            NotThere: the book has no such job.
        """
        return self.planner.whole(self.revision(job).files, wait)

    def movement(self, job: int, old: int, new: int) -> Movement:
        """What moved between two revisions.

        Raises:
            NotThere: the book has no such job or revision.
        """
        return self._moved(self.planned(job, old), self.planned(job, new), old, new)

    def _moved(self, before: Planned, after: Planned, old: int, new: int) -> Movement:
        """What moved; kept for a while, as the page that comes after an edit asks again what the edit was told."""
        key = before.digest, after.digest, old, new
        with self._lock:
            found = self._movements.get(key)
        if found is None:
            found = movement(before, after, old, new)
            with self._lock:
                self._movements[key] = found
                while len(self._movements) > _KEPT_MOVEMENTS:
                    self._movements.popitem(last=False)
        return found

    def add(self, files: Mapping[str, bytes], who: str, why: str) -> Revision:
        """A new job.

        Raises:
            SlabwrightError: its files cannot be used.
        """
        planned = self.planner.of(files)
        if planned.result is None:
            raise SlabwrightError(planned.refused)
        revision = self._keep(self.book.add(files, who, why))
        self.live.tell(revision.job, revision.number, who, "")
        return revision

    def edit(
        self,
        job: int,
        based_on: int,
        values: Mapping[str, Any],
        who: str,
        why: str,
        *,
        file: str = "job",
        device: str = "",
    ) -> Edited:
        """Change named keys of the job's or the shop's file; remarks in it survive.

        Args:
            job: id
            based_on: the revision that was looked at
            values: by key; None takes a key away
            who: changes it
            why: in a few words
            file: `job` or `shop`
            device: that the change comes from, so that it is not told of its own

        Raises:
            NotThere: the book has no such job or revision.
            SlabwrightError: a key or a value cannot be used; nothing is saved.
            Superseded: another was quicker; the change is kept as a draft.
        """
        with self.turn(job):
            files = dict(self.revision(job, based_on).files)
            units = values.get("job.units")
            if file == "job" and units in ("metric", "inch"):
                files = switched(files, units)
            name = SHOP_FILE if file == "shop" else JOB_FILE
            files[name] = changed(files, name, values)
            return self.save(job, files, based_on, who, why or f"{', '.join(list(values)[:4])} changed", device=device)

    def save(
        self, job: int, files: Mapping[str, bytes], based_on: int, who: str, why: str, *, device: str = ""
    ) -> Edited:
        """Save a job's files as a new revision, once they are known to be usable.

        Raises:
            NotThere: the book has no such job or revision.
            SlabwrightError: the files cannot be used; nothing is saved.
            Superseded: another was quicker; they are kept as a draft.
        """
        with self.turn(job):
            before = self.revision(job, based_on)
            if self.newest(job) != based_on:
                self._keep(self.book.save(job, files, based_on, who, why))  # raises: it is superseded
            planned = self.planner.of(files)
            if planned.result is None:
                raise SlabwrightError(planned.refused)
            revision = self._keep(self.book.save(job, files, based_on, who, why))
            self.live.tell(job, revision.number, who, device)
            moved = self._moved(self.planner.of(before.files), planned, based_on, revision.number)
            return Edited(revision=revision.number, **dict(moved))

    def restored(self, job: int, number: int, *, as_it_was: bool = False) -> Mapping[str, bytes]:
        """The files that bringing an earlier revision back would come to.

        Args:
            job: id
            number: of the earlier revision
            as_it_was: whether what happened since is left out

        Raises:
            NotThere: the book has no such job or revision.
            SlabwrightError: what happened since cannot be put into it, or does not go with it.
        """
        old = self.revision(job, number).files
        if as_it_was:
            return old
        files = going_back(self.revision(job).files, old)
        if files != dict(old):
            refused = self.planner.of(files).refused
            if refused and not self.planner.of(old).refused:
                raise SlabwrightError(f"revision {number} does not go with what happened since: {refused}")
        return files

    def restore(
        self, job: int, number: int, who: str, why: str = "", *, as_it_was: bool = False, device: str = ""
    ) -> Edited:
        """Bring what an earlier revision stated back as a new one; what happened since stays, unless it is to be as it was.

        Raises:
            NotThere: the book has no such job or revision.
            SlabwrightError: what happened since does not go with it; nothing is saved.
        """
        with self.turn(job):
            self.restored(job, number, as_it_was=as_it_was)
            before = self.newest(job)
            revision = self._keep(self.book.restore(job, number, who, why, as_it_was=as_it_was))
            self.live.tell(job, revision.number, who, device)
            return Edited(revision=revision.number, **dict(self.movement(job, before, revision.number)))


def changed(files: Mapping[str, bytes], name: str, values: Mapping[str, Any]) -> bytes:
    """A file's text with its keys changed, checked as a file of its kind."""
    data = files.get(name, b"")
    if not data and name == SHOP_FILE:
        data = shop_text(files)[0] or f'units = "{job_from(toml_from(files[JOB_FILE], JOB_FILE)).job.units}"\n'.encode()
    toml_from(data, name)
    changed = with_values(data.decode("utf-8-sig"), values, name).encode()
    source = toml_from(changed, name)
    if name == SHOP_FILE:
        shop_from(source, job_from(toml_from(files[JOB_FILE], JOB_FILE)).job.units)
    else:
        job_from(source)
    return changed


__all__ = ["Behind", "NotThere", "Now", "Store", "Superseded", "changed"]
