"""What falls due at a stored car: one row a duty, in the order of lists that have no other order.

When it falls due, and why, is computed by ``scheduler/duties/<system>/<code>.py``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION, LIFT
from scheduler.vocabulary.own_duties import OTHER, OWN_CARE, OWN_HARM_RANK, PAPER, is_own

EVERY_DUTY = ("*",)


class Minutes(NamedTuple):
    """Our allowance (policy) for one car; an organisation may set its own."""

    low: int
    likely: int
    high: int


@dataclass(frozen=True, kw_only=True)
class Work:
    """A duty as work of a day.

    ``label``: in a line of a day's sheet. ``allowance``: what the minutes are for. ``rank`` orders the
    steps of one visit, low first, for the reason ``order``. ``equipment``: what is bound meanwhile.
    ``occupies``: how long equipment and car are bound, where that is longer than staff is; the next
    step at the car waits for it. ``leaves_bay``: the car is driven out, so that those in front are moved
    first. ``by_moving``: whoever moves the car does it. ``warms``: it warms the engine; ``wants_warm``:
    it is done only on a visit with such a step, after it. ``before_warming``: the next warming waits.
    """

    label: str
    minutes: Minutes
    allowance: str
    rank: int
    order: str
    equipment: tuple[str, ...] = ()
    occupies: Minutes | None = None
    occupies_for: str = ""
    leaves_bay: bool = False
    by_moving: bool = False
    warms: bool = False
    wants_warm: bool = False
    before_warming: bool = False


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A kind of care that answers a duty. ``about``: details that say that it is this duty's work;
    ``counts_if``: details without which it was work, and did not end the need."""

    care: str
    about: Mapping[str, object] = field(default_factory=dict)
    counts_if: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Duty:
    """One duty.

    ``answered_by``: what ends the need; the form of the first is offered. ``record``: the part of the
    car's record that replaces its assumptions. ``touches``: other duties whose dates it may move once
    done; ``seen_on_any_visit``: so does any work at the car. ``shares_forecast``: duties that name the
    same are forecast together. ``cure``: kinds of care, any of which ends it for a time; ``harm``: what
    is lost by waiting; ``clears_for_days``: how long at the least it is not asked for again once a cure is
    done (a test holds every model to it). ``effect``: what it leaves in a simulated record beyond what its
    care tells. ``curve``: what its curve shows, drawn by ``band`` of its module. ``curve_since``: "fuel"
    where the curve begins anew with each fuel event. ``learns``: a car's own readings teach its rates.
    ``uses``: what is filled in, by the code of its price, a litre of the tank or once a time.
    ``chart``: its group in charts of work.
    ``timed``: a phone counts the minutes. ``harm_rank`` (policy): how much harm waiting does, 1 the most:
    frost splits a block or a battery, then what nobody has seen, fuel, tyres, at last oils that age slowly.
    ``measured_by``: quantities of which one reading says how the car stands with it.
    """

    code: str
    title: str
    system: str
    answered_by: tuple[Answer, ...]
    work: Work
    record: str
    chart: str
    cure: tuple[str, ...]
    harm: str
    clears_for_days: int
    kit: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    fluid: str = ""
    touches: tuple[str, ...] = ()
    seen_on_any_visit: bool = False
    shares_forecast: str = ""
    effect: str = ""
    curve: str = ""
    curve_since: str = ""
    learns: bool = False
    uses: str = ""
    timed: bool = False
    harm_rank: int = 50
    measured_by: tuple[str, ...] = ()


DUTIES = (
    Duty(
        code="charge",
        title="Maintainer charge",
        harm_rank=2,
        measured_by=("rested_volts", "specific_gravity"),
        system="battery",
        answered_by=(
            Answer(care="charge", counts_if={"completed": True}),
            Answer(care="maintainer", counts_if={"state": "on"}),
        ),
        work=Work(
            label="charge",
            minutes=Minutes(10, 15, 30),
            allowance="connect, look again, disconnect",
            rank=35,
            order="charge before cranking, and once staff is done elsewhere on the car",
            equipment=(CHARGER,),
            occupies=Minutes(120, 300, 960),
            occupies_for="a 60 Ah battery from 75 % at 4 A with a third more for losses and the slow end",
        ),
        record="battery",
        chart="charging",
        cure=("charge", "maintainer"),
        harm=(
            "Standing below half charge hardens sulphate: capacity is lost for good. A flat "
            "battery freezes and splits."
        ),
        clears_for_days=14,
        kit=("charger", "voltmeter", "gloves"),
        cautions=("hydrogen",),
        effect="charged",
        curve="state of charge",
        learns=True,
    ),
    Duty(
        code="run_up",
        title="Run-up",
        harm_rank=7,
        system="engine",
        answered_by=(Answer(care="run_up", counts_if={"driven": True, "reached_temperature": True}),),
        work=Work(
            label="run-up",
            minutes=Minutes(30, 45, 75),
            allowance="warm through and hold at heat",
            rank=50,
            order="after charge, stabiliser and tyres",
            equipment=(EXTRACTION,),
            leaves_bay=True,
            warms=True,
        ),
        record="last",
        chart="run_ups",
        cure=("run_up",),
        harm="Damp stays in the engine: bores rust, seals dry, acid in the oil eats bearings.",
        clears_for_days=21,
        kit=("key", "extraction_hose", "chocks"),
        cautions=("carbon_monoxide", "moving", "hot_cap"),
        touches=EVERY_DUTY,
        shares_forecast="fuel",
        timed=True,
    ),
    Duty(
        code="stabiliser",
        title="Fuel stabiliser",
        harm_rank=5,
        system="fuel",
        answered_by=(Answer(care="stabiliser"),),
        work=Work(
            label="fuel stabiliser",
            minutes=Minutes(5, 10, 20),
            allowance="dose and note the litres",
            rank=10,
            order="stabilise fresh fuel before the run-up that draws it in",
            before_warming=True,
        ),
        record="fuel",
        chart="fluids",
        cure=("stabiliser", "fuel_drained"),
        harm="The fuel begins to go stale, and stabiliser cannot mend it any more: it must then be changed.",
        clears_for_days=14,
        kit=("stabiliser", "gloves"),
        cautions=("petrol_vapour", "additive"),
        touches=("run_up", "fuel_change"),
        shares_forecast="fuel",
        effect="dosed",
        curve="fuel ageing",
        curve_since="fuel",
        uses="stabiliser",
    ),
    Duty(
        code="fuel_change",
        title="Fuel change",
        harm_rank=4,
        system="fuel",
        answered_by=(Answer(care="fuel_drained"),),
        work=Work(
            label="fuel change",
            minutes=Minutes(30, 60, 120),
            allowance="drain, dispose, refill",
            rank=8,
            order="fresh fuel before it is stabilised",
        ),
        record="fuel",
        chart="fluids",
        cure=("fuel_drained",),
        harm="Gum blocks jets and pump, water rusts the tank: cleaning them costs far more than the fuel.",
        clears_for_days=30,
        kit=("fuel_retriever", "extinguisher", "gloves"),
        cautions=("petrol_vapour",),
        touches=("run_up", "stabiliser"),
        shares_forecast="fuel",
        effect="filled",
        curve="fuel ageing",
        curve_since="fuel",
        uses="fuel",
    ),
    Duty(
        code="engine_oil",
        title="Engine oil",
        harm_rank=10,
        system="engine",
        answered_by=(Answer(care="fluid_changed", about={"fluid": "engine_oil"}),),
        work=Work(
            label="engine oil",
            minutes=Minutes(30, 45, 90),
            allowance="drain, filter, fill, check",
            rank=60,
            order="oil is changed warm, after the run-up",
            equipment=(LIFT,),
            leaves_bay=True,
            wants_warm=True,
        ),
        record="fluids",
        chart="fluids",
        cure=("fluid_changed",),
        harm="Acid and water in old oil etch bearings and rust bores while the engine stands.",
        clears_for_days=68,
        kit=("engine_oil", "drain_tray"),
        cautions=("oil", "raised"),
        fluid="engine_oil",
        uses="fluid",
    ),
    Duty(
        code="coolant",
        title="Coolant",
        harm_rank=1,
        measured_by=("coolant_freeze_point", "coolant_ph"),
        system="cooling",
        answered_by=(Answer(care="fluid_changed", about={"fluid": "coolant"}),),
        work=Work(
            label="coolant",
            minutes=Minutes(30, 60, 120),
            allowance="drain cold, fill, bleed",
            rank=6,
            order="on a cold engine only: a hot system is under pressure and scalds",
        ),
        record="fluids",
        chart="fluids",
        cure=("fluid_changed",),
        harm=(
            "A spent inhibitor lets block, radiator and pump corrode; too weak a mixture "
            "freezes and cracks the block."
        ),
        clears_for_days=91,
        kit=("coolant", "drain_tray"),
        cautions=("hot_cap", "coolant_poison"),
        fluid="coolant",
        curve="coolant freezing point",
        uses="fluid",
    ),
    Duty(
        code="brake_fluid",
        title="Brake fluid",
        harm_rank=9,
        measured_by=("brake_water", "brake_boiling_point"),
        system="brakes",
        answered_by=(Answer(care="fluid_changed", about={"fluid": "brake_fluid"}),),
        work=Work(
            label="brake fluid",
            minutes=Minutes(45, 75, 150),
            allowance="bleed four corners",
            rank=45,
            order="on the lift, so once the car is out; sound brakes before the engine is run",
            equipment=(LIFT,),
            leaves_bay=True,
        ),
        record="fluids",
        chart="fluids",
        cure=("fluid_changed",),
        harm="Water in the fluid rusts cylinders from within and boils in hard braking.",
        clears_for_days=365,
        kit=("brake_fluid", "bleeding_kit", "gloves"),
        cautions=("brake_fluid", "raised"),
        fluid="brake_fluid",
        uses="fluid",
    ),
    Duty(
        code="gearbox_oil",
        title="Gearbox oil",
        harm_rank=11,
        system="driveline",
        answered_by=(Answer(care="fluid_changed", about={"fluid": "gearbox_oil"}),),
        work=Work(
            label="gearbox oil",
            minutes=Minutes(20, 40, 90),
            allowance="drain, fill, check",
            rank=62,
            order="oil drains best after the run",
            equipment=(LIFT,),
            leaves_bay=True,
        ),
        record="fluids",
        chart="fluids",
        cure=("fluid_changed",),
        harm="Damp collects in the oil: bearings and gears rust where it lies.",
        clears_for_days=684,
        kit=("gearbox_oil", "drain_tray"),
        cautions=("oil", "raised"),
        fluid="gearbox_oil",
        uses="fluid",
    ),
    Duty(
        code="axle_oil",
        title="Axle oil",
        harm_rank=12,
        system="driveline",
        answered_by=(Answer(care="fluid_changed", about={"fluid": "axle_oil"}),),
        work=Work(
            label="axle oil",
            minutes=Minutes(20, 30, 60),
            allowance="drain, fill, check",
            rank=64,
            order="oil drains best after the run",
            equipment=(LIFT,),
            leaves_bay=True,
        ),
        record="fluids",
        chart="fluids",
        cure=("fluid_changed",),
        harm="Damp collects in the oil: bearings and gears rust where it lies.",
        clears_for_days=684,
        kit=("axle_oil", "drain_tray"),
        cautions=("oil", "raised"),
        fluid="axle_oil",
        uses="fluid",
    ),
    Duty(
        code="tyre_pressure",
        title="Tyre pressures",
        harm_rank=6,
        measured_by=("tyre_pressure", "tyre_pressure_set"),
        system="tyres",
        answered_by=(Answer(care="tyre_pressures"),),
        work=Work(
            label="tyre pressures",
            minutes=Minutes(5, 10, 20),
            allowance="four tyres and the spare",
            rank=30,
            order="tyre pressures before moving",
        ),
        record="tyres",
        chart="tyres",
        cure=("tyre_pressures",),
        harm="A soft tyre creases its side walls and takes a flat spot; driven on, it may fail.",
        clears_for_days=14,
        kit=("tyre_gauge",),
        cautions=("tyres",),
        touches=("tyre_move",),
        effect="inflated",
        curve="tyre pressure",
        learns=True,
    ),
    Duty(
        code="tyre_move",
        title="Move (tyres)",
        harm_rank=8,
        system="tyres",
        answered_by=(Answer(care="moved"),),
        work=Work(
            label="move (tyres)",
            minutes=Minutes(5, 10, 20),
            allowance="chock off, roll out and back, chock on",
            rank=40,
            order="moved on firm tyres",
            by_moving=True,
        ),
        record="tyres",
        chart="tyres",
        cure=("moved", "run_up"),
        harm="The tyres take a set: it shakes the car, and after long enough it stays.",
        clears_for_days=14,
        kit=("key", "chocks"),
        cautions=("moving",),
    ),
    Duty(
        code="inspection",
        title="Inspection",
        harm_rank=3,
        system="car",
        answered_by=(Answer(care="inspected"),),
        work=Work(
            label="inspection",
            minutes=Minutes(5, 10, 20),
            allowance="a slow walk round one car",
            rank=5,
            order="look first: a leak or a smell of petrol stops the rest",
        ),
        record="last",
        chart="inspections",
        cure=("inspected",),
        harm="A leak, vermin or damp goes unseen and has the time to do its damage.",
        clears_for_days=5,
        kit=("torch",),
        cautions=("rodents",),
        seen_on_any_visit=True,
    ),
)


def _own(system: str, title: str, harm: str) -> Duty:
    """What all duties that keepers added have in common; each has its own name, minutes and dates."""
    return Duty(
        code=OTHER,
        title=title,
        system=system,
        answered_by=(Answer(care=OWN_CARE),),
        work=Work(
            label=title.lower(),
            minutes=Minutes(5, 15, 60),
            allowance="where whoever added it says nothing else",
            rank=45,
            order="after what the car needs to stand well",
        ),
        record="own",
        chart="own",
        cure=(OWN_CARE,),
        harm=harm,
        clears_for_days=1,
        harm_rank=OWN_HARM_RANK,
    )


_WORK = _own("car", "Own duty", "Whoever added it knows: our models say nothing of it.")
_PAPER = _own("papers", "Paper", "Without a valid paper the car may not go on the road, or is not covered.")


class _ByCode(dict[str, Duty]):
    """The rows by their codes; a duty that a keeper added has the row that all of its sort share."""

    def __missing__(self, code: str) -> Duty:
        if not is_own(code):
            raise KeyError(code)
        return _PAPER if code.startswith(PAPER) else _WORK


DUTY: Mapping[str, Duty] = _ByCode({row.code: row for row in DUTIES})


def is_duty(code: str) -> bool:
    """Whether the code is one of a row, or of a duty that a keeper added."""
    return code in DUTY or is_own(code)


def duty_answered(care: str, details: Mapping[str, object]) -> str:
    """The duty that a kind of care answers, empty for none; a short or idling run answers no run-up."""
    if care == OWN_CARE:
        return str(details.get("own", ""))
    for duty in DUTIES:
        for answer in duty.answered_by:
            wanted = {**answer.about, **answer.counts_if}
            if answer.care == care and all(details.get(key) == value for key, value in wanted.items()):
                return duty.code
    return ""


@dataclass(frozen=True, kw_only=True)
class ChartGroup:
    """Duties that share a colour in charts of work."""

    code: str
    title: str


CHART_GROUPS = (
    ChartGroup(code="inspections", title="Inspections"),
    ChartGroup(code="charging", title="Charging"),
    ChartGroup(code="run_ups", title="Run-ups"),
    ChartGroup(code="tyres", title="Tyres"),
    ChartGroup(code="fluids", title="Fuel and fluids"),
    ChartGroup(code="own", title="Papers and own duties"),
)
