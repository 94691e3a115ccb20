"""Makes ``v0.1.0.tar.xz``: the data folder of a small invented barn, written by version 0.1.0 itself.

Run it with the folder of a checkout of that version:

    git worktree add ../longstand-0.1.0 v0.1.0
    python -m tests.upgrade.make_v0_1_0 ../longstand-0.1.0
"""

import sys
from pathlib import Path

from tests.upgrade.packing import write_and_pack

ARCHIVE = Path(__file__).with_name("v0.1.0.tar.xz")

# runs in the old checkout, with its code
WRITE = """
import io
from datetime import UTC, date, datetime, timedelta

import django

django.setup()

from PIL import Image

from collection.actions.care import log_entry
from collection.actions.care_draft import Measured
from collection.actions.chain import sign_statement
from collection.actions.forgetting import forget_person
from collection.actions.shares import make_share
from collection.attachments import cleaned
from collection.bridge.refresh import refresh_organisation
from collection.installing import prepare
from collection.models import Bay, Owner
from tests.collection.conftest import make_barn, make_car, make_person

prepare()
barn = make_barn("Hollin Barn")
barn.sites.update(name="Hollin")
manager = make_person("manager@hollin.example", barn, "manager")
keeper = make_person("keeper@hollin.example", barn, "staff")
gone = make_person("gone@hollin.example", barn, "staff")
owner = Owner.objects.create(organisation=barn, name="Ada Wren")
bays = list(Bay.objects.order_by("pk"))
first = make_car(barn, owner, bays[0], chassis_number="W12-0417")
second = make_car(barn, owner, bays[1], model="Sixteen", year=1971)
number = 0


def photograph(colour):
    out = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(out, "JPEG")
    return cleaned("tyre.jpg", out.getvalue())


def log(car, kind, day, by=keeper, **rest):
    global number
    number += 1
    at = datetime(2026, 11, day, 9, 30, 0, 123456, tzinfo=UTC)
    return log_entry(
        vehicle=car, kind=kind, done_at=at, by=by, idempotency_key=f"old-{number}",
        now=at + timedelta(minutes=5), **rest,
    ).entry


log(first, "charge", 2, details={"completed": True}, readings=[Measured("rested_volts", 12.4)])
log(first, "note", 3, by=gone, note="Key on hook 4; \\u00e9t\\u00e9 \\u2013 \\u6f22.")
wrong = log(first, "tyre_pressures", 4, details={"topped_up": False}, readings=[
    Measured("tyre_pressure", 210.5, position="front_left"),
    Measured("tyre_pressure", 198.0, position="rear_right"),
], attachments=[photograph("red"), photograph("green")])
log(first, "tyre_pressures", 4, details={"topped_up": True}, readings=[
    Measured("tyre_pressure", 220.5, position="front_left"),
], corrects=wrong, note="Misread the first time.")
log(second, "run_up", 5, details={"minutes": 25, "reached_temperature": True, "driven": False})
sign_statement(organisation=barn, now=datetime(2026, 11, 6, 1, tzinfo=UTC))
log(second, "note", 7, by=manager, note="Smells of petrol.", attachments=[photograph("blue")])
forget_person(person=gone, today=date(2026, 11, 8))
sign_statement(organisation=barn, now=datetime(2026, 11, 8, 1, tzinfo=UTC))
make_share(
    vehicle=first, by=manager, now=datetime(2026, 11, 8, 9, tzinfo=UTC),
    expires_at=datetime(2027, 11, 8, 9, tzinfo=UTC), scope={"reader": "A buyer"},
)
refresh_organisation(barn.pk, today=date(2026, 11, 8), trigger="nightly")
"""


def main(checkout: Path) -> None:
    """Write the folder with the old code and pack it."""
    write_and_pack(checkout, (WRITE,), ARCHIVE)


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve())
