"""Closed loops of a DXF drawing."""

from __future__ import annotations

import io
import logging
from typing import Any

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.readings.source import FARTHEST, Source

FLATNESS = 0.05
"""Millimetres that a drawn curve may lie from its corners."""
INSERTION_UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4, 14: 100.0}
"""Millimetres in a drawing unit by the header's $INSUNITS: inch, foot, mm, cm, m, yard, dm; 0 says nothing."""
LOOPS = "LWPOLYLINE POLYLINE SPLINE CIRCLE ELLIPSE"


def loops_of_dxf(source: Source) -> list[Floats]:
    """The closed polylines, splines, circles and ellipses of a drawing's model space, each shape (n, 2) [mm].

    The header's `$INSUNITS` goes before the unit that the job states.

    Raises:
        SlabwrightError: a file that is no DXF, or in units that are not a shop's.
    """
    data = source.read()
    from ezdxf import recover
    from ezdxf.path import make_path

    document: Any = None
    readable = True
    log = logging.getLogger("ezdxf")
    before = log.disabled
    log.disabled = True
    # A reader of foreign formats raises whatever its parsing stumbles over; all of it means the same to the maker.
    try:
        document, _ = recover.read(io.BytesIO(data))
        shapes = list(document.modelspace().query(LOOPS))
        units = int(document.header.get("$INSUNITS", 0))
    except Exception:
        readable = False
    finally:
        log.disabled = before
    if not readable:
        source.fail("the file can't be read as DXF; save the drawing as DXF again.")
    if units != 0 and units not in INSERTION_UNITS:
        source.fail(f"the drawing's unit ($INSUNITS {units}) is no shop's; set it to millimetres or inches.")
    scale = INSERTION_UNITS.get(units, source.factor)
    loops = []
    for shape in shapes:
        try:
            path = make_path(shape)
            reach = np.array([(point.x, point.y) for point in path.control_vertices()])
            # Beyond the bound a curve would be cut into corners without end.
            if not path.is_closed or len(reach) < 2 or not np.all(np.abs(reach) * scale <= FARTHEST):
                continue
            loops.append(np.array([(point.x, point.y) for point in path.flattening(FLATNESS / scale)]) * scale)
        except Exception:
            source.fail(f"a {shape.dxftype()} of the drawing can't be read; draw it as a closed polyline.")
    return loops
