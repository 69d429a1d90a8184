"""The one type family of all sheets, from a package, so that every machine prints the same."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from slabwright.findings import SlabwrightError

FAMILY = "Source Sans Pro"
REGULAR = "SourceSansPro-Regular.ttf"


def font_folder() -> Path:
    """The folder that holds the family's files.

    Raises:
        SlabwrightError: the package with the fonts is not installed
    """
    found = importlib.util.find_spec("font_source_sans_pro")
    if found is None or found.origin is None:
        raise SlabwrightError(
            "The sheets want the Python package font-source-sans-pro; install slabwright with its parts."
        )
    return Path(found.origin).parent / "files"
