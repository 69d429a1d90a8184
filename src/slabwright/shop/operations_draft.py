"""Operations before their times are known: a list that grows in the order of the work."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from slabwright.findings import SlabwrightError
from slabwright.reference.hours import HoursTable, KindOfWork
from slabwright.shop.operations_results import Gate, OperationLink

DAY = 24.0 * 60.0


@dataclass(frozen=True)
class Draft:
    """An operation without its time; see `WorkOperation` for the rest.

    Attributes:
        stated: minutes that the maker states for it, in place of its kind's
        share: of its time, where it is one of several parts
        known_done: whether what is stated shows that it is done
        gone: whether only the log knows it: the plan has none of that name
    """

    name: str
    kind: KindOfWork | None
    room: str
    amount: float = 0.0
    needs: tuple[str, ...] = ()
    after: tuple[OperationLink, ...] = ()
    unattended: float = 0.0
    wait_spread: float = 0.0
    holds: tuple[str, ...] = ()
    waits_for: str = ""
    gate: Gate = ""
    coat_open: float = 0.0
    watched: float = 0.0
    stated: float | None = None
    share: float = 1.0
    own: bool = False
    known_done: bool = False
    gone: bool = False
    pinned: datetime.datetime | None = None

    @property
    def usual(self) -> float:
        """Usual minutes, or what the maker states."""
        if self.stated is not None:
            return self.stated * self.share
        return (self.kind.usual(self.amount) if self.kind else 0.0) * self.share + self.watched


@dataclass
class Drafts:
    """The list, and how it is added to.

    Attributes:
        table: kinds with their usual times, the shop's own rates in their place
        all: in the order of the work
    """

    table: HoursTable
    all: list[Draft] = field(default_factory=list)

    def named(self, name: str) -> bool:
        """Whether there is one of that name."""
        return any(draft.name == name for draft in self.all)

    def add(
        self,
        name: str,
        kind: str,
        amount: float,
        after: Iterable[OperationLink | str | None] = (),
        *,
        room: str = "wood",
        people: int = 1,
        also: Sequence[str] = (),
        unattended: float = 0.0,
        holds: Sequence[str] = (),
        coat_open: float = 0.0,
        watched: float = 0.0,
        done: bool = False,
    ) -> str:
        """Add an operation that somebody does.

        Args:
            name: of it
            kind: of it
            amount: of what drives it
            after: what it comes after; what is not there is left out
            room: wood, steel, both or away
            people: persons
            also: persons and places besides its kind's own
            unattended: minutes that it waits by itself afterwards
            holds: places that stay taken while it waits
            coat_open: minutes for which a coat takes dust
            watched: minutes for which it is watched, besides its kind's
            done: whether what is stated shows that it is done

        Returns:
            Its name, with a number where there is one of that name already.
        """
        of, name = self.table.kinds[kind], self._own(name)
        needs = list(of.needs)
        if people > 1 and "helper" not in needs:
            needs.insert(1, "helper")
        needs += [each for each in also if each not in needs]
        draft = Draft(
            name,
            of,
            room,
            amount,
            tuple(needs),
            _links(after),
            unattended,
            self.table.spread.wait_hardens if unattended else 0.0,
            tuple(holds),
            coat_open=coat_open,
            watched=watched,
            known_done=done,
        )
        self.all.append(draft)
        return name

    def _own(self, name: str) -> str:
        """A name that no other operation has: a face may be cut in more than one clamping."""
        taken = {draft.name for draft in self.all}
        number = 2
        while (own := name if name not in taken else f"{name}, {number}") in taken:
            number += 1
        return own

    def wait(
        self,
        name: str,
        minutes: float,
        after: Iterable[OperationLink | str | None] = (),
        *,
        room: str = "wood",
        gate: Gate = "",
        waits_for: str = "",
        done: bool = False,
    ) -> str:
        """Add what only waits: for others, or for wood, glue or paint; returns its name."""
        spread, name = self.table.spread, self._own(name)
        draft = Draft(
            name,
            None,
            room,
            after=_links(after),
            unattended=minutes,
            wait_spread=spread.wait_others if gate else spread.wait_hardens,
            waits_for=waits_for,
            gate=gate,
            known_done=done,
        )
        self.all.append(draft)
        return name


def _links(after: Iterable[OperationLink | str | None]) -> tuple[OperationLink, ...]:
    links = (OperationLink(each) if isinstance(each, str) else each for each in after if each)
    # The same operation may be named for two reasons: the narrower of both holds.
    found: dict[str, OperationLink] = {}
    for link in links:
        found[link.operation] = narrower(found[link.operation], link) if link.operation in found else link
    return tuple(found.values())


def narrower(one: OperationLink, other: OperationLink) -> OperationLink:
    """Both windows after the same operation at once."""
    most = [lag for lag in (one.greatest_lag, other.greatest_lag) if lag is not None]
    return OperationLink(one.operation, max(one.least_lag, other.least_lag), min(most) if most else None)


def near(name: str, known: Iterable[str]) -> str:
    """What to say of a name that is not there: the nearest ones."""
    known = list(known)
    lower = {each.lower(): each for each in known}
    close = [lower[each] for each in difflib.get_close_matches(name.lower(), lower, n=3, cutoff=0.5)]
    if close:
        return "did you mean " + " or ".join(f'"{each}"' for each in close) + "?"
    return "there are " + ", ".join(f'"{each}"' for each in known[:6]) + (" and more" if len(known) > 6 else "")


def in_order(drafts: Sequence[Draft]) -> tuple[Draft, ...]:
    """Operations so that each stands after what it comes after, else as they were.

    Raises:
        SlabwrightError: they wait for each other in a ring; names it.
    """
    by_name = {draft.name: draft for draft in drafts}
    state: dict[str, bool] = {}
    order: list[Draft] = []
    for first in drafts:
        way: list[tuple[Draft, int]] = [(first, 0)] if first.name not in state else []
        while way:
            draft, at = way.pop()
            if at == 0:
                state[draft.name] = False
            if at == len(draft.after):
                state[draft.name] = True
                order.append(draft)
                continue
            way.append((draft, at + 1))
            earlier = draft.after[at].operation
            if state.get(earlier) is False:
                names = [each.name for each, _ in way]
                ring = [*names[names.index(earlier) :], earlier]
                raise SlabwrightError(
                    "operations: each waits for the next in a ring: "
                    + " after ".join(f'"{name}"' for name in ring)
                    + "; take one after or before out of [[operations]]"
                )
            if earlier not in state:
                way.append((by_name[earlier], 0))
    return tuple(order)


def without(drafts: Sequence[Draft], gone: Draft) -> list[Draft]:
    """The others, where what came after one that goes comes after what that one came after."""
    found = []
    for draft in drafts:
        if draft.name == gone.name:
            continue
        through = [link for link in draft.after if link.operation == gone.name]
        if through:
            kept = [link for link in draft.after if link.operation != gone.name]
            draft = replace(
                draft, after=_links([*kept, *(OperationLink(link.operation, link.least_lag) for link in gone.after)])
            )
        found.append(draft)
    return found
