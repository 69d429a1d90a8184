"""How the slab is cut flat: its depths, each with the wood that is left, and the stacks that it lies on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from slabwright.geometry.faces import FaceName
from slabwright.sheets.context import Context
from slabwright.sheets.stack_card import kinds_of
from slabwright.web.models import Model
from slabwright.web.pages.slab_pictures import stack_picture

if TYPE_CHECKING:
    from slabwright.plan import Plan


class DepthView(Model):
    """One depth of a face, and the wood that is left after it."""

    number: int = Field(description="in the order of the work")
    face: FaceName
    stage: str
    level: str = Field(description="of the cutter above the finished plane")
    above_bed: str = Field(description="of the cutter above the bed; nothing where it is not known")
    deep: str
    takes: str
    leaves: str
    drawing: str = Field(description="address of its map")
    path: str = Field(description="of its depth, in plan.json")


class PieceView(Model):
    """Pieces of one thickness in a stack."""

    thickness: str
    count: int


class StackView(Model):
    """A stack of shims."""

    name: str
    height: str
    place: str
    carries: bool
    wedge: str = Field(description="what is left to wedge; nothing where it carries")
    pieces: list[PieceView] = Field(description="thickest first")
    picture: str = Field(description="SVG: from the side")
    path: str = Field(description="of its height, in plan.json")


def depth_views(plan: Plan, context: Context, job: int, revision: int) -> list[DepthView]:
    """Every depth, in the order of the work."""
    words = context.words
    of = {"A": 0, "B": 0}
    found = []
    clampings = plan.machine.clampings if plan.machine is not None else ()
    known = {(each.face, each.stage): each.plane for each in reversed(clampings)}
    for index, each in enumerate(context.slab.passes):
        of[each.face] += 1
        at = (each.face, each.stage)
        plane = known[at] if at in known else context.above_bed(*at)
        stage = {"rough": "rough", "skim": "skim", "only": "one go"}[each.stage]
        left = "nothing left"
        if each.left_volume > 0.0:
            left = f"leaves {words.chips(each.left_volume)} on {words.area(each.left_area)}"
        found.append(
            DepthView(
                number=each.number,
                face=each.face,
                stage=f"{stage}, thin last" if each.last else stage,
                level=words.signed(each.level),
                above_bed="" if plane is None else words.fine(plane + each.level),
                deep=words.fine(each.depth),
                takes=f"takes {words.chips(each.volume)} on {words.area(each.area)}",
                leaves=left,
                drawing=f"/api/jobs/{job}/drawings/slab-left-{each.face.lower()}-{of[each.face]}?revision={revision}",
                path=f"slab.passes[{index}].level",
            )
        )
    return found


def stack_views(context: Context) -> list[StackView]:
    """Every stack of shims, by its name."""
    words, shims = context.words, context.slab.shims
    stacks = shims.stacks if shims is not None else ()
    most = max((stack.height for stack in stacks), default=1.0)
    found = []
    for index, stack in enumerate(stacks):
        x, y = context.place(stack)
        found.append(
            StackView(
                name=stack.name,
                height=f"{words.shim(stack.height)} {words.unit}",
                place=f"x {words.place(x)}, y {words.place(y)}",
                carries=stack.carries,
                wedge="" if stack.carries else words.finer(stack.wedge),
                pieces=[PieceView(thickness=words.shim(thick), count=count) for thick, count in kinds_of(stack)],
                picture=stack_picture(stack, most),
                path=f"slab.shims.stacks[{index}].height",
            )
        )
    return found
