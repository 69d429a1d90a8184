"""The finding: what breaks a rule, where, by how much, what would mend it, and whose rule it is.

People read "check" or "problem"; the code says finding.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "caution", "stop"]

COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"


@dataclass(frozen=True)
class Finding:
    """One thing that the maker should know before going on.

    Attributes:
        code: room and rule, such as `slab/no-blank`
        severity: `note`, `caution` or `stop`
        message: what, where and by how much, in plain words and the job's units
        remedy: what would mend it; tried in the model before it is offered
        source: whose rule it is: a publication with its table, `common practice` or `from memory`
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    source: str = COMMON_PRACTICE


class SlabwrightError(Exception):
    """Input that cannot be used: one line that names the place, what is wrong and what would be right.

    The commands print it to standard error and exit with status 2.
    """
