"""The pages with fifty at once at the demo job: what the server takes for an edit and the new page, and that nothing is lost."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from bench.pages_clients import JOB, KINDS, Asked, Kept, Told
from bench.row import Row
from slabwright.book import Revision, open_book
from slabwright.job.folder import read_folder

CLIENTS = 50
LIMIT = 100.0
"""Server time of an edit, and of the new page, that 95 of 100 stay within [ms]."""
PACED = (2, 30.0)
"""Edits of each client, and seconds of thought before each in the mean: more hands at one job than any shop has."""
BURST = (1, 0.0)
_EXAMPLE = Path(__file__).parents[1] / "examples" / "reading-table"


def rows() -> Iterator[Row]:
    """Each claim about many at once, under a paced load and all at once."""
    for words, (edits, think) in (
        (f"{CLIENTS} clients, an edit each {PACED[1]:g} s", PACED),
        (f"{CLIENTS} clients at the same moment", BURST),
    ):
        pace = [_pace()]
        with tempfile.TemporaryDirectory(prefix="bench-pages-") as folder:
            place = Path(folder) / "book.sqlite"
            with open_book(place) as book:
                book.add(read_folder(_EXAMPLE).files, "bench", "the demo job")
            with served(place) as address:
                told = clients_at(address, CLIENTS, edits, think)
            with open_book(place) as book:
                saved = [book.revision(JOB, row.number) for row in book.revisions(JOB)]
        pace.append(_pace())
        yield from _speed(words, told)
        yield from _whole(words, told, saved, CLIENTS * edits)
        yield Row(
            f"{words}: pace of the machine, a fixed piece of work before and after",
            f"{pace[0]:.0f} and {pace[1]:.0f} ms",
            "the same at rest; much more of either says that others were at work here",
            None,
            "told",
            None,
        )


def _pace() -> float:
    """How long a million additions take, the median of several [ms]."""
    taken = []
    for _ in range(9):
        began = time.perf_counter()
        total = 0
        for number in range(1_000_000):
            total += number
        taken.append(1e3 * (time.perf_counter() - began))
    return float(np.median(taken))


@contextmanager
def served(place: Path) -> Iterator[str]:
    """The real server in a process of its own; its address, once the demo job's first page was answered."""
    command = [sys.executable, "-m", "slabwright", "serve", "--port", "0", "--book", str(place)]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        line = server.stdout.readline()
        address = next((word for word in line.split() if word.startswith("http")), "")
        if not address:
            raise RuntimeError(f"the server does not say where it is: {line!r}")
        import httpx2

        httpx2.get(f"{address}jobs/{JOB}/brief", timeout=120.0, trust_env=False).raise_for_status()
        yield address
    finally:
        server.terminate()
        server.wait(timeout=30)


def clients_at(address: str, clients: int, edits: int, think: float) -> Told:
    """What happened to clients, who run in a process of their own."""
    command = [sys.executable, "-m", "bench.pages_clients", address, str(clients), str(edits), str(think)]
    done = subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True, cwd=Path(__file__).parents[1])
    told = json.loads(done.stdout)
    told["asked"] = [Asked(**one) for one in told["asked"]]
    told["kept"] = [Kept(**one) for one in told["kept"]]
    return Told(**told)


def _speed(words: str, told: Told) -> Iterator[Row]:
    for what, named in (("edit", "an edit that is saved"), ("page", "the new page after it"), ("late", "")):
        asked = [one for one in told.asked if one.what == what]
        if not asked:
            continue
        work = [one.work for one in asked]
        p95 = float(np.percentile(work, 95))
        turns = _spread([one.turn for one in asked])
        yield Row(
            f"{words}: server time of {named or 'telling that somebody else was quicker'}",
            _spread(work),
            f"{LIMIT:g} ms",
            p95 / LIMIT,
            "p95 at most 100 ms",
            p95 <= LIMIT,
            f"{len(asked)} of them; before it, waited for their turn: {turns}; clients saw {_spread([o.seen for o in asked])}",
        )
    for kind in KINDS:
        work = [one.work for one in told.asked if one.what == "edit" and one.kind == kind.name]
        if len(work) >= 3:
            yield Row(f"  of these, {kind.name}, {kind.weight} of 100", _spread(work), "", None, "told", None)
    yield Row(
        f"{words}: from the first try of an edit until it is saved, others first",
        _spread([one.told for one in told.kept]),
        f"{told.seconds:.0f} s for {len(told.kept)} edits",
        None,
        "told",
        None,
    )


def _spread(times: Sequence[float]) -> str:
    if not times:
        return "none"
    middle, high = np.percentile(times, [50, 95])
    return f"p50 {middle:.0f}, p95 {high:.0f}, most {max(times):.0f} ms"


def _whole(words: str, told: Told, saved: Sequence[Revision], wanted: int) -> Iterator[Row]:
    """Whether every edit is kept once, none undid another's, and nobody was answered with an error."""
    wrong = [f"{one.what} {one.kind}: {one.status} {one.error}" for one in told.asked if one.error] + told.failed
    yield Row(
        f"{words}: answers that are an error, of {len(told.asked)}",
        str(len(wrong)),
        "0",
        None,
        "none",
        not wrong and len(told.kept) == wanted,
        "; ".join(f"{text} ({times} times)" for text, times in Counter(wrong).most_common(3)),
    )
    lost = lost_updates(told.kept, saved)
    yield Row(
        f"{words}: edits that were acknowledged and are not kept once, as they were, with all that was there before",
        str(len(lost)),
        f"{len(told.kept)} acknowledged, {len(saved) - 1} revisions",
        None,
        "none",
        not lost,
        "; ".join(lost[:3]),
    )
    deaf = [who for who in {kept.who for kept in told.kept} if told.heard.get(who, 0) < len(saved)]
    own = {kept.who for kept in told.kept if kept.revision == len(saved)}
    missed = [who for who in deaf if who not in own]
    yield Row(
        f"{words}: live streams that never told of the newest revision",
        str(len(missed)),
        f"{told.events} words to {CLIENTS} streams",
        None,
        "none",
        not missed,
    )


def lost_updates(kept: Sequence[Kept], saved: Sequence[Revision]) -> list[str]:
    """What was acknowledged and is not in the book as it was said: each revision is the one before with one edit more."""
    wrong = []
    by_number: dict[int, list[Kept]] = {}
    for one in kept:
        by_number.setdefault(one.revision, []).append(one)
    if set(by_number) != set(range(2, len(saved) + 1)):
        wrong.append(
            f"revisions {sorted(set(by_number) ^ set(range(2, len(saved) + 1)))[:5]} have no edit, or are not there"
        )
    before = _stated(saved[0])
    for revision in saved[1:]:
        edits, after = by_number.get(revision.number, []), _stated(revision)
        if len(edits) != 1:
            wrong.append(f"revision {revision.number} was acknowledged {len(edits)} times")
        elif edits[0].who != revision.who or not _is_edit(before, after, edits[0]):
            wrong.append(f"revision {revision.number} is not {edits[0].who}'s {edits[0].kind}")
        before = after
    return wrong


def _stated(revision: Revision) -> dict[str, Any]:
    files = {"job": "job.toml", "shop": "shop.toml"}
    return {one: tomllib.loads(revision.files[name].decode()) for one, name in files.items()}


def _is_edit(before: dict[str, Any], after: dict[str, Any], edit: Kept) -> bool:
    """Whether what is stated after is what was stated before with an edit, and nothing else."""
    from slabwright.job.write import with_plain_values

    if edit.key != "log":
        wanted = before | {edit.file: with_plain_values(before[edit.file], {edit.key: edit.value})}
        return after == wanted
    *earlier, last = after["job"]["log"]
    same = after | {"job": after["job"] | {"log": earlier}}
    return same == before and last["note"] == edit.at and last["minutes"] == edit.value
