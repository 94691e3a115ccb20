"""The demo's papers and the work that its keepers added."""

from collections.abc import Mapping
from datetime import timedelta
from itertools import count

from collection.cars.actions.own_duties import put_own_duty
from collection.demo.diary import Diary
from collection.models import CareKind, OwnDuty, Vehicle
from scheduler.vocabulary.own_duties import OWN_KIND

# car → what, its day in days from today, its interval
ADDED = {
    "KM 1091": (
        ("roadworthiness", 19, ""),
        ("insurance", 96, "1 year"),
        ("air_conditioning", -21, "1 month"),
    ),
    "KM 1063": (("roadworthiness", -4, ""), ("insurance", 140, "1 year")),
    "KM 1048": (("insurance", 61, "1 year"),),
    "KM 1034": (("valuation", 210, "3 years"),),
    "KM 1026": (("insurance", 300, "1 year"), ("fire_extinguisher", 27, "1 year")),
}


def add_own_duties(cars: Mapping[str, Vehicle], diary: Diary) -> None:
    """A few papers that run out, one of them out already, and work with minutes that was done before."""
    diary.begin("own duties")
    number = count(1)
    for name, added in ADDED.items():
        for kind, days, interval in added:
            row = OWN_KIND[kind]
            duty = OwnDuty(
                vehicle=cars[name],
                ref=f"{next(number):012x}",
                kind=kind,
                title=row.title,
                due_on=diary.today + timedelta(days=days),
                interval=interval,
                minutes=row.minutes,
            )
            put_own_duty(duty=duty, today=diary.today)
            if kind == "air_conditioning":
                _done(duty, diary)


def _done(duty: OwnDuty, diary: Diary) -> None:
    diary.write(
        duty.vehicle,
        CareKind.OWN_DUTY,
        diary.working_day(diary.today - timedelta(days=26)),
        details={"own": duty.code, "what": duty.title},
        note="Ten minutes, cold at the vents.",
    )
