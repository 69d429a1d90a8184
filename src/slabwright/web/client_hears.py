"""What the client says through the link becomes part of the job: its log, its sign-off, and so the days and what follows."""

from __future__ import annotations

import datetime
import logging
from collections.abc import Mapping
from typing import Any

from slabwright.book.rows import SignOff
from slabwright.findings import SlabwrightError
from slabwright.shop.operations_results import WorkOperation
from slabwright.web import bench_log, clock
from slabwright.web.client_word import Matter
from slabwright.web.store import Store

_LOG = logging.getLogger("slabwright.web")
_LONGEST_NOTE = 400


def heard(store: Store, matter: Matter, signed: SignOff) -> None:
    """Let the plan know what a client said.

    An approval fulfils the sign-off of the plan and is an event of the log; a change that is asked for after an approval opens
    the sign-off again. The word itself is in the book by then: where the plan cannot take it, the server's log alone tells it.

    Args:
        store: the book and its plans
        matter: what was said of
        signed: what was said
    """
    job, who = signed.job, f"{signed.name} (client)"
    try:
        if signed.verdict == "asked":
            words = " ".join(signed.words.split())
            opened_again(store, job, matter, who, f"a change is asked for: {words}")
            return
        if matter.key:
            stated(store, job, matter.key, agreed=True, who=who)
        operation = _sign_off(store, job, matter)
        if operation is None:
            return
        note = f"through the link, revision {signed.revision}"
        if operation.state == "done":
            store.book.log(job, operation.name, "approved", None, who, None, note)
        else:
            bench_log.log_work(store, job, operation.name, "approved", who, at=_next(store, job, matter), note=note)
    except SlabwrightError:
        _LOG.warning("job %d: what the client said of %s is kept, and the plan did not take it", job, matter.what)


def opened_again(store: Store, job: int, matter: Matter, who: str, why: str, *, device: str = "") -> None:
    """Open a sign-off again: the plan waits for the client once more. Nothing is changed where it was not fulfilled.

    Raises:
        SlabwrightError: the plan cannot take it.
    """
    if matter.key:
        stated(store, job, matter.key, agreed=False, who=who, device=device)
    operation = _sign_off(store, job, matter)
    if operation is not None and operation.state == "done":
        note, at = why[:_LONGEST_NOTE], _next(store, job, matter)
        bench_log.log_work(store, job, operation.name, "failed", who, at=at, note=note, device=device)


def stated(store: Store, job: int, key: str, *, agreed: bool, who: str, device: str = "") -> None:
    """State in the job file that the client agrees, or leave it open again."""
    table, _, name = key.partition(".")

    def values(found: bench_log.Stated) -> Mapping[str, Any]:
        now = found.get(table, {}).get(name)
        if agreed:
            return {} if now is True else {key: True}
        return {key: None} if now is True else {}

    why = f"{key}: the client {'agrees' if agreed else 'is to be asked again'}"
    bench_log.put_on_newest(store, job, values, who, why, device)


def _next(store: Store, job: int, matter: Matter) -> datetime.datetime:
    """This minute, or the one after all that the log says of the sign-off: the log is read in the order of its times."""
    log = bench_log.stated_in(store.revision(job).files).get("log", [])
    told = [entry.get("at") for entry in log if entry.get("operation") == matter.operation]
    times = [at for at in told if isinstance(at, datetime.datetime) and at.tzinfo is None]
    return max([clock.now(), *(at + datetime.timedelta(minutes=1) for at in times)])


def _sign_off(store: Store, job: int, matter: Matter) -> WorkOperation | None:
    plan = store.planned(job).result
    operations = plan.shop.operations if plan is not None and plan.shop is not None else ()
    return next((one for one in operations if matter.operation and one.name == matter.operation), None)
