"""A job with a read slab, for tests of pages: a plain board of ash, slightly bowed, with a base and two plates. Invented."""

from __future__ import annotations

JOB = """# Invented for tests.
[job]
title = "Hall table"
units = "metric"

[piece]
length = 1500
width = 600
height = 740
live_edges = "none"
base = "U legs"

[room]
kind = "heated house"

[slab]
species = "ash, white"
survey = "survey.csv"
survey_units = "mm"

[slab.moisture]
shell = [8.5, 8.7]
core = [9.0]

[top]
rings = { picture = "flat-sawn" }

[[top.features]]
kind = "pocket"
name = "left plate"
along_from = "left end"
along = 300            # from the end
length = 120
width = 420
depth = 9

[[top.features]]
kind = "pocket"
name = "right plate"
along_from = "right end"
along = 300
length = 120
width = 420
depth = 9

[[top.features]]
kind = "outlet"
name = "lamp"
diameter = 60
recess_diameter = 78
recess_depth = 20

[[top.features]]
kind = "channel"
name = "cord"
path = [[750, 0], [950, 0]]
width = 12
depth = 14

[[top.features]]
kind = "round"
name = "eased"
face = "show"
size = 2
"""
_PLATES = [
    (f"{end} {row} {side}", f"{end} plate", along, across, side == "middle")
    for end in ("left", "right")
    for row, along in (("outer", -45), ("inner", 45))
    for side, across in (("near", -170), ("middle", 0), ("far", 170))
]
INSERTS = "".join(
    f"""
[[top.features]]
kind = "insert"
name = "{name}"
along_from = "{plate}"
along = {along}
across_from = "{plate}"
across = {across}
drill = 12
depth = 22
engagement = 14
plate = "{plate}"
plate_thickness = 8
{"fixed = true" if fixed else ""}
"""
    for name, plate, along, across, fixed in _PLATES
)


def survey() -> str:
    """Readings of both faces every 170 mm: 56 mm thick, bowed by 3 mm."""
    rows = ["face,x,y,z"]
    for face, z in (("A", 56.0), ("B", 0.0)):
        for i in range(11):
            for j in range(5):
                x, y = 170.0 * i, 170.0 * j - 340.0
                bow = 3.0 * (1.0 - ((x - 850.0) / 850.0) ** 2)
                rows.append(f"{face},{x:.1f},{y:.1f},{z + bow:.2f}")
    return "\n".join(rows) + "\n"


def files(job: str = JOB + INSERTS) -> dict[str, bytes]:
    """The job's files."""
    return {"job.toml": job.encode(), "survey.csv": survey().encode()}
