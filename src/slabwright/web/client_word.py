"""The client's word: what is asked, what an approval does to the plan, and whether what was looked at still stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.book.comparing import changes
from slabwright.book.rows import Change, SignOff
from slabwright.job.folder import JOB_FILE
from slabwright.plan import Plan

_MOST_WORDS = 60
"""Letters of what is asked, as the book keeps it."""
_SURVEYS = ("survey", "survey_a", "survey_b", "callipers", "outline", "outline_a", "outline_b")
_READ = tuple(f"slab.{key}" for key in (*_SURVEYS, "show_face", "edge_margin", "end_trim", "cut_from", "cut_to"))


@dataclass(frozen=True)
class Matter:
    """Something that a client is asked about.

    Attributes:
        what: as the client's page says it
        rests_on: keys of the job file, or tables, that decide what the client looks at
        apart_from: keys below these that do not
        readings: whether it rests on the slab's readings
        operation: the sign-off among the plan's operations that an approval fulfils; empty: none
        key: of the job file that an approval makes true; empty: none
    """

    what: str
    rests_on: tuple[str, ...]
    apart_from: tuple[str, ...] = ()
    readings: bool = False
    operation: str = ""
    key: str = ""


_COATS = ("piece.finish", "finish.wood", "finish.steel")
DRAWINGS = Matter(
    "the drawings",
    ("piece", "top", "base", "brief", "fill.choose", "slab.species", "slab.planned", *_READ),
    apart_from=("piece.finish",),
    readings=True,
    operation="Client agrees to the drawings",
)
FILL = Matter(
    "the fill that shows", ("fill.choose", "piece.thickness", *_READ), readings=True, key="fill.client_agrees"
)
FINISH = Matter("the finish", _COATS)
BOARD = Matter("the finish board", _COATS, operation="Client signs the finish board")
MOCK_UP = Matter("the mock-up", ("base", "piece.height"), operation="Client signs the mock-up")
DELIVERY = Matter("the delivery", ("delivery",), operation="Client agrees to the delivery")
MATTERS = (DRAWINGS, FILL, FINISH, BOARD, MOCK_UP, DELIVERY)


@dataclass(frozen=True)
class ClientWord:
    """What a client said last of a matter.

    Attributes:
        matter: what it is about; None where it is no longer asked in any way
        signed: what was said, as the book keeps it
        changed: what of that which was looked at is stated otherwise by now
    """

    matter: Matter | None
    signed: SignOff
    changed: tuple[Change, ...]

    @property
    def stands(self) -> bool:
        """Whether what was looked at is what stands."""
        return not self.changed


def matter_of(what: str) -> Matter | None:
    """The matter that a client's word is about."""
    return next((one for one in MATTERS if what == one.what or what.startswith(f"{one.what}: ")), None)


def asked_of(plan: Plan | None) -> list[tuple[Matter, str]]:
    """What a client may approve or ask about now, each as the client's page says it."""
    found = [(DRAWINGS, DRAWINGS.what)]
    if plan is None:
        return found
    if plan.slab is not None and plan.slab.chosen_fill:
        found.append((FILL, FILL.what))
    finish = finish_of(plan)
    if finish:
        found.append((FINISH, f"{FINISH.what}: {finish}"[:_MOST_WORDS]))
    operations = plan.shop.operations if plan.shop is not None else ()
    done = {one.name for one in operations if one.state == "done"}
    for matter in (BOARD, MOCK_UP, DELIVERY):
        sign_off = next((one for one in operations if one.name == matter.operation), None)
        if sign_off is not None and all(link.operation in done for link in sign_off.after):
            found.append((matter, matter.what))
    return found


def finish_of(plan: Plan) -> str:
    """What the wood is finished with: the coats that are stated, or else the maker's words."""
    systems = plan.finish.systems if plan.finish is not None else ()
    names = dict.fromkeys(coat.coating for system in systems if system.on == "wood" for coat in system.coats)
    return ", ".join(names) or plan.job.stated.piece.finish or ""


def changed_since(then: Mapping[str, bytes], now: Mapping[str, bytes], matter: Matter) -> tuple[Change, ...]:
    """What decides a matter and is stated otherwise by now.

    Args:
        then: files of the revision that was looked at
        now: files of the newest
        matter: what was looked at
    """
    surveys = _surveys(then) | _surveys(now) if matter.readings else frozenset()
    return tuple(
        one
        for one in changes(then, now)
        if (one.file == JOB_FILE and _below(one.key, matter.rests_on) and not _below(one.key, matter.apart_from))
        or (one.file in surveys and not one.key)
    )


def _surveys(files: Mapping[str, bytes]) -> frozenset[str]:
    """Names of the files that hold the slab's readings."""
    import tomllib

    try:
        slab = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n")).get("slab", {})
    except (ValueError, RecursionError):
        return frozenset()
    names = [slab.get(key) for key in _SURVEYS] if isinstance(slab, dict) else []
    return frozenset(name for name in names if isinstance(name, str))


def _below(key: str, tables: Sequence[str]) -> bool:
    return any(key == one or key.startswith((f"{one}.", f"{one}[")) for one in tables)


def told(changed: Sequence[Change], most: int = 4) -> str:
    """What changed in a few words: `height of the piece 740, now 730; and 2 more`."""
    words = list(dict.fromkeys(_change_words(one) for one in changed))
    more = f"; and {len(words) - most} more" if len(words) > most else ""
    return "; ".join(words[:most]) + more


def _change_words(one: Change) -> str:
    if not one.key:
        return "the readings of the slab"
    table, _, rest = one.key.replace("_", " ").partition(".")
    name = rest.partition("[")[0].partition(".")[0]
    if "[" in one.key or "." in rest or one.old is None or one.new is None or len(one.old) + len(one.new) > 40:
        return f"{name} of the {table}" if name else f"the {table}"
    old, new = (text.strip("\"'") for text in (one.old, one.new))
    return f"{name} of the {table} {old}, now {new}"
