"""What cannot all be kept, and what would free it, each way as one press."""

from __future__ import annotations

import datetime
from typing import Any

from pydantic import Field

from slabwright.shop.conflicts import Change, span
from slabwright.web import clock
from slabwright.web.models import Model
from slabwright.web.shop_days import OneJob, ShopBoard


class Way(Model):
    """One way to free a conflict."""

    words: str = Field(description="on the button, or what is to be done by hand")
    least: bool = Field(description="whether it belongs to the least change in all")
    address: str = Field(description="to send it to; nothing where the tool cannot do it")
    send: dict[str, Any] = Field(description="what to send")


def together_words(board: ShopBoard) -> list[str]:
    """What cannot all be kept."""
    return list(board.clash.together) if board.clash is not None else []


def ways(board: ShopBoard) -> list[Way]:
    """What would free it: the least change first, then the others, each once."""
    if board.clash is None:
        return []
    found: dict[str, Way] = {}
    for least, changes in ((True, board.clash.least), (False, board.clash.alone)):
        for change in changes:
            way = _way(board, change, least=least)
            if way is not None:
                found.setdefault(way.words, way)
    for words in board.clash.together:
        for one in board.jobs:
            for operation in one.operations:
                if operation.pinned is not None and words.startswith(f"{one.name}: {operation.name} pinned to "):
                    way = _free(one, operation.name, least=False)
                    found.setdefault(way.words, way)
    return list(found.values())


def _way(board: ShopBoard, change: Change, *, least: bool) -> Way | None:
    for one in board.jobs:
        if change.kind == "promise" and change.what == f"the promise of {one.name}" and one.job is not None:
            promised = one.job.stated.job.promised
            if promised is None:
                return None
            due = datetime.datetime.combine(promised, datetime.time(23, 59))
            day = (due + datetime.timedelta(minutes=change.by)).date()
            return Way(
                words=f"Promise {one.name} for {clock.day_words(day)}: {(day - promised).days} days later",
                least=least,
                address=f"/api/jobs/{one.id}/promise",
                send={"day": day.isoformat()},
            )
        if change.kind == "pin":
            for operation in one.operations:
                if change.what == f"the pinned time of {one.name}: {operation.name}":
                    return _free(one, operation.name, least=least)
    if change.kind == "window":
        words = f"Make {change.what} wider by {span(change.by)}: only where its data sheet allows it"
        return Way(words=words, least=least, address="", send={})
    return None


def _free(one: OneJob, operation: str, *, least: bool) -> Way:
    words = f"Free {operation} of {one.name} from its pinned time"
    return Way(words=words, least=least, address=f"/api/jobs/{one.id}/pins", send={"operation": operation, "at": None})
