"""Keys in words become links to the place where they are stated."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from slabwright.web.stated_form import known_tables

_TABLE = re.compile(r"\[{1,2}([a-z_]+)((?:\.[a-z_]+)*)\]{1,2}")


def linked(words: str, job: int) -> Markup:
    """Words as HTML in which a table's name, such as `[slab.moisture]` or `[[suppliers]]`, leads to its questions.

    Args:
        words: as they are told on sheets and in the terminal
        job: whose page they stand on
    """
    parts = []
    at = 0
    for found in _TABLE.finditer(words):
        file = next((file for file in ("job", "shop") if found[1] in known_tables(file)), None)
        if file is None:
            continue
        address = f"/jobs/{job}/stated?file={file}#{found[1]}{found[2]}"
        parts += [escape(words[at : found.start()]), Markup('<a href="{}">{}</a>').format(address, found[0])]
        at = found.end()
    return Markup("").join([*parts, escape(words[at:])])
