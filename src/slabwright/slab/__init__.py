"""Survey, seat, patch, shims, passes: the rough slab becomes a flat blank.

Each stage's main function can be imported from here: `from slabwright.slab import survey, seat, shims`.
"""

from slabwright.slab.balance import balance
from slabwright.slab.board import board
from slabwright.slab.flatten import flatten
from slabwright.slab.moisture import moisture_gate
from slabwright.slab.passes import passes, procedures
from slabwright.slab.patches import patch_front, patches
from slabwright.slab.promise import promise
from slabwright.slab.seat import seat
from slabwright.slab.shims import shims
from slabwright.slab.survey import survey
from slabwright.slab.ways import ways

__all__ = [
    "balance",
    "board",
    "flatten",
    "moisture_gate",
    "passes",
    "patch_front",
    "patches",
    "procedures",
    "promise",
    "seat",
    "shims",
    "survey",
    "ways",
]
