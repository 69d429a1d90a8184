"""The passcode of a server that others in the house can reach: kept as an Argon2 hash."""

from __future__ import annotations

import contextlib
import secrets

from slabwright.findings import SlabwrightError
from slabwright.web.security.keeping import Keeping

SHORTEST = 6
LONGEST = 200
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without what is mistaken for another on a bench's tablet."""


def made_up() -> str:
    """A passcode that is easily typed: three groups of four, some 59 bits."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(3))


def as_made_up(typed: str) -> str:
    """A passcode that was made up, with its dashes again, however it was typed: spaces, neither, capitals; another as it is."""
    letters = "".join(letter for letter in typed.lower() if letter not in " -\u2010\u2011\u2013\u2014")
    if len(letters) != 12 or set(letters) - set(_LETTERS):
        return typed
    return "-".join(letters[at : at + 4] for at in (0, 4, 8))


class Passcode:
    """The passcode of a book's server.

    Args:
        keeping: where its hash is kept
    """

    def __init__(self, keeping: Keeping) -> None:
        self._keeping = keeping

    @property
    def is_set(self) -> bool:
        """Whether there is one."""
        return "hash" in self._keeping.read("passcode")

    def set(self, passcode: str) -> None:
        """Keep a new passcode.

        Raises:
            SlabwrightError: it is too short or too long.
        """
        from argon2 import PasswordHasher

        if not SHORTEST <= len(passcode) <= LONGEST:
            raise SlabwrightError(f"a passcode has {SHORTEST} to {LONGEST} letters or figures")
        self._keeping.change("passcode", "hash", PasswordHasher().hash(passcode))

    def holds(self, passcode: str) -> bool:
        """Whether this is the passcode."""
        from argon2 import PasswordHasher
        from argon2.exceptions import InvalidHashError, VerificationError

        kept = self._keeping.read("passcode").get("hash")
        if not isinstance(kept, str) or len(passcode) > LONGEST:
            return False
        for typed in dict.fromkeys((passcode, as_made_up(passcode))):
            with contextlib.suppress(VerificationError, InvalidHashError):
                if PasswordHasher().verify(kept, typed):
                    return True
        return False
