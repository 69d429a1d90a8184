"""The client's links: signed, of one job, good for some days, and known to the book's server."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass

from itsdangerous import BadData, URLSafeSerializer

from slabwright.findings import SlabwrightError
from slabwright.web.security.keeping import Keeping

_KEPT = "client-links"
LONGEST_DAYS = 90


@dataclass(frozen=True)
class ClientLink:
    """A link that was given out.

    Attributes:
        nonce: random, its name in the keeping
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
        keeping: where the links given out are kept
        clock: seconds since 1970
    """

    def __init__(self, keeping: Keeping, clock: Callable[[], float] = time.time) -> None:
        self._keeping = keeping
        self._clock = clock
        self._serializer = URLSafeSerializer(keeping.key, salt="slabwright-client")

    def give(self, job: int, days: int, to: str = "") -> tuple[str, ClientLink]:
        """A new link's token, and what is kept of it.

        Raises:
            SlabwrightError: it would be good for no day, or for too many.
        """
        if not 1 <= days <= LONGEST_DAYS:
            raise SlabwrightError(f"a client's link is good for 1 to {LONGEST_DAYS} days; it says {days}")
        now = int(self._clock())
        link = ClientLink(secrets.token_urlsafe(18), job, now + days * 86_400, now, to)
        self._keeping.change(_KEPT, link.nonce, [link.job, link.until, link.given, link.to])
        return str(self._serializer.dumps([link.nonce, link.job, link.until])), link

    def of(self, token: str) -> ClientLink | None:
        """The link of a token; None where it was changed, is over, was taken back, or never given out."""
        try:
            nonce, job, until = self._serializer.loads(token)
        except (BadData, ValueError, TypeError):
            return None
        link = self._kept(nonce) if isinstance(nonce, str) else None
        if link is None or (link.job, link.until) != (job, until) or self._clock() >= link.until:
            return None
        return link

    def given(self, job: int) -> list[ClientLink]:
        """Links of a job that are still good, the newest first."""
        links = [self._kept(nonce) for nonce in self._keeping.read(_KEPT)]
        good = [link for link in links if link is not None and link.job == job and self._clock() < link.until]
        return sorted(good, key=lambda link: (-link.given, link.nonce))

    def take_back(self, job: int, nonce: str) -> bool:
        """Make a link worthless; False where the job has none like it."""
        link = self._kept(nonce)
        if link is None or link.job != job:
            return False
        self._keeping.change(_KEPT, nonce, None)
        return True

    def _kept(self, nonce: str) -> ClientLink | None:
        kept = self._keeping.read(_KEPT).get(nonce)
        return ClientLink(nonce, int(kept[0]), int(kept[1]), int(kept[2]), str(kept[3])) if kept else None
