"""The client's links: signed, of one job, good for some days, and known to the book.

Each link has a key of its own, kept in the book with it: a book that is restored elsewhere knows its links again.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from itsdangerous import BadData, URLSafeSerializer

from slabwright.book.links import LinkRow, Links
from slabwright.findings import SlabwrightError

LONGEST_DAYS = 90
_SALT = "slabwright-client"


@dataclass(frozen=True)
class ClientLink:
    """A link that was given out.

    Attributes:
        nonce: random, its name in the book
        job: that it shows
        until: good until then [s since 1970]
        given: when it was given out [s since 1970]
        to: whom it was given to, in the maker's words
    """

    nonce: str
    job: int
    until: int
    given: int
    to: str


class ClientLinks:
    """Gives links out, and knows them again.

    Args:
        links: of the book
        old_key: that signed the links which were kept beside the book
        clock: seconds since 1970
    """

    def __init__(self, links: Links, old_key: bytes, clock: Callable[[], float] = time.time) -> None:
        self._links = links
        self._old_key = old_key
        self._clock = clock

    def give(self, job: int, days: int, to: str = "") -> tuple[str, ClientLink]:
        """A new link's token, and what is kept of it.

        Raises:
            SlabwrightError: it would be good for no day, or for too many, or there is no such job.
        """
        if not 1 <= days <= LONGEST_DAYS:
            raise SlabwrightError(f"a client's link is good for 1 to {LONGEST_DAYS} days; it says {days}")
        now = int(self._clock())
        until = now + days * 86_400
        given, ends = (datetime.fromtimestamp(seconds, UTC) for seconds in (now, until))
        row = LinkRow(secrets.token_urlsafe(18), job, ends, given, to, secrets.token_hex(32))
        self._links.add(row)
        token = str(self._signing(row).dumps([row.nonce, job, until]))
        return token, _link(row)

    def of(self, token: str) -> ClientLink | None:
        """The link of a token; None where it was changed, is over, was taken back, or never given out."""
        try:
            row = self._named(URLSafeSerializer(b"", salt=_SALT).loads_unsafe(token)[1])
            if row is None:
                return None
            nonce, job, until = self._signing(row).loads(token)
        except (BadData, ValueError, TypeError):
            return None
        link = _link(row)
        if (link.nonce, link.job, link.until) != (nonce, job, until) or self._clock() >= link.until:
            return None
        return link

    def _named(self, said: Any) -> LinkRow | None:
        """The link that an unproven token names."""
        named = isinstance(said, list) and len(said) == 3 and isinstance(said[0], str) and "\0" not in said[0]
        return self._links.of(said[0]) if named else None

    def given(self, job: int) -> list[ClientLink]:
        """Links of a job that are still good, the newest first."""
        return [link for link in map(_link, self._links.of_job(job)) if self._clock() < link.until]

    def take_back(self, job: int, nonce: str) -> bool:
        """Make a link worthless; False where the job has none like it."""
        return "\0" not in nonce and self._links.take_back(job, nonce)

    def _signing(self, row: LinkRow) -> URLSafeSerializer:
        return URLSafeSerializer(bytes.fromhex(row.key) or self._old_key, salt=_SALT)


def _link(row: LinkRow) -> ClientLink:
    return ClientLink(row.nonce, row.job, int(row.until.timestamp()), int(row.given.timestamp()), row.to)
