"""Who is at a device: a signed cookie, and the token that every change has to bring along."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass, replace

from itsdangerous import BadData, URLSafeTimedSerializer

COOKIE = "slabwright_session"
LASTS = 30 * 24 * 3600
"""Seconds until a device has to enter again."""
NOBODY = "bench"


@dataclass(frozen=True)
class Session:
    """A device at the pages.

    Attributes:
        id: random
        entered: whether the passcode was given
        name: who works there, as revisions shall say
    """

    id: str
    entered: bool = False
    name: str = NOBODY

    def anew(self) -> Session:
        """The same device once it has entered, under a new id: one that was planted before is worth nothing."""
        return replace(self, id=secrets.token_urlsafe(18), entered=True)


def new_session() -> Session:
    """A session of a device that was never seen."""
    return Session(secrets.token_urlsafe(18))


class Sessions:
    """Reads and writes the cookie.

    Args:
        key: the server's signing key
    """

    def __init__(self, key: bytes) -> None:
        self._key = key
        self._serializer = URLSafeTimedSerializer(key, salt="slabwright-session")

    def cookie(self, session: Session) -> str:
        """The cookie's text."""
        return str(self._serializer.dumps([session.id, session.entered, session.name]))

    def read(self, cookie: str) -> Session | None:
        """The session of a cookie, or None where it is not ours or too old."""
        try:
            id_, entered, name = self._serializer.loads(cookie, max_age=LASTS)
        except (BadData, ValueError, TypeError):
            return None
        return Session(str(id_), bool(entered), str(name))

    def header(self, session: Session) -> str:
        """The value of the header that sets the cookie."""
        return f"{COOKIE}={self.cookie(session)}; Max-Age={LASTS}; Path=/; HttpOnly; SameSite=Strict"

    def token(self, session: Session) -> str:
        """What every change from this device has to bring along, which no other site can know."""
        return hmac.new(self._key, b"token " + session.id.encode(), hashlib.sha256).hexdigest()

    def brings(self, session: Session, token: str) -> bool:
        """Whether a token is that of the session."""
        return hmac.compare_digest(self.token(session).encode(), token.encode())
