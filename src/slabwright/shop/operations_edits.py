"""The maker's own operations, and changes to the plan's: added, split, dropped, pinned, linked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from slabwright.findings import SlabwrightError
from slabwright.job.hours_models import OperationChange
from slabwright.reference.hours import OWN_WORK, HoursTable, KindOfWork
from slabwright.shop.operations_draft import Draft, in_order, near, without
from slabwright.shop.operations_results import OperationLink


def changed(drafts: Sequence[Draft], changes: Sequence[OperationChange], table: HoursTable) -> tuple[Draft, ...]:
    """Operations with the maker's changes, in an order in which each stands after what it comes after.

    New ones are made first, then links, then what is dropped, and splits last, so that the order of the changes does not matter.

    Args:
        drafts: as the plan has them
        changes: `[[operations]]`
        table: kinds of operation

    Raises:
        SlabwrightError: a name or a kind is not known, something that cannot be split is split, or they wait in a ring.
    """
    by_name = {draft.name: draft for draft in drafts}
    for number, change in enumerate(changes):
        if [other.name for other in changes].index(change.name) != number:
            raise SlabwrightError(
                f'operations[{number}].name: "{change.name}" is changed twice; put both changes into one'
            )
        known = by_name.get(change.name)
        if known is None:
            by_name[change.name] = _new(number, change, table, by_name)
        else:
            by_name[change.name] = _with_times(number, known, change, table)
    for number, change in enumerate(changes):
        for key, names in (("after", change.after), ("before", change.before)):
            for name in names:
                if name not in by_name:
                    raise SlabwrightError(
                        f'operations[{number}].{key}: there is no operation "{name}"; {near(name, by_name)}'
                    )
                earlier, later = (name, change.name) if key == "after" else (change.name, name)
                if not any(link.operation == earlier for link in by_name[later].after):
                    by_name[later] = replace(by_name[later], after=(*by_name[later].after, OperationLink(earlier)))
    found: Sequence[Draft] = in_order(list(by_name.values()))
    for change in changes:
        if change.drop:
            found = without(found, next(draft for draft in found if draft.name == change.name))
    for number, change in enumerate(changes):
        if change.split > 1:
            found = _split(number, found, change)
    return in_order(found)


def _new(number: int, change: OperationChange, table: HoursTable, known: dict[str, Draft]) -> Draft:
    """One that the plan does not have: its time has to be told."""
    if change.minutes is None and change.amount is None and change.wait is None:
        raise SlabwrightError(
            f'operations[{number}].name: there is no operation "{change.name}"; {near(change.name, known)}'
            " A new one states its kind and amount, or its minutes, or its wait."
        )
    kind: KindOfWork | None = None
    if change.minutes is not None or change.amount is not None:
        kind = table.kinds[_kind(number, change.kind or OWN_WORK, table)]
        if change.minutes is None and change.kind is None:
            raise SlabwrightError(
                f"operations[{number}].amount: of which kind? state kind, or minutes in place of amount"
            )
    wait = change.wait or 0.0
    needs = _needs(number, change.needs, table) if change.needs is not None else kind.needs if kind else ()
    if kind is not None and not needs:
        raise SlabwrightError(f'operations[{number}].needs: somebody has to do it; state needs = ["maker"]')
    return Draft(
        change.name,
        kind,
        "both",
        change.amount or 0.0,
        needs if kind is not None else (),
        unattended=wait,
        wait_spread=table.spread.wait_hardens if wait else 0.0,
        stated=change.minutes,
        own=True,
        pinned=change.pin,
    )


def _needs(number: int, names: Sequence[str], table: HoursTable) -> tuple[str, ...]:
    """Who and what it takes, as the change states it: a misspelt name would be one more person."""
    known = sorted({need for kind in table.kinds.values() for need in kind.needs} | table.places | {"helper"})
    for name in names:
        if name not in known:
            raise SlabwrightError(
                f'operations[{number}].needs: there is no "{name}"; {near(name, known)}'
                " A place of your own is stated in [hours] places of the shop file."
            )
    return tuple(names)


def _kind(number: int, name: str, table: HoursTable) -> str:
    if name not in table.kinds:
        raise SlabwrightError(
            f'operations[{number}].kind: there is no kind "{name}"; {near(name, table.kinds)}'
            " A kind of your own is stated in [[hours.rates]]."
        )
    return name


def _with_times(number: int, known: Draft, change: OperationChange, table: HoursTable) -> Draft:
    """One that the plan has, with what the change says of its time, its needs and its start."""
    kind = table.kinds[_kind(number, change.kind, table)] if change.kind is not None else known.kind
    timed = change.minutes is not None or change.amount is not None
    if known.kind is None and (timed or change.kind is not None or change.needs is not None):
        raise SlabwrightError(
            f'operations[{number}].minutes: "{known.name}" only waits: state wait, or add an operation of your own beside it'
        )
    needs = known.needs if change.needs is None else _needs(number, change.needs, table)
    if kind is not None and not needs:
        raise SlabwrightError(f'operations[{number}].needs: somebody has to do it; state needs = ["maker"]')
    return replace(
        known,
        kind=kind,
        amount=known.amount if change.amount is None else change.amount,
        stated=change.minutes,
        unattended=known.unattended if change.wait is None else change.wait,
        needs=needs,
        pinned=change.pin,
    )


def _split(number: int, drafts: Sequence[Draft], change: OperationChange) -> list[Draft]:
    """One operation in several, one after the other; its waiting is the last one's."""
    found: list[Draft] = []
    for draft in drafts:
        if draft.name != change.name:
            last = _part(change.name, change.split, change.split)
            links = tuple(
                replace(link, operation=last) if link.operation == change.name else link for link in draft.after
            )
            found.append(replace(draft, after=links))
            continue
        if draft.kind is None or not draft.kind.splittable:
            what = "only waits" if draft.kind is None else f"is done in one go ({draft.kind.name})"
            raise SlabwrightError(f'operations[{number}].split: "{draft.name}" {what}; leave split out')
        for part in range(1, change.split + 1):
            ends = part == change.split
            found.append(
                replace(
                    draft,
                    name=_part(draft.name, part, change.split),
                    # The set-up is had once, shared by the parts.
                    share=draft.share / change.split,
                    after=draft.after if part == 1 else (OperationLink(_part(draft.name, part - 1, change.split)),),
                    unattended=draft.unattended if ends else 0.0,
                    coat_open=draft.coat_open if ends else 0.0,
                    holds=draft.holds if ends else (),
                    pinned=draft.pinned if part == 1 else None,
                )
            )
    return found


def _part(name: str, part: int, parts: int) -> str:
    return f"{name}, part {part} of {parts}"
