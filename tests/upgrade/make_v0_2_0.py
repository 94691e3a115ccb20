"""Makes ``v0.2.0.tar.xz``: a small invented barn and what left it, written by version 0.2.0 itself.

Beside the data folder it packs ``kept/``: what people, phones and programmes hold of that version. The
addresses of that version, with what each answered, go into ``v0.2.0.addresses.json``.

Run it with the folder of a checkout of that version, whose code it runs (no name below follows a later one):

    git worktree add ../longstand-0.2.0 v0.2.0
    python -m tests.upgrade.make_v0_2_0 ../longstand-0.2.0
"""

import sys
from pathlib import Path

from tests.upgrade.packing import write_and_pack

ARCHIVE = Path(__file__).with_name("v0.2.0.tar.xz")
ADDRESSES = Path(__file__).with_name("v0.2.0.addresses.json")

BEGIN = """
import io, json, os
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import django
import time_machine

django.setup()
from django.conf import settings
from django.test.utils import setup_test_environment

settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
setup_test_environment()
KEPT = Path(settings.DATA_DIR) / "kept"
NOW = datetime(2026, 11, 25, 10, tzinfo=UTC)
time_machine.travel(NOW, tick=True).start()
"""

WRITE = """
import uuid
from unittest.mock import patch

from django.core.management import call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django_q.models import OrmQ
from PIL import Image

from collection import tasks
from collection.actions import loggers
from collection.actions.api_tokens import make_token
from collection.actions.care import log_entry
from collection.actions.care_draft import Measured
from collection.actions.chain import export_history, sign_statement
from collection.actions.evidence import save_evidence, withdraw_evidence
from collection.actions.findings import log_finding, see_to_finding
from collection.actions.forgetting import forget_person
from collection.actions.handovers import hand_over
from collection.actions.plans import PLAN, choose, plan_now
from collection.actions.reminders import new_feed, set_weekly_mail
from collection.actions.runs import queue_recompute
from collection.actions.shares import make_share
from collection.actions.sheets.incoming import take_in
from collection.actions.sheets.jobs import JOB
from collection.actions.webhooks import make_webhook, send_test
from collection.attachments import cleaned
from collection.bridge.refresh import refresh_organisation
from collection.chain.canonical import canonical
from collection.installing import prepare
from collection.jobs import leave
from collection.models import (
    Anchor,
    Bay,
    Building,
    CareKind,
    CarNotes,
    Entry,
    Equipment,
    Evidence,
    Fuel,
    Hand,
    HandbookValue,
    Holiday,
    OpeningHours,
    OtherHours,
    Owner,
    Quantity,
    Reading,
    SheetImport,
    SiteNotes,
    SitePlan,
    Threshold,
    WakingCase,
    WakingRates,
    Way,
)
from collection.permissions import SCOPES
from collection.queries.chain import statement_file
from collection.queries.duties import DUTY_TITLES
from collection.queries.handovers import file_of
from collection.webhooks import secret_of
from tests.collection.conftest import make_barn, make_car, make_person

KEPT.mkdir()
TODAY, HOUR = NOW.date(), timedelta(hours=1)
prepare(pages=False)
barn = make_barn("Hollin Barn")
site = barn.sites.get()
manager = make_person("manager@hollin.example", barn, "manager")
keeper = make_person("keeper@hollin.example", barn, "staff")
keeper.memberships.get().sites.set([site])
gone = make_person("gone@hollin.example", barn, "staff")
reader = make_person("owner@hollin.example", barn, "owner")
owner = Owner.objects.create(organisation=barn, name="Ada Wren", contact="ada@hollin.example", person=reader)
bays = list(Bay.objects.order_by("pk"))
first = make_car(
    barn,
    owner,
    bays[0],
    chassis_number="W12-0417",
    registration="HB 417",
    engine="1.2 litre",
    tank_material="bare_steel",
    tank_venting="open",
    notes="Choke sticks.",
)
sleeper = make_car(
    barn,
    owner,
    bays[1],
    model="Sixteen",
    year=1971,
    chassis_number="W16-0071",
    regime="dormant",
    stored_since=date(2026, 11, 2),
)
leaving = make_car(barn, owner, bays[2], model="Nine", year=1955, chassis_number="W9-0009")

# parts, places, people at work
first.batteries.create(chemistry="agm", capacity_ah=60, volts=12, made_on=date(2024, 5, 1), drain_ma=12)
for position in ("front_left", "front_right", "rear_left", "rear_right", "spare"):
    first.tyres.create(position=position, date_code="1521", placard_kpa=180.5)
first.fluids.create(kind="coolant", type="eg_hybrid", glycol_pct=50, changed_on=date(2025, 4, 2))
first.fluids.create(kind="brake_fluid", changed_on=date(2024, 4, 2))
Fuel.objects.create(
    vehicle=first,
    grade="petrol_e5",
    bio_pct=5,
    litres=30,
    filled_on=date(2026, 2, 20),
    as_of=date(2026, 3, 1),
)
first.last_uses.create(event="road_use", on=date(2026, 2, 27), basis="document")
CarNotes.objects.create(vehicle=first, keys_at="Board, hook 4", alarm="None.")
SiteNotes.objects.create(site=site, address="Hollin Lane", way_in="Ring Bram.", alarm="Bell only.")
Threshold.objects.create(organisation=barn, name="inspection_days", value=10, reason="Damp corner.")
shed = Building.objects.create(site=site, name="Upper yard", shelter="open", walk_order=2)
Way.objects.create(start=Building.objects.get(name="Long shed"), end=shed, minutes=4)
for day in range(5):
    OpeningHours.objects.create(site=site, weekday=day, opens=time(8), closes=time(16))
week = dict.fromkeys(("monday", "tuesday", "wednesday", "thursday", "friday"), 240)
Hand.objects.create(site=site, person=keeper, may=sorted(DUTY_TITLES), **week)
Equipment.objects.create(site=site, kind="charger", count=1)
Holiday.objects.create(site=site, day=date(2026, 12, 25), name="Christmas")
OtherHours.objects.create(site=site, person=keeper, day=date(2026, 12, 1), minutes=0)


def photograph(colour):
    out = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(out, "JPEG")
    return cleaned("tyre.jpg", out.getvalue())


number = 0


def log(car, kind, day, by=keeper, **rest):
    global number
    number += 1
    at = datetime(2026, 11, day, 9, 30, number % 60, 123456, tzinfo=UTC)
    return log_entry(
        vehicle=car,
        kind=kind,
        done_at=at,
        by=by,
        idempotency_key=f"old-{number}",
        now=at + timedelta(minutes=5),
        **rest,
    ).entry


# the care log: every kind of entry, every quantity
log(
    first,
    "charge",
    2,
    details={"completed": True, "hours": 7.5, "amps": 4},
    readings=[Measured("rested_volts", 12.4), Measured("specific_gravity", 1.255, position="1")],
)
log(first, "maintainer", 2, details={"state": "on"})
log(
    first,
    "battery_reading",
    3,
    readings=[
        Measured("rested_volts", 12.61, temperature_c=8, rest_hours=12.5),
        Measured("key_off_drain", 0.012),
    ],
)
log(first, "note", 3, by=gone, note="Key on hook 4; \\u00e9t\\u00e9 \\u2013.")
log(
    first,
    "run_up",
    4,
    details={"minutes": 25, "reached_temperature": True, "driven": True, "distance_km": 9.5},
    readings=[Measured("oil_pressure", 310), Measured("charging_volts", 14.1)],
)
log(first, "fuel_added", 4, details={"litres": 8, "grade": "petrol_e5", "bio_pct": 5})
log(first, "stabiliser", 4, details={"litres": 30, "dose_ml": 60, "ratio": 500})
log(first, "fuel_drained", 5, details={"litres": 10, "emptied": False})
log(first, "fluid_changed", 5, details={"fluid": "engine_oil"})
log(first, "fluid_reading", 5, readings=[Measured("brake_water", 1.5), Measured("coolant_freeze_point", -32)])
wrong = log(
    first,
    "tyre_pressures",
    6,
    details={"topped_up": False},
    readings=[
        Measured("tyre_pressure", 210.5, position="front_left"),
        Measured("tyre_pressure", 198.0, position="rear_right"),
    ],
    attachments=[photograph("red"), photograph("green")],
)
log(
    first,
    "tyre_pressures",
    6,
    details={"topped_up": True},
    corrects=wrong,
    note="Misread the first time.",
    readings=[Measured("tyre_pressure", 220.5, position="front_left")],
)
log(first, "moved", 9, details={"wheels_only": True})
log(
    first,
    "inspected",
    9,
    details={"ok": False, "found": ["damp carpet"]},
    readings=[Measured("surface_rh", 68)],
)
tag = log(first, "tag_opened", 10, details={"tag": "part_out", "system": "battery", "where": "on the bench"})
log(first, "tag_closed", 10, details={"opened": str(tag.pk)})
log(first, "not_done", 11, details={"duty": "run_up", "reason": "Road salted."})
slip = log(first, "charge", 12, details={"completed": False})
log(first, "withdrawn", 12, corrects=slip, note="Another car.")
sign_statement(organisation=barn, now=datetime(2026, 11, 13, 1, tzinfo=UTC))
seen = log_finding(
    vehicle=first,
    found="Flat tyre",
    words="spare",
    danger=False,
    by=keeper,
    done_at=NOW - 240 * HOUR,
    idempotency_key="found-1",
    now=NOW - 239 * HOUR,
).entry
see_to_finding(
    finding=seen,
    words="Pumped up.",
    done_at=NOW - 236 * HOUR,
    by=keeper,
    idempotency_key="seen-1",
    now=NOW - 235 * HOUR,
)
open_finding = log_finding(
    vehicle=first,
    found="Flat tyre",
    words="spare again",
    danger=False,
    by=keeper,
    done_at=NOW - 30 * HOUR,
    idempotency_key="found-2",
    now=NOW - 29 * HOUR,
).entry
log(leaving, "note", 7, by=manager, note="Of petrol \\u2013 \\u6f22.", attachments=[photograph("blue")])
log(leaving, "charge", 8, details={"completed": True})

# recommissioning
for day, check, result in (
    (16, "photographed", {"answer": "done"}),
    (16, "steady", {"answer": "safe"}),
    (16, "fuel_leak", {"answer": "none"}),
    (17, "droppings", {"could_not": "no lamp at hand"}),
    (18, "battery_rest", {"value": 12.68, "unit": "V", "instrument": "voltmeter", "temperature_c": 9.0}),
):
    log(sleeper, "waking_result", day, details={"check": check} | result)
log(sleeper, "system_seen", 18, details={"system": "wiring", "seen": "faulty", "text": "a wire gnawed"})
log(sleeper, "hazard", 18, details={"hazard": "untreated droppings", "present": True})
for test in ({"begun": True}, {"test": "coil_feed", "outcome": "volts"}):
    log(sleeper, "fault_test", 19, details={"symptom": "cranks-no-spark"} | test)


def find(kind, **facts):
    return save_evidence(
        row=Evidence(vehicle=sleeper, kind=kind, **facts), by=keeper, key=f"find-{kind}", now=NOW - 200 * HOUR
    )


find(
    "inspection_pass", on=date(2015, 5, 4), odometer_km=98214.0, answers=["driven_there"], note="In the book."
)
find("odometer_now", odometer_km=98871.0, answers=["instrument_works"])
find("tyre_code", code="1912", answers=["worn"])
find("battery_made", code="C3")
find("statement", on=date(2015, 1, 1), until=date(2016, 6, 30), event="road use", note="The neighbour.")
find("fuel_state", note="Brown.")
paper = find("paper_under_tyre", on=date(2015, 10, 1))
withdraw_evidence(row=paper, by=keeper, key="no-paper", now=NOW - 199 * HOUR, reason="Of another car.")
WakingCase.objects.create(vehicle=sleeper, damp="mixed", conditions=["handbrake on"])
HandbookValue.objects.create(
    vehicle=sleeper, check_key="fuel_pressure", low=17.0, high=24.0, source="Page 41"
)
WakingRates.objects.create(organisation=barn, currency="EUR", hour_low=55, hour_likely=70, hour_high=95)

forget_person(person=gone, today=date(2026, 11, 20))
given = hand_over(vehicle=leaving, to="Tarn Sheds", by=manager, now=NOW - 20 * HOUR)
sign_statement(organisation=barn, now=NOW - 9 * HOUR)
assert set(Entry.objects.values_list("kind", flat=True)) == set(CareKind.values)
assert set(Reading.objects.values_list("quantity", flat=True)) == set(Quantity.values)

# the week
refresh_organisation(barn.pk, today=TODAY, trigger="nightly")
plan_now(site=site, today=TODAY, now=NOW)
choose(vehicle=first, duty="run_up", day=date(2026, 12, 2), person=keeper, by=manager, today=TODAY, now=NOW)
assert SitePlan.objects.get().assignments.exists()

# what goes out of the house
membership = manager.memberships.get()
share, share_token = make_share(
    vehicle=first,
    by=manager,
    now=NOW,
    expires_at=NOW + timedelta(days=300),
    scope={"reader": "A buyer", "with_owner": True, "with_place": True, "with_prices": True},
)
_, api_secret = make_token(
    membership=membership, name="Script", scopes=list(SCOPES), expires_at=None, now=NOW
)
hook = make_webhook(organisation=barn, name="Ledger", address="http://127.0.0.1:9/hook", by=manager, now=NOW)
send_test(webhook=hook, now=NOW)
set_weekly_mail(membership=membership, wanted=True)
(KEPT / "proof.json").write_bytes(export_history(first, now=NOW))
(KEPT / "handover.zip").write_bytes(file_of(given))
for anchor in Anchor.objects.order_by("number"):
    (KEPT / f"statement-{anchor.number}.json").write_bytes(canonical(statement_file(anchor)))


# the queue of the phone, as collection/static/collection/worksheet/queue.js sends it
def entry(car, kind, *, duty="", check="", finding=None, **fields):
    return {
        "key": str(uuid.uuid4()),
        "car": car.pk,
        "kind": kind,
        "duty": duty,
        "check": check,
        "units": "metric",
        "fields": {name: value if isinstance(value, list) else [value] for name, value in fields.items()},
        "done_at": "2026-11-25T09:40:00.000Z",
        "seen": "2026-11-25T09:00:00+00:00",
        "finding": finding,
    }


undone = entry(first, "not_done", duty="axle_oil", reason="No time", words="")
undone["fields"]["duty"] = ["axle_oil"]  # a hidden field of that form
queue = [
    entry(first, "charge", duty="charge", completed="on", rested_volts="12.31", note=""),
    entry(first, "run_up", duty="run_up", minutes="25", driven="on", reached_temperature="on", note=""),
    entry(first, "moved", duty="tyre_move", place="same", note=""),
    entry(first, "stabiliser", duty="stabiliser", litres="20", note=""),
    entry(
        first, "tyre_pressures", duty="tyre_pressure", tyre_pressure_front_left="2.1", topped_up="on", note=""
    ),
    entry(first, "fluid_changed", duty="brake_fluid", fluid="brake_fluid", note=""),
    entry(first, "inspected", duty="inspection", found=["Damp or mould"], other="", note=""),
    undone,
    entry(first, "found", found="Petrol leak", words="under the tank"),
    entry(first, "seen_to", finding=str(open_finding.pk), words="New valve"),
    entry(
        sleeper, "waking_result", check="droppings", answer="treated", instrument="", could_not="", note=""
    ),
    entry(
        sleeper,
        "waking_result",
        check="battery_load",
        value="9.9",
        unit="V",
        temperature_c="9",
        instrument="load tester",
        could_not="",
        note="",
    ),
]
phone = {
    "address": reverse("worksheet_entries"),
    "body": {
        "sent_at": "2026-11-25T10:05:00.000Z",
        "entries": queue,
        "person": keeper.pk,
        "organisation": barn.pk,
    },
}
client = Client()
client.force_login(keeper)
with transaction.atomic():  # it is really what this version takes; nothing of it stays
    answer = client.post(phone["address"], json.dumps(phone["body"]), content_type="application/json")
    faults = [
        told for told in answer.json().get("outcomes", [answer.json()]) if told.get("state") != "stored"
    ]
    assert not faults, faults
    transaction.set_rollback(True)

# the queue of the workers: each job of this version, waiting under its own name
air = "Time,Temp (\\u00b0C),RH (%)\\n" + "".join(
    f"2026-11-{day:02d} {hour:02d}:00:00Z,{4 + hour / 8:.2f},80.0\\n"
    for day in range(2, 6)
    for hour in range(24)
)
with patch.object(loggers, "_have_read", lambda file, _now: leave(loggers.READ, file.pk)):
    file = loggers.take_file(place=site, name="air.csv", data=air.encode(), by=manager, now=NOW).file
table = take_in(
    organisation=barn,
    by=manager,
    kind="cars",
    name="cars.csv",
    now=NOW,
    data=b"Marque,Model,Year,Owner\\nWendlow,Eight,1951,Ada Wren\\n",
)
checking = uuid.uuid4()
SheetImport.objects.filter(pk=table.pk).update(state="checking", job=checking, beat_at=NOW)
leave(JOB, str(table.pk), str(checking))
queue_recompute(barn.pk, trigger="by hand", now=NOW)
leave(PLAN, site.pk)
leave("collection.tasks.send_changes_to", hook.pk)
leave("collection.tasks.mail_the_week", membership.weekly_mail.pk)
leave("collection.tasks.take_nightly_backup", timeout=tasks.LONGEST_BACKUP_SECONDS)
for job in tasks.PERIODIC[1:]:  # the heartbeat waits since the beginning
    leave(job.func)
waiting = sorted(row.task["func"] for row in OrmQ.objects.all())
assert len(set(waiting)) == len(waiting) == 19, waiting

feed = new_feed(membership=membership, now=NOW)
labels = {reverse("worksheet_car", args=[car.pk]): str(car) for car in (first, sleeper)}
labels |= {reverse("worksheet_bay", args=[bays[0].pk]): str(first)}
rows = {
    "car": first.pk,
    "sleeper": sleeper.pk,
    "left": leaving.pk,
    "share": share_token,
    "share_pk": share.pk,
    "feed": feed,
    "entry": str(wrong.pk),
    "file": str(wrong.attachments.first().pk),
    "finding": str(open_finding.pk),
    "evidence": str(Evidence.objects.get(kind="tyre_code").pk),
    "site": site.pk,
    "building": shed.pk,
    "bay": bays[0].pk,
    "climate": site.climate.pk,
    "logger_file": file.pk,
    "member": keeper.memberships.get().pk,
    "owner": owner.pk,
    "webhook": str(hook.pk),
    "delivery": hook.deliveries.get().pk,
    "table": str(table.pk),
    "statement": Anchor.objects.latest("number").pk,
    "handover": given.pk,
}
call_command("backup", str(KEPT / "backup.zip"))
(KEPT / "said.json").write_text(
    json.dumps(
        {
            "now": NOW.isoformat(),
            "rows": rows,
            "labels": labels,
            "phone": phone,
            "jobs": waiting,
            "shared": reverse("shared", args=[share_token]),
            "feed": reverse("calendar_feed", args=[feed]),
            "api_token": api_secret,
            "webhook_secret": secret_of(hook),
        },
        indent=1,
    )
)
"""

# Asks every address of our own, as a stranger, as the manager, and the API's with the token.
ASK = """
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, get_resolver

from collection.models import Person

said = json.loads((KEPT / "said.json").read_text())
rows = said["rows"]
# what stands for a parameter: by pattern's name and parameter, by beginning of the address, by parameter
OWN = {
    "seen_to entry": rows["finding"],
    "statement pk": rows["statement"],
    "handover_file pk": rows["handover"],
    "webhook pk": rows["webhook"],
    "sheet pk": rows["table"],
    "sheet_columns pk": rows["table"],
    "car_edit part": "battery",
    "evidence_new kind": "tyre_code",
    "calendar_feed token": rows["feed"],
    "shares share": rows["share_pk"],
    "log_kind kind": "charge",
    "read_file file_id": rows["file"],
    "mfa_edit_webauthn pk": 1,
    "mfa_remove_webauthn pk": 1,
    "waking_look system": "wiring",
    "waking_step check": "droppings",
    "key_in_car pk": rows["car"],
    "everything_as form": "xlsx",
}
BEGINNING = {
    "cars/<int:pk>/waking/": rows["sleeper"],
    "worksheet/cars/<int:pk>/waking/": rows["sleeper"],
    "worksheet/bays/": rows["bay"],
    "cars/": rows["car"],
    "worksheet/cars/": rows["car"],
    "week/choose/": rows["car"],
    "places/sites/": rows["site"],
    "places/buildings/": rows["building"],
    "places/bays/": rows["bay"],
    "places/climates/": rows["climate"],
    "loggers/sites/": rows["site"],
    "loggers/buildings/": rows["building"],
    "loggers/files/": rows["logger_file"],
    "people/members/": rows["member"],
    "people/owners/": rows["owner"],
}
ANY = {
    "duty": "charge",
    "share": rows["share_pk"],
    "token": rows["share"],
    "entry": rows["entry"],
    "file": rows["file"],
    "row": rows["evidence"],
    "symptom": "cranks-no-spark",
    "test": "coil_feed",
    "form": "csv",
    "site": rows["site"],
    "building": rows["building"],
    "rest": "nothing-here",
    "site_id": rows["site"],
    "car_id": rows["car"],
    "entry_id": rows["entry"],
    "file_id": rows["file"],
    "statement_id": rows["statement"],
    "webhook_id": rows["webhook"],
    "delivery_id": rows["delivery"],
    "uidb36": "1",
    "key": "abc-def",
}


def walk(patterns, before="", spaces=()):
    for pattern in patterns:
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLPattern):
            yield route, ":".join([*spaces, pattern.name or ""]), pattern
        else:
            inner = (*spaces, pattern.namespace) if pattern.namespace else spaces
            yield from walk(pattern.url_patterns, route, inner)


def value_of(route, name, parameter):
    own = OWN.get(f"{name.rpartition(':')[2]} {parameter}")
    begun = (
        [value for start, value in BEGINNING.items() if route.startswith(start)] if parameter == "pk" else []
    )
    return own or (begun[0] if begun else ANY[parameter])


def example(route, name, pattern):
    path = "/" + route
    if route.startswith("^"):
        path = "/sign-in/forgotten/1-abc-def/"
    for parameter in pattern.pattern.converters:
        start = path.index("<")
        kind, _, called = path[start + 1 : path.index(">")].rpartition(":")
        path = path[:start] + str(value_of(route, name, called)) + path[path.index(">") + 1 :]
    return path


def answered(client, path, **more):
    with transaction.atomic():  # looking changes nothing, so that the order does not matter
        answer = client.get(path, **more)
        if answer.streaming:
            b"".join(answer.streaming_content)
        transaction.set_rollback(True)
    told = {"status": answer.status_code}
    if answer.status_code == 200:
        told["type"] = answer.headers["Content-Type"].partition(";")[0]
    return told


stranger, manager = Client(), Client(raise_request_exception=False)
manager.force_login(Person.objects.get(email="manager@hollin.example"))
token = {"HTTP_AUTHORIZATION": "Bearer " + said["api_token"]}
listed = []
for route, name, pattern in walk(get_resolver().url_patterns):
    if route.startswith("admin/") and name != "admin:index":
        continue  # Django's own
    path = example(route, name, pattern)
    asked = {"pattern": route, "name": name, "path": path, "stranger": answered(stranger, path)}
    if route.startswith("api/v1/"):
        asked["token"] = answered(stranger, path, **token)
    else:
        asked["manager"] = answered(manager, path)
    listed.append(asked)
lines = ",\\n ".join(json.dumps(each) for each in listed)  # a line an address, to be found by eye
Path(os.environ["ADDRESSES"]).write_text(f"[\\n {lines}\\n]\\n")
"""


def main(checkout: Path) -> None:
    """Write the folder with the old code and pack it."""
    more = {"LONGSTAND_WEBHOOKS_INSIDE": "1"}  # so that a test can be the receiver
    write_and_pack(checkout, (BEGIN + WRITE, BEGIN + ASK), ARCHIVE, ADDRESSES=str(ADDRESSES), **more)


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve())
