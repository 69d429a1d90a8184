"""Which coatings a job asks for: from the shop file, else from the invented examples."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from slabwright.findings import SlabwrightError
from slabwright.job.finish_models import Coating, Finish, FinishCoat
from slabwright.job.loaded import Job
from slabwright.reference.coatings import example_coatings


@dataclass(frozen=True)
class AskedCoat:
    """One coat that is asked for: its sheet, what is done to it, which of its own kind it is, and whether it is an example."""

    sheet: Coating
    then: Literal["coat", "scuff", "sand"]
    of_kind: int
    invented: bool


@cache
def examples() -> tuple[Coating, ...]:
    """The invented example coatings, checked as a maker's own are."""
    return tuple(Coating.model_validate(stated, context={"units": "metric"}) for stated in example_coatings())


def _plain(name: str) -> str:
    return " ".join(name.lower().split())


def coating_named(name: str, stated: Sequence[Coating], key: str) -> tuple[Coating, bool]:
    """A coating by its name, and whether its figures are invented.

    Args:
        name: as the job says
        stated: the shop file's coatings
        key: where the job says so, for the message

    Raises:
        SlabwrightError: there is none of that name; names near ones.
    """
    for kind, invented in ((stated, False), (examples(), True)):
        for coating in kind:
            if _plain(coating.name) == _plain(name):
                return coating, invented
    known = [coating.name for coating in (*stated, *examples())]
    near = difflib.get_close_matches(_plain(name), [_plain(each) for each in known], n=2, cutoff=0.5)
    told = "; did you mean " + " or ".join(f"'{each}'" for each in near) + "?" if near else ""
    told = told or f"; there are {', '.join(dict.fromkeys(known))}"
    shown = "".join(letter if letter.isprintable() else "?" for letter in name[:60])
    raise SlabwrightError(f"{key}: there is no coating '{shown}' in the shop file{told}; state it in [[coatings]]")


def asked_coats(listed: Sequence[FinishCoat], stated: Sequence[Coating], key: str) -> tuple[AskedCoat, ...]:
    """The coats of a system, one by one.

    Args:
        listed: as the job lists them
        stated: the shop file's coatings
        key: of the list in the job file

    Raises:
        SlabwrightError: there is no coating of that name.
    """
    found: list[AskedCoat] = []
    for number, each in enumerate(listed):
        sheet, invented = coating_named(each.coating, stated, f"{key}[{number}].coating")
        before = sum(coat.sheet.name == sheet.name for coat in found)
        count = each.coats or sheet.coats
        found += [AskedCoat(sheet, each.then, before + own, invented) for own in range(count)]
    return tuple(found)


def wood_listed(job: Job) -> tuple[Sequence[FinishCoat], str | None]:
    """What goes on the wood; and the words of `[piece] finish` where they name no coating."""
    finish = job.stated.finish or Finish()
    if finish.wood or not job.stated.piece.finish:
        return finish.wood, None
    words = job.stated.piece.finish
    known = {_plain(coating.name) for coating in (*job.shop.coatings, *examples())}
    return ([FinishCoat(coating=words)], None) if _plain(words) in known else ([], words)
