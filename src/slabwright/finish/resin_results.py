"""Epoxy of the whole top: places, pours, batches to the gram, and how long it waits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import FaceName
from slabwright.slab.passes import Pass

_SHEET = "the epoxy's data sheet"
_AMOUNT = ("slab.patches", "finish.mending.mends", "shop:epoxy.overfill", "shop:epoxy.leak_loss", "shop:epoxy.waste")
_TIMES = (
    "shop:epoxy.working_minutes",
    "shop:epoxy.mixing_minutes",
    "shop:epoxy.minutes_per_litre",
    "shop:epoxy.temperature_factor",
    "shop:epoxy.shop_temperature",
    "job:finish.temperature",
)

Sort = Literal["casting", "thin"]
Stage = Literal["rough", "skim", "only"]
Up = Literal["show", "underside"]


@dataclass(frozen=True)
class ResinPlace:
    """One place that is filled: a dip, or a defect."""

    name: str = figure("", "patch and its letter, or D and the defect's number")
    what: str = figure("", "what it is")
    sort: Sort = figure("", "casting epoxy, or thin penetrating epoxy", rests_on=("finish.mending.mends",))
    up: Up = figure(
        "",
        "the finished face that is up while it is poured",
        how="the face that it is seen on; what goes through is poured from the show face",
        rests_on=("finish.mending.mends",),
    )
    volume: float = figure(
        "mm3", "to be filled up to the finished face", rests_on=("slab.patches", "finish.mending.mends")
    )
    overfill: float = figure(
        "mm3",
        "that stands proud of the finished face",
        how="area of the liquid times how far it stands proud",
        rests_on=("shop:epoxy.overfill",),
        change="[epoxy] overfill",
    )
    loss: float = figure(
        "1",
        "share of what is poured that runs off",
        how="the sheet's or the usual share where it goes through or is a check; else none",
        rests_on=("shop:epoxy.leak_loss",),
        source=COMMON_PRACTICE,
        change="tape better, and state [epoxy] leak_loss",
    )
    poured: float = figure(
        "mm3",
        "that is poured into it, with what runs off",
        how="volume and what stands proud, over the share that stays",
        rests_on=("shop:epoxy.leak_loss",),
    )
    mass: float = figure(
        "kg",
        "of mix for it, with waste",
        how="poured volume times density, plus the share of waste",
        rests_on=("shop:epoxy.density", "shop:epoxy.waste"),
    )
    depth: float = figure("mm", "of liquid at its deepest, with what stands proud", rests_on=("finish.mending.mends",))
    first: int = figure(
        "1",
        "the pour that it begins with",
        how="1; a dip above a deep defect begins once that is full",
        rests_on=("finish.mending.mends",),
    )
    pours: int = figure(
        "1",
        "that its depth asks for",
        how="depth over the greatest depth of one pour, rounded up; of thin epoxy its coats, or one where a least cup does",
        rests_on=("shop:epoxy.greatest_pour",),
        source=_SHEET,
    )
    layer: float = figure(
        "mm", "depth of each pour", how="depth over the number of pours", rests_on=("shop:epoxy.greatest_pour",)
    )


@dataclass(frozen=True)
class Portion:
    """What of a batch goes into one place."""

    place: str = figure("", "patch and its letter, or D and the defect's number")
    grams: int = figure(
        "g", "of mix into it, without what stays in the cup", how="in the ratio of what each place takes"
    )


@dataclass(frozen=True)
class Batch:
    """One cup: what is weighed, and how long it takes to be poured."""

    number: int = figure("1", "from 1, over all pours")
    pour: int = figure("1", "the pour that it belongs to")
    sort: Sort = figure("", "casting epoxy, or thin penetrating epoxy")
    start: float = figure(
        "hour",
        "after the first batch",
        how="the pour's start, and the batches of it that come before",
        rests_on=_TIMES,
    )
    grams: int = figure(
        "g",
        "of mix",
        how="the pour's mass, rounded up, in equal batches none of which is more than can be poured in its working time",
        rests_on=(*_AMOUNT, *_TIMES),
        sure="to the gram of the scale",
    )
    resin: int = figure(
        "g",
        "of resin on the scale",
        how="the sheet's share of the mix without tint, to the gram",
        rests_on=("shop:epoxy.resin_parts", "shop:epoxy.resin_parts_volume"),
        source=_SHEET,
    )
    hardener: int = figure("g", "of hardener on the scale", how="the rest, so that all adds up", source=_SHEET)
    tint: int = figure(
        "g",
        "of colour paste",
        how="share of resin and hardener together, to the gram, never above the sheet's greatest",
        rests_on=("shop:epoxy.tint_share", "shop:epoxy.tint_most"),
        source=_SHEET,
    )
    resin_volume: float | None = figure(
        "mm3",
        "of resin in a measuring cup; empty without its density",
        how="its mass over its density",
        rests_on=("shop:epoxy.resin_density",),
    )
    hardener_volume: float | None = figure(
        "mm3",
        "of hardener in a measuring cup; empty without its density",
        how="its mass over its density",
        rests_on=("shop:epoxy.hardener_density",),
    )
    off_ratio: float = figure(
        "1", "share by which rounding to the gram shifts the ratio", how="resin over hardener against the sheet's"
    )
    volume: float = figure("mm3", "of mix", how="mass over density", rests_on=("shop:epoxy.density",))
    minutes: float = figure(
        "min",
        "to mix and pour it",
        how="mixing, plus its volume at the speed of pouring",
        rests_on=_TIMES,
    )
    working: float = figure(
        "min",
        "that it stays pourable",
        how="as the sheet; longer where the shop is colder and the sheet gives a factor",
        rests_on=_TIMES,
        source=_SHEET,
        sure="a sheet's time holds for its own cup, often 100 g; a deeper cup goes off sooner",
    )
    portions: tuple[Portion, ...] = figure("", "where it goes")


@dataclass(frozen=True)
class Pour:
    """One layer: all places that are poured in one go."""

    number: int = figure("1", "from 1; the show face first, thin epoxy first")
    sort: Sort = figure("", "casting epoxy, or thin penetrating epoxy")
    up: Up = figure("", "the finished face that is up", how="the show face first; then the slab is turned over")
    start: float = figure(
        "hour",
        "after the first batch",
        how="end of the pour before, and the wait between pours",
        rests_on=("shop:epoxy.hours_between_pours", *_TIMES),
    )
    minutes: float = figure("min", "that it takes, one batch after the other", how="added up", rests_on=_TIMES)
    places: tuple[str, ...] = figure("", "what is poured", rests_on=("finish.resin.places",))
    depth: float = figure("mm", "deepest layer of it", rests_on=("finish.resin.places",))
    mass: float = figure("kg", "of mix", how="its batches added up")


@dataclass(frozen=True)
class Rerun:
    """What is cut once the epoxy is hard; the sheets name its files, as the machine numbers them."""

    face: FaceName = figure("", "the face that is cut", rests_on=("slab.show_face",))
    stage: Stage = figure(
        "",
        "the skim, which is still to come; in one go the face's only stage, whose last depth is cut once more",
        rests_on=("slab.procedures",),
    )
    depths: int | None = figure(
        "1", "how many of the stage's last depths; empty: all of them", rests_on=("slab.procedures",)
    )

    def passes(self, done: Sequence[Pass]) -> tuple[Pass, ...]:
        """Those of some passes that it means.

        Args:
            done: all of the slab's, in the order of the work
        """
        own = [each for each in done if each.face == self.face and each.stage == self.stage]
        return tuple(own if self.depths is None else own[-self.depths :])


@dataclass(frozen=True)
class Resin:
    """All epoxy of the top."""

    volume: float = figure("mm3", "to be filled up to the finished face", how="places added up", rests_on=_AMOUNT)
    poured: float = figure(
        "mm3", "that is poured, proud and with what runs off", how="places added up", rests_on=_AMOUNT
    )
    lost: float = figure(
        "mm3", "of that which is reckoned to run off", how="poured times each place's loss", rests_on=_AMOUNT
    )
    mass: float = figure(
        "kg",
        "of mix, waste and tint counted",
        how="batches added up",
        rests_on=_AMOUNT,
        change="better tape, less overfill, fewer and larger batches",
    )
    resin: float = figure("kg", "of resin to have ready", how="batches added up", rests_on=_AMOUNT)
    hardener: float = figure("kg", "of hardener to have ready", how="batches added up", rests_on=_AMOUNT)
    tint: float = figure("kg", "of colour paste", how="batches added up", rests_on=("shop:epoxy.tint_share",))
    places: tuple[ResinPlace, ...] = figure("", "what is filled, deepest first")
    pours: tuple[Pour, ...] = figure("", "layers, in the order of the work")
    batches: tuple[Batch, ...] = figure("", "cups, in the order of the work")
    largest_batch: float | None = figure(
        "kg",
        "of casting epoxy that may be mixed at once; empty where the working time is too short for any",
        how="what can be mixed and poured in four fifths of the working time, or the sheet's greatest where that is less",
        rests_on=("shop:epoxy.greatest_batch", *_TIMES),
        source=COMMON_PRACTICE,
    )
    between: float = figure(
        "hour",
        "of waiting between pours of casting epoxy",
        how="as the sheet, at the shop's temperature",
        rests_on=("shop:epoxy.hours_between_pours", "shop:epoxy.temperature_factor"),
        source=_SHEET,
    )
    before_machining: float = figure(
        "hour",
        "of waiting from the end of the last pour",
        how="as the sheet, at the shop's temperature",
        rests_on=("shop:epoxy.hours_before_machining", "shop:epoxy.temperature_factor"),
        source=_SHEET,
    )
    wait: float = figure(
        "hour",
        "from the first batch until the face may be cut",
        how="pours, waits between them, and the wait before machining",
        rests_on=("shop:epoxy.hours_between_pours", "shop:epoxy.hours_before_machining"),
    )
    rerun: tuple[Rerun, ...] = figure("", "what is cut again once it is hard, face by face")
