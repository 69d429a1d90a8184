"""What the server keeps to itself, in a folder beside the book: its key and the passcode's hash."""

from __future__ import annotations

import json
import os
import secrets
import threading
from pathlib import Path
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.written import written_beside

_KEY_BYTES = 32


class Keeping:
    """A folder that only its owner may read.

    Args:
        folder: made where there is none

    Raises:
        SlabwrightError: it cannot be made or read.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self.key = self._read_or_make_key()
        except OSError as error:
            raise SlabwrightError(
                f"{folder}: the server's own folder cannot be used ({error.strerror}); put the book where you may write"
            ) from None

    def _read_or_make_key(self) -> bytes:
        path = self._folder / "key"
        try:
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            key = path.read_bytes()
            if len(key) == _KEY_BYTES:
                return key
            raise SlabwrightError(
                f"{path} is damaged; remove it: devices then enter again, and client links are given anew"
            ) from None
        with os.fdopen(handle, "wb") as file:
            key = secrets.token_bytes(_KEY_BYTES)
            file.write(key)
        return key

    def read(self, name: str) -> dict[str, Any]:
        """What is kept under a name; nothing where there is none yet."""
        path = self._folder / f"{name}.json"
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return {}
        except (OSError, ValueError):
            raise SlabwrightError(f"{path} is damaged; remove it, and state again what it held") from None
        if not isinstance(found, dict):
            raise SlabwrightError(f"{path} is damaged; remove it, and state again what it held")
        return found

    def change(self, name: str, key: str, value: Any) -> None:
        """Keep a value by its key under a name; None forgets it."""
        with self._lock:
            kept = self.read(name)
            if value is None:
                kept.pop(key, None)
            else:
                kept[key] = value
            path = self._folder / f"{name}.json"
            written_beside(path, json.dumps(kept).encode())
            path.chmod(0o600)
