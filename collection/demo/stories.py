"""What happened once: the events that make the barn's two years untidy and worth reading."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from collection.care.draft import Measured
from collection.demo.cars import log_begins
from collection.demo.diary import Diary
from collection.demo.pictures import blank_invoice, meter_reading
from collection.demo.tables import months_before
from collection.models import (
    Battery,
    Bay,
    CareKind,
    FuelSystem,
    Person,
    Quantity,
    TyrePosition,
    Vehicle,
)
from scheduler.vocabulary.care import CARE

K = CareKind


@dataclass(frozen=True)
class Scene:
    """The diary, the cars by registration, the bays by label, and the manager."""

    diary: Diary
    cars: dict[str, Vehicle]
    bays: dict[str, Bay]
    manager: Person

    def ago(self, days: int) -> date:
        """A working day that many days back."""
        return self.diary.working_day(self.diary.today - timedelta(days=days))

    def midwinter(self) -> date:
        """The latest 20 January that is at least six weeks past."""
        today = self.diary.today
        return max(
            day
            for year in (today.year - 1, today.year)
            if (day := date(year, 1, 20)) < today - timedelta(days=42)
        )


def tell(scene: Scene) -> None:
    """Write every story."""
    for story in STORIES:
        story(scene)


def show_the_rest(scene: Scene) -> None:
    """One entry of each kind that nothing else tells of, by the example of its row."""
    shown = {entry.kind for entry in scene.diary.entries}
    cars = list(scene.cars.values())
    diesel = next(car for car in cars if car.fuel_system == FuelSystem.DIESEL)
    for row in CARE:
        if row.example and row.code not in shown:
            car = diesel if row.fuel == "cold_additive" else cars[0]
            scene.diary.write(car, CareKind(row.code), scene.ago(20), details=dict(row.example))


def _frozen_battery(scene: Scene) -> None:
    """A flat battery in the open yard froze; it was replaced when the thaw came."""
    car, diary, day = scene.cars["KM 1165"], scene.diary, scene.midwinter()
    diary.write(
        car,
        K.INSPECTED,
        day,
        details={"ok": False, "found": ["battery case bulged", "ice in two cells"]},
        note="−14 °C this morning. Nobody charges a frozen battery: left alone, car tagged.",
    )
    tag = diary.write(
        car, K.TAG_OPENED, day, details={"tag": "danger", "where": "battery frozen, case may leak acid"}
    )
    diary.write(
        car,
        K.NOT_DONE,
        diary.working_day(day + timedelta(days=2)),
        details={"duty": "charge", "reason": "battery frozen: it may burst on charge"},
    )
    thaw = diary.working_day(day + timedelta(days=34))
    diary.strike(car, (K.CHARGE, K.RUN_UP), day, thaw + timedelta(days=6))
    diary.write(
        car,
        K.BATTERY_READING,
        thaw,
        note="Thawed in the workshop, two dead cells. Scrapped.",
        readings=[Measured(Quantity.RESTED_VOLTS, 9.84, temperature_c=9.0, rest_hours=72.0)],
    )
    _fit_battery(scene, car, diary.working_day(thaw + timedelta(days=6)), months_old=3)
    diary.write(
        car, K.TAG_CLOSED, diary.working_day(thaw + timedelta(days=6)), details={"opened": str(tag.pk)}
    )


def _fit_battery(scene: Scene, car: Vehicle, day: date, months_old: int) -> None:
    old = car.batteries.get(removed_on__isnull=True)
    old.removed_on = day
    old.save()
    Battery.objects.create(
        vehicle=car,
        chemistry=old.chemistry,
        capacity_ah=old.capacity_ah,
        volts=old.volts,
        installed_on=day,
        made_on=months_before(day, months_old),
    )
    scene.diary.write(
        car, K.NOTE, day, note=f"New battery fitted, {old.capacity_ah:g} Ah, same kind as the old."
    )
    scene.diary.write(car, K.CHARGE, day, details={"completed": True, "hours": 6, "amps": 4})


def _batteries_on_record(scene: Scene) -> None:
    """Every other battery that was changed in our time has its note."""
    for car in scene.cars.values():
        begins = log_begins(car, scene.diary.today)
        for battery in car.batteries.filter(removed_on__isnull=True, installed_on__gt=begins):
            if scene.cars["KM 1165"] != car:
                day = scene.diary.working_day(battery.installed_on or begins)
                scene.diary.write(car, K.NOTE, day, note=f"New battery fitted, {battery.capacity_ah:g} Ah.")


def _maintainers(scene: Scene) -> None:
    """Six cars live on maintainers; one lost its power for a fortnight, one reports that it has none now."""
    for offset, key in enumerate(("KM 1053", "KM 1060", "KM 1070", "KM 1076", "KM 1089", "KM 1094")):
        car = scene.cars[key]
        first = max(log_begins(car, scene.diary.today) + timedelta(days=3), scene.ago(600 - 20 * offset))
        _maintainer(scene, car, scene.diary.working_day(first), "on")
    car = scene.cars["KM 1053"]
    _maintainer(scene, car, scene.ago(190), "lost_power", "Fuse of the outlet row blown, found on the round.")
    _maintainer(scene, car, scene.ago(176), "on", "New fuse.")
    _maintainer(scene, scene.cars["KM 1089"], scene.ago(41), "lost_power", "Lead pulled out by the sweeper.")


def _maintainer(scene: Scene, car: Vehicle, day: date, state: str, note: str = "") -> None:
    scene.diary.write(car, K.MAINTAINER, day, details={"state": state}, note=note)


def _skipped_run_ups(scene: Scene) -> None:
    """Why a run-up was not done, in the keepers' words."""
    skipped = (
        ("KM 1034", 9, "boxed in: the car in A1 was away on a trailer and its place full of tables"),
        ("KM 1048", 61, "extraction fan out of order"),
        ("KM 1055", 33, "snow at the door"),
        ("KM 1074", 12, "injection pump out for overhaul"),
        ("KM 1091", 75, "two of us ill, no second person to watch"),
    )
    for key, days, reason in skipped:
        scene.diary.write(
            scene.cars[key], K.NOT_DONE, scene.ago(days), details={"duty": "run_up", "reason": reason}
        )


def _missed_charges(scene: Scene) -> None:
    """Two cars fell off the charging round."""
    missed = (
        ("KM 1048", 118, 20, "charger lent to the workshop"),
        ("KM 1061", 172, 31, "lead too short from the next outlet"),
    )
    for key, since, days, reason in missed:
        scene.diary.strike(scene.cars[key], (K.CHARGE,), scene.ago(since))
        details = {"duty": "charge", "reason": reason}
        scene.diary.write(scene.cars[key], K.NOT_DONE, scene.ago(days), details=details)


def _stale_fuel(scene: Scene) -> None:
    """Fuel that nobody drained or dosed."""
    scene.diary.write(
        scene.cars["KM 1068"],
        K.INSPECTED,
        scene.ago(24),
        details={"ok": False, "found": ["petrol smells of varnish", "gum on the filler neck"]},
        note="Owner asked to let us drain it. Not to be started.",
    )
    scene.diary.write(
        scene.cars["KM 1056"], K.NOTE, scene.ago(52), note="Owner says the tank is nearly empty; gauge dead."
    )


def _slips_of_the_pen(scene: Scene) -> None:
    """Two corrections and a withdrawal."""
    diary, car = scene.diary, scene.cars["KM 1063"]
    wrong = diary.write(
        car,
        K.TYRE_PRESSURES,
        scene.ago(47),
        details={"topped_up": False},
        typed_up_after_days=1,
        readings=[Measured(Quantity.TYRE_PRESSURE, 18.0, TyrePosition.FRONT_LEFT)],
    )
    diary.correct(
        wrong,
        after_days=2,
        details={"topped_up": True},
        note="Kept in the wrong unit on the sheet.",
        readings=[Measured(Quantity.TYRE_PRESSURE, 180.0, TyrePosition.FRONT_LEFT)],
    )
    other = diary.write(
        scene.cars["KM 1061"], K.STABILISER, scene.ago(38), details={"litres": 30, "dose_ml": 75}
    )
    diary.correct(other, after_days=5, kind=K.WITHDRAWN, note="That was the Aurelle. Logged there now.")


def _tags(scene: Scene) -> None:
    """Cars that must not be started, and one that may again."""
    tags = (
        (
            "KM 1038",
            640,
            "engine_preserved",
            "engine",
            "inhibited oil in sump and cylinders, plugs are desiccant",
        ),
        ("KM 1057", 420, "engine_preserved", "engine", "inhibited, exhaust and carburettors sealed"),
        ("KM 1074", 26, "part_out", "fuel", "injection pump away for overhaul"),
        ("KM 1091", 83, "drained", "cooling", "coolant out, radiator away for soldering"),
    )
    for key, days, tag, system, where in tags:
        scene.diary.strike(scene.cars[key], (K.RUN_UP,), scene.ago(days))
        scene.diary.write(
            scene.cars[key],
            K.TAG_OPENED,
            scene.ago(days),
            details={"tag": tag, "system": system, "where": where},
        )
    for key, days in (("KM 1038", 642), ("KM 1057", 422)):
        scene.diary.write(scene.cars[key], K.FUEL_DRAINED, scene.ago(days), details={"emptied": True})
    opened = scene.diary.write(
        scene.cars["KM 1047"],
        K.TAG_OPENED,
        scene.ago(150),
        details={"tag": "drain_open", "where": "radiator tap open over the block"},
    )
    scene.diary.write(scene.cars["KM 1047"], K.TAG_CLOSED, scene.ago(143), details={"opened": str(opened.pk)})


def _arrivals(scene: Scene) -> None:
    """A car that stood eleven years in a garage, and one of which we know nothing yet."""
    car = scene.cars["Carrowick Falconet GT"]
    scene.diary.write(
        car,
        K.INSPECTED,
        scene.ago(19),
        details={"ok": False, "found": ["brakes stuck", "mouse nest in the air box", "battery missing"]},
        note="Bought from an estate. Stood since about eleven years; no papers. Nobody turns the engine.",
    )
    scene.diary.write(car, K.NOTE, scene.ago(12), note="Keys found. Tank sounds a quarter full, smells bad.")


def _moves(scene: Scene) -> None:
    """Cars change places with the seasons; tyres are rolled off their spots."""
    moves = (
        ("KM 1086", 210, "Y5", "C4"),
        ("KM 1066", 330, "C8", "W9"),
        ("KM 1165", 430, "C8", "Y4"),
        ("KM 1049", 95, "C8", "A2"),
    )
    for key, days, start, to in moves:
        scene.diary.move(
            scene.cars[key], scene.ago(days), scene.bays[to], start=scene.bays[start], note="Season change."
        )
    for key, days in (("KM 1028", 70), ("KM 1036", 33), ("KM 1048", 160), ("KM 1038", 101)):
        car = scene.cars[key]
        label = str(car.bay)
        details = {
            "wheels_only": True,
            "from_bay": car.bay_id,
            "from_bay_label": label,
            "to_bay_label": label,
        }
        scene.diary.write(
            car, K.MOVED, scene.ago(days), details=details, note="A quarter turn of the wheels."
        )


def _drain_explained(scene: Scene) -> None:
    """A radio that never sleeps; somebody photographed the meter and kept the bill of the battery before."""
    entry = scene.diary.write(
        scene.cars["KM 1091"],
        K.BATTERY_READING,
        scene.ago(118),
        note="Radio memory, and a boot lamp that glows.",
        readings=[
            Measured(Quantity.RESTED_VOLTS, 12.31, temperature_c=14.0, rest_hours=30.0),
            Measured(Quantity.KEY_OFF_DRAIN, 0.062),
        ],
    )
    scene.diary.enclose(entry, meter_reading(12.31))
    bill = scene.diary.write(
        scene.cars["KM 1091"], K.NOTE, scene.ago(40), note="The battery's bill turned up in the glove box."
    )
    scene.diary.enclose(bill, blank_invoice())


def _findings(scene: Scene) -> None:
    """A nest that was cleared and its tag taken off; a weep of coolant that still waits."""
    car, diary = scene.cars["KM 1063"], scene.diary
    nest = diary.write(
        car, K.NOTE, scene.ago(64), details={"found": "Mouse nest"}, note="Mouse nest: in the air box"
    )
    tag = diary.write(
        car,
        K.TAG_OPENED,
        scene.ago(64),
        details={"tag": "danger", "where": "mouse nest in the air box, no start"},
    )
    diary.write(
        car,
        K.NOTE,
        scene.ago(57),
        details={"answers": str(nest.pk)},
        note="Nest out, wiring looked over, traps set.",
    )
    diary.write(car, K.TAG_CLOSED, scene.ago(57), details={"opened": str(tag.pk)})
    diary.write(
        scene.cars["KM 1091"],
        K.NOTE,
        scene.ago(9),
        details={"found": "Coolant leak"},
        note="Coolant leak: a drop a day at the water pump",
    )


STORIES: tuple[Callable[[Scene], None], ...] = (
    _frozen_battery,
    _batteries_on_record,
    _maintainers,
    _skipped_run_ups,
    _missed_charges,
    _stale_fuel,
    _slips_of_the_pen,
    _tags,
    _arrivals,
    _moves,
    _drain_explained,
    _findings,
)
