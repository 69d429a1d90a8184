"""Files written beside and then renamed: whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from slabwright.findings import SlabwrightError


def written_beside(path: Path, data: bytes) -> Path:
    """Write a file so that at any moment either the old or the new one is there, whole; a link keeps pointing where it did.

    Args:
        path: of the file; its folder exists
        data: what it is to hold

    Raises:
        SlabwrightError: it cannot be written there; what stood there stands yet.
    """
    target = Path(os.path.realpath(path))
    beside = ""
    try:
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o644
        handle, beside = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}-", suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(mode)
        Path(beside).replace(target)
    except OSError as error:
        if beside:
            Path(beside).unlink(missing_ok=True)
        raise SlabwrightError(f"{path}: cannot be written ({error.strerror}); check who may write there") from error
    return path
