"""The demo's papers and the work that its keepers added."""

import hashlib
from collections.abc import Mapping
from datetime import date, datetime, timedelta

from collection.care.actions.record import Edit
from collection.cars.actions.own_duties import save_own_duty
from collection.demo.diary import Diary
from collection.models import CareKind, OwnDuty, Person, Vehicle
from scheduler.vocabulary.own_duties import OWN_KIND

# car → what, its day in days from today, its interval
ADDED = {
    "KM 1091": (("roadworthiness", 19, ""), ("insurance", 96, "1 year"), ("air_conditioning", 5, "1 month")),
    "KM 1063": (("roadworthiness", -4, ""), ("insurance", 140, "1 year")),
    "KM 1048": (("insurance", 61, "1 year"),),
    "KM 1034": (("valuation", 210, "3 years"),),
    "KM 1026": (("insurance", 300, "1 year"), ("fire_extinguisher", 27, "1 year")),
}
WARNING_DAYS = 30


def add_own_duties(cars: Mapping[str, Vehicle], by: Person, now: datetime, today: date) -> None:
    """A few papers that run out, one of them out already, and work with minutes."""
    edit = Edit(by, now)
    for name, added in ADDED.items():
        for kind, days, interval in added:
            row = OWN_KIND[kind]
            duty = OwnDuty(
                vehicle=cars[name],
                ref=_ref(name, kind),
                kind=kind,
                title=row.title,
                due_on=today + timedelta(days=days),
                interval=interval,
                remind_days=WARNING_DAYS,
                minutes=row.minutes,
            )
            save_own_duty(duty=duty, edit=edit, today=today)


def tell(diary: Diary, cars: Mapping[str, Vehicle]) -> None:
    """One of them was done before, told in a diary that ends with it: the log is stored earlier."""
    diary.begin("own duties")
    duty = OwnDuty(kind="air_conditioning", ref=_ref("KM 1091", "air_conditioning"))
    diary.write(
        cars["KM 1091"],
        CareKind.OWN_DUTY,
        diary.today - timedelta(days=26),
        details={"own": duty.code, "what": OWN_KIND[duty.kind].title},
        note="Ten minutes, cold at the vents.",
    )
    diary.store()


def _ref(name: str, kind: str) -> str:
    """The same each time that the barn is built."""
    return hashlib.sha256(f"{name} {kind}".encode()).hexdigest()[:12]
