"""Plans of revisions: worked out aside, once for the same files, and kept for a while."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import threading
import weakref
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from slabwright.accounts import Account
from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE, checked_files
from slabwright.job.load import SHOP_FILE, general_shop_file, load_job, load_job_from
from slabwright.job.loaded import Job
from slabwright.kept import Kept
from slabwright.plan import Plan, as_json, plan
from slabwright.web.aside import Aside
from slabwright.web.plan_figures import Figures, Plain

_KEPT = 12
"""Plans that are kept: one of a read slab takes some 30 MB."""
_FOLDERS = 8
"""Sets of readings and other files that stay on the disk."""
_STAGES = 8
"""Results of each stage that are kept for the next plan; plans share them."""


@dataclass(frozen=True)
class Planned:
    """A revision's files, and what follows from them.

    Attributes:
        digest: of the files
        files: bytes by name
        result: the plan, or None where what is stated cannot be used
        refused: why there is none, in one line
    """

    digest: str
    files: Mapping[str, bytes] = field(repr=False)
    result: Plan | None
    refused: str = ""

    @cached_property
    def figures(self) -> Mapping[str, Account]:
        """The account of every figure by its path, in the order of the work."""
        return {} if self.result is None else Figures(self.result)

    @cached_property
    def plain(self) -> Mapping[str, Any]:
        """The value of every figure as JSON holds it."""
        return Plain(self.figures)

    @cached_property
    def json(self) -> dict[str, Any]:
        """What `plan.json` holds."""
        return {} if self.result is None else as_json(self.result)


def digest_of(files: Mapping[str, bytes]) -> str:
    """One digest of all that a plan rests on: the job's files, and the user's own shop file where the job has none."""
    whole = hashlib.sha256()
    for name in sorted(files):
        whole.update(f"{len(name)}:{name}:{len(files[name])}:".encode())
        whole.update(files[name])
    if SHOP_FILE not in files:
        try:
            whole.update(general_shop_file().read_bytes())
        except OSError:
            whole.update(b"no shop file")
    return whole.hexdigest()


def loaded(files: Mapping[str, bytes]) -> Job:
    """The job that files state.

    Raises:
        SlabwrightError: something cannot be used: file, line, key, what is wrong and what would be right.
    """
    checked = checked_files(files)
    with tempfile.TemporaryDirectory(prefix="slabwright-") as folder:
        _write(Path(folder), checked)
        return load_job(Path(folder) / JOB_FILE)


class Loader:
    """Loads jobs whose readings and other files seldom change: these stay on the disk, and only what is typed is read anew."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._folders: OrderedDict[bytes, Path] = OrderedDict()
        weakref.finalize(self, _taken_away, self._folders)

    def load(self, files: Mapping[str, bytes]) -> Job:
        """The job that files state.

        Raises:
            SlabwrightError: see `loaded`.
        """
        checked = checked_files(files)
        beside = {name: data for name, data in checked.items() if name not in (JOB_FILE, SHOP_FILE)}
        key = hashlib.sha256(repr([(name, hashlib.sha256(data).digest()) for name, data in beside.items()]).encode())
        with self._lock:
            folder = self._folders.get(key.digest())
            if folder is None or not all((folder / name).is_file() for name in beside):
                folder = self._folders[key.digest()] = Path(tempfile.mkdtemp(prefix="slabwright-"))
                _write(folder, beside)
            self._folders.move_to_end(key.digest())
            while len(self._folders) > _FOLDERS:
                shutil.rmtree(self._folders.popitem(last=False)[1], ignore_errors=True)
            return load_job_from(checked, folder)

    def close(self) -> None:
        """Take the files off the disk."""
        with self._lock:
            _taken_away(self._folders)


def _taken_away(folders: OrderedDict[bytes, Path]) -> None:
    while folders:
        shutil.rmtree(folders.popitem()[1], ignore_errors=True)


def _write(home: Path, files: Mapping[str, bytes]) -> None:
    for name, data in files.items():
        path = home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


class Planner:
    """Works plans out on threads of its own, the same files once.

    Args:
        workers: how many at once
        kept: how many plans are kept
        beside: whether the long work is done in a process of its own

    Attributes:
        aside: where the long work is done
    """

    def __init__(self, workers: int = 2, kept: int = _KEPT, *, beside: bool = False) -> None:
        self.aside = Aside(beside=beside)
        self._pool = ThreadPoolExecutor(workers, thread_name_prefix="plan")
        self._days = ThreadPoolExecutor(1, thread_name_prefix="days")
        self._kept = kept
        self._lock = threading.Lock()
        self._plans: OrderedDict[str, Future[Planned]] = OrderedDict()
        self._stages = Kept(_STAGES)
        self._loader = Loader()

    def of(self, files: Mapping[str, bytes]) -> Planned:
        """What follows from a job's files, but for the shop's days; waits until it is known.

        What cannot be used is told in `refused`.
        """
        digest = digest_of(files)
        return self._told(digest, self._begun(digest, files, scheduled=False))

    def whole(self, files: Mapping[str, bytes], wait: float | None = None) -> Planned | None:
        """What follows from a job's files with the shop's days, which take seconds.

        Args:
            files: of the job
            wait: at most so long [s]; None: until it is known. Either way it goes on being worked out

        Returns:
            None where it is not known yet.
        """
        digest = digest_of(files) + " whole"
        future = self._begun(digest, files, scheduled=True)
        try:
            return self._told(digest, future, wait)
        except TimeoutError:
            return None

    def _begun(self, digest: str, files: Mapping[str, bytes], *, scheduled: bool) -> Future[Planned]:
        with self._lock:
            future = self._plans.get(digest)
            if future is None:
                pool = self._days if scheduled else self._pool
                future = self._plans[digest] = pool.submit(
                    _planned, digest, dict(files), scheduled, self._stages, self._loader
                )
            self._plans.move_to_end(digest)
            for old in list(self._plans)[: max(0, len(self._plans) - self._kept)]:
                if self._plans[old].done():
                    del self._plans[old]
        return future

    def _told(self, digest: str, future: Future[Planned], wait: float | None = None) -> Planned:
        try:
            return future.result(wait)
        except TimeoutError:
            if not future.done():
                raise
            raise RuntimeError("a plan gave up by itself") from None
        except BaseException:
            with self._lock:
                if self._plans.get(digest) is future:
                    del self._plans[digest]
            raise

    def close(self) -> None:
        """Let the threads go, and end the process aside."""
        self.aside.close()
        for pool in (self._pool, self._days):
            pool.shutdown(wait=False, cancel_futures=True)
        self._loader.close()


def _planned(digest: str, files: Mapping[str, bytes], scheduled: bool, stages: Kept, loader: Loader) -> Planned:
    try:
        return Planned(digest, files, plan(loader.load(files), scheduled=scheduled, kept=stages))
    except SlabwrightError as error:
        return Planned(digest, files, None, " ".join(str(error).split()))
