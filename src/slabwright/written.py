"""Files written beside and then renamed: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from slabwright.findings import SlabwrightError


def written_beside(path: Path, data: bytes) -> Path:
    """Write a file whole or not at all: beside it first, then renamed over it.

    Args:
        path: of the file; its folder exists
        data: what it is to hold

    Raises:
        SlabwrightError: it cannot be written there; what stood there stands yet.
    """
    beside: str | None = None
    try:
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(0o644)
        Path(beside).replace(path)
    except OSError as error:
        if beside is not None:
            Path(beside).unlink(missing_ok=True)
        raise SlabwrightError(f"{path}: cannot be written ({error.strerror}); name another folder with --out") from None
    return path
