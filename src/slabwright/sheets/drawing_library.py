"""The drawing library, used by one thread at a time: its options and the fonts that it reads bit by bit are shared."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

_ALONE = threading.RLock()


@contextmanager
def drawing_library() -> Iterator[None]:
    """Use the library alone, and keep it from noting when a file was made: the same plan gives the same bytes."""
    from ezdxf import options

    with _ALONE:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before
