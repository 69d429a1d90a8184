"""Mending before the last skim: for each defect that stays in the top the ways of mending it, side by side."""

from __future__ import annotations

import dataclasses

import shapely

from slabwright.findings import Finding
from slabwright.finish.mending_cuts import Cut, cuts_of, floor_of
from slabwright.finish.mending_findings import mending_findings
from slabwright.finish.mending_keys import keys_across, stated_keys
from slabwright.finish.mending_places import Ground, Left, what_is_left
from slabwright.finish.mending_results import Gone, Keys, LetIn, Mended, Mending, MendOption
from slabwright.finish.pours import epoxies, layer_count
from slabwright.job.epoxy_models import Epoxy
from slabwright.job.loaded import Job
from slabwright.job.mend_models import MEND_KINDS, Mend, MendKind
from slabwright.job.top_models import Clearances
from slabwright.quantities import format_length
from slabwright.reference.mending import mending_figures
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan

FILLED: tuple[MendKind, ...] = ("fill", "key and fill")


def mending_plan(job: Job, slab: SlabPlan, made: Board, top: TopPlan | None) -> tuple[Mending, tuple[Finding, ...]]:
    """The defects that stay in the finished top, how each may be mended and what that costs, and the way taken.

    The amount that a defect takes is area times the depth that is left of it times the share that is missing; of what is
    poured into it the share that leaks off is counted on top:

        poured = area * (depth - wood that comes off) * missing / (1 - leak loss)

    Args:
        job: what is stated; `[[mends]]` chooses
        slab: the slab's plan
        made: the board as well as it is known
        top: the placed top; None where the piece has no length yet, so that all that comes out flat is looked at

    Returns:
        The mending, and what there is to say.
    """
    stated = job.stated
    ground = Ground.of(slab, top, made.thickness)
    asked = {mend.defect: mend for mend in stated.mends}
    defects = stated.slab.defects if stated.slab is not None else []
    lefts: list[Left] = []
    gone: list[Gone] = []
    for number, defect in enumerate(defects, start=1):
        found = what_is_left(ground, number, defect, asked[number].missing if number in asked else None)
        if isinstance(found, str):
            gone.append(Gone(f"D{number}", defect.kind, found))
        else:
            lefts.append(found)
    cuts = cuts_of(ground, stated, lefts, floor_of(ground, stated) if lefts else None)
    mends = tuple(
        _mended(job, ground, left, asked.get(left.number, Mend(defect=left.number)), cuts.get(left.number))
        for left in lefts
    )
    chosen = [mend.option(mend.chosen) for mend in mends]
    let_in = _let_in(job, slab)
    prices = [*(option.money for option in chosen), *(piece.money for piece in let_in)]
    glue = mending_figures().days["glue"] if let_in else 0.0
    mending = Mending(
        mends=mends,
        gone=tuple(gone),
        when=_when(slab),
        hours=sum(option.hours for option in chosen) + sum(piece.hours for piece in let_in),
        days=max([glue, *(option.days for option in chosen)]),
        money=None if None in prices else sum(price for price in prices if price is not None),
        thickness=made.thickness,
        outline=ground.area[slab.show_face],
        let_in=let_in,
    )
    return mending, mending_findings(job, mending)


def _let_in(job: Job, slab: SlabPlan) -> tuple[LetIn, ...]:
    """A piece of wood for every dip, where dips take wood."""
    if slab.filled_with != "let in wood":
        return ()
    hours, found = mending_figures().hours, []
    for number, patch in enumerate(slab.patches):
        x0, y0, x1, y1 = patch.outline.bounds
        found.append(
            LetIn(
                name=f"patch {patch.name}",
                x=patch.x,
                y=patch.y,
                length=float(x1 - x0),
                width=float(y1 - y0),
                depth=patch.depth,
                hours=hours["let_in_next" if number else "let_in_first"],
                money=job.shop.prices.insert_per_piece,
            )
        )
    return tuple(found)


def _when(slab: SlabPlan) -> str:
    chosen = next((procedure.kind for procedure in slab.procedures if procedure.chosen), "one go")
    if chosen == "rough, rest, skim":
        return "after roughing and the rest, before the skim"
    return "after the last pass of the show face, which is then cut once more"


def _mended(job: Job, ground: Ground, left: Left, asked: Mend, cut: Cut | None) -> Mended:
    """One defect with its options."""
    units, top = job.stated.job.units, job.stated.top
    clearances = top.clearances if top is not None else Clearances()
    keys, no_keys = keys_across(ground, left, asked.key, clearances, units)
    weighed = _Weighed(job, ground, left, cut, keys, no_keys)
    options = tuple(weighed.option(kind) for kind in MEND_KINDS)
    fitting = {option.kind for option in options if option.fits}
    order = mending_figures().order[left.defect.kind]
    recommended: MendKind = next((kind for kind in MEND_KINDS if kind == _first(order, fitting)), "reject")
    keyed_by = stated_keys(ground, left)
    chosen = recommended
    if keyed_by:
        chosen = "key and fill" if "fill" in fitting else "key"
    if asked.choose is not None:
        chosen = asked.choose
    middle = left.shape.centroid
    along, across = shapely.get_coordinates(ground.in_top(middle))[0]
    x, y = shapely.get_coordinates(middle)[0]
    show = ground.slab.show_face
    return Mended(
        name=f"D{left.number}",
        number=left.number,
        kind=left.defect.kind,
        side=left.side,
        x=float(x),
        y=float(y),
        along=float(along) if ground.top is not None else None,
        across=float(across) if ground.top is not None else None,
        length=left.length,
        width=left.width,
        area=left.area,
        depth=left.depth,
        through=left.through,
        depth_known=left.known,
        missing=left.missing,
        volume=left.volume,
        leaks=left.leaks,
        tape=left.through,
        dam=left.open_edge,
        in_patch=left.patch if left.face == show else "",
        options=options,
        recommended=recommended,
        chosen=chosen,
        stated=asked.choose is not None,
        keys=keys if chosen in ("key", "key and fill") and not keyed_by else None,
        keyed_by=keyed_by,
        note=asked.note or left.defect.note,
        outline=left.shape,
        filled_area=left.filled_area,
    )


def _first(order: tuple[str, ...], fitting: set[MendKind]) -> str:
    return next((kind for kind in order if kind in fitting), "reject")


@dataclasses.dataclass(frozen=True)
class _Weighed:
    """What the options of one defect are weighed with."""

    job: Job
    ground: Ground
    left: Left
    cut: Cut | None
    keys: Keys | None
    no_keys: str

    def option(self, kind: MendKind) -> MendOption:
        """One option: whether it fits, and what it costs."""
        made = {
            "cut off": self._cut_off,
            "key": self._key,
            "key and fill": self._key_and_fill,
            "thin epoxy": self._thin,
            "fill": self._fill,
            "leave": self._leave,
            "reject": self._reject,
        }
        return made[kind]()

    def _result(
        self,
        kind: MendKind,
        reason: str,
        note: str,
        money: float | None,
        *,
        hours: float = 0.0,
        days: float = 0.0,
        thickness: float = 0.0,
        length: float = 0.0,
        volume: float = 0.0,
    ) -> MendOption:
        return MendOption(kind, not reason, reason, money, hours, days, thickness, length, volume, note)

    def _work(self, hours: float) -> float | None:
        rate = self.job.shop.prices.hour
        return None if rate is None else hours * rate

    @property
    def _seen(self) -> bool:
        return self.left.side != "underside"

    @property
    def _refused(self) -> str:
        return "the client said no" if self._seen and self.job.stated.fill.client_agrees is False else ""

    def _prepared(self) -> float:
        """Hours of cleaning, digging out, taping and damming."""
        hours, left = mending_figures().hours, self.left
        dug = left.defect.kind in ("bark", "pith", "metal")
        return (
            hours["clean"]
            + (hours["dig_out"] if dug else 0.0)
            + (hours["tape"] if left.through else 0.0)
            + (hours["dam"] if left.open_edge else 0.0)
        )

    def _poured(self, epoxy: Epoxy, volume: float) -> float:
        return volume / (1.0 - epoxy.leak_loss) if self.left.leaks else volume

    def _by_volume(self, volume: float) -> float | None:
        """Money that goes with the epoxy's volume and what of it is seen."""
        fill = self.job.stated.fill
        if fill.price_per_litre is None and fill.price_per_visible_area is None:
            return None
        seen = self.left.area / 1e6 * (fill.price_per_visible_area or 0.0) if self._seen else 0.0
        return volume / 1e6 * (fill.price_per_litre or 0.0) + seen

    def _cut_off(self) -> MendOption:
        figures, units = mending_figures(), self.job.stated.job.units
        hours = figures.hours["crosscut"]
        if self.cut is None or self.ground.top is None:
            reason = "the piece has no length yet"
            return self._result("cut off", reason, "State [piece] length.", self._work(hours), hours=hours)
        cut, placed = self.cut, self.ground.top.placement
        key = "cut_from" if cut.left_end else "cut_to"
        where = f"[slab] {key} = {format_length(cut.cut_at, units, 0)!r}"
        if cut.shift is not None:
            moved = format_length(abs(cut.shift), units, 0)
            note = f"The piece moved by {moved} to the {'right' if cut.shift > 0 else 'left'}: {where}."
            reason = (
                "another defect comes into the piece"
                if cut.enters
                else f"costs {format_length(cut.thickness, units)} of thickness"
                if cut.thickness > figures.cut["thickness_most"]
                else ""
            )
            return self._result("cut off", reason, note, self._work(hours), hours=hours, thickness=cut.thickness)
        wood = self.job.shop.prices.wood_per_cubic_metre
        work = self._work(hours)
        width = placed.width or self.ground.top.width
        lost = None if wood is None else cut.shorter * width * self.ground.thickness / 1e9 * wood
        money = None if lost is None or work is None else lost + work
        reason = (
            "too far from an end"
            if cut.shorter > figures.cut["share_most"] * placed.length
            else f"the piece gets {format_length(cut.shorter, units, 0)} shorter"
        )
        note = f"No room to move the piece. {where} and a shorter [piece] length, if the client takes it."
        return self._result("cut off", reason, note, money, hours=hours, length=cut.shorter)

    def _keyed(self) -> tuple[float, float | None]:
        """Hours and money of the keys."""
        hours = mending_figures().hours
        count = len(self.keys.places) if self.keys is not None else 0
        work = hours["key_first"] + hours["key_next"] * (count - 1) if count else 0.0
        each = self.job.shop.prices.insert_per_piece
        return work, self._work(work) if each is None else count * each

    def _key(self) -> MendOption:
        hours, money = self._keyed()
        count = len(self.keys.places) if self.keys is not None else 0
        note = (
            f"{count} bow tie{'s' if count != 1 else ''}, grain across the check; the check stays open."
            if count
            else ""
        )
        days = mending_figures().days["glue"] if count else 0.0
        return self._result("key", self._refused or self.no_keys, note, money, hours=hours, days=days)

    def _key_and_fill(self) -> MendOption:
        keyed, filled = self._key(), self._fill()
        money = None if keyed.money is None or filled.money is None else keyed.money + filled.money
        note = "Fill first; let the keys in once it is hard, before the face is cut again." if not keyed.reason else ""
        return self._result(
            "key and fill",
            keyed.reason or filled.reason,
            note,
            money,
            hours=keyed.hours + filled.hours,
            days=keyed.days + filled.days,
            volume=filled.volume,
        )

    def _fill(self) -> MendOption:
        figures, left, epoxy = mending_figures(), self.left, epoxies(self.job)[0]
        overfill = 0.0 if left.patch else epoxy.overfill
        pours = layer_count(left.depth + overfill, epoxy.greatest_pour)
        hours = self._prepared() + figures.hours["pour"] * pours
        volume = self._poured(epoxy, left.volume + left.filled_area * overfill)
        by_volume, work = self._by_volume(volume), self._work(hours)
        narrow = left.defect.kind == "check" and left.width < figures.width["fill_least"]
        reason = self._refused or ("too narrow for casting epoxy" if narrow else "")
        note = f"{pours} pour{'s' if pours != 1 else ''}."
        if left.defect.kind == "metal":
            note = "Metal out first, and the detector over it again. " + note
        if left.through:
            note = "Tape underneath. " + note
        waits = ((pours - 1) * epoxy.hours_between_pours + epoxy.hours_before_machining) * epoxy.slower
        return self._result(
            "fill",
            reason,
            note,
            None if by_volume is None or work is None else by_volume + work,
            hours=hours,
            days=waits / 24.0,
            volume=volume,
        )

    def _thin(self) -> MendOption:
        figures, left, epoxy = mending_figures(), self.left, epoxies(self.job)[1]
        coats = int(figures.thin["coats"])
        hours = self._prepared() + figures.hours["coat"] * coats
        volume = self._poured(epoxy, thin_volume(left.volume, left.area))
        by_volume, work = self._by_volume(volume), self._work(hours)
        most = figures.width["thin_most"]
        reason = self._refused
        if left.defect.kind == "check":
            if left.width > most:
                reason = reason or f"wider than {format_length(most, self.job.stated.job.units)}: it runs through"
        elif left.defect.kind not in ("knot", "pith"):
            reason = reason or "fills nothing"
        elif left.through:
            reason = reason or "runs through"
        waits = ((coats - 1) * epoxy.hours_between_pours + epoxy.hours_before_machining) * epoxy.slower
        return self._result(
            "thin epoxy",
            reason,
            f"{coats} coats, brushed on until the wood takes no more.",
            None if by_volume is None or work is None else by_volume + work,
            hours=hours,
            days=waits / 24.0,
            volume=volume,
        )

    def _leave(self) -> MendOption:
        left = self.left
        reason = ""
        if left.through:
            reason = "goes through, or may do"
        elif left.defect.kind in ("check", "bark", "pith", "metal"):
            reason = {
                "check": "a check goes on opening",
                "bark": "bark falls out",
                "pith": "soft pith takes no finish",
                "metal": "metal meets the cutter",
            }[left.defect.kind]
        elif left.defect.kind == "void" and self._seen:
            reason = "an open void on the show face"
        return self._result("leave", reason, "Nothing is done.", 0.0)

    def _reject(self) -> MendOption:
        survey, wood = self.ground.slab.survey, self.job.shop.prices.wood_per_cubic_metre
        rough = (survey.thickness_least + survey.thickness_most) / 2.0
        money = None if wood is None else survey.outline_a.area * rough / 1e9 * wood
        return self._result("reject", "", "Another slab, bought, dry and read; its days are not counted here.", money)


def thin_volume(empty: float, area: float) -> float:
    """What all coats of thin epoxy take: what is empty once, and what soaks in with each coat [mm3].

    Args:
        empty: volume that is empty [mm3]
        area: that is brushed [mm2]
    """
    thin = mending_figures().thin
    return empty + thin["coats"] * thin["soak"] * area
