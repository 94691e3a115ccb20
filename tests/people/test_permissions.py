"""Who may open what: every address walked by every kind of person, to every kind of row."""

import io
import uuid
from datetime import UTC, date, datetime
from itertools import product
from types import SimpleNamespace

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import URLPattern, resolve, reverse
from PIL import Image

from collection.admin import site as admin_pages
from collection.care.actions.attachments import attach
from collection.care.actions.record import Edit
from collection.care.actions.settings import open_settings
from collection.care.attachments import Attached
from collection.chain.signing import public_key
from collection.host.installation_key import installation_key
from collection.models import (
    Bay,
    Chain,
    Countersignature,
    Entry,
    Evidence,
    Handover,
    LoggerFile,
    Membership,
    Owner,
    Vehicle,
    Witnessed,
)
from collection.models.handovers import path_of
from collection.notices.actions.webhooks import make_webhook
from collection.people.actions.invitations import invite
from collection.proof.actions import sign_statement
from collection.sensors.actions.tokens import make_sensor
from collection.spreadsheets.actions.incoming import take_in
from collection.urls import urlpatterns
from collection.web.old_addresses import urlpatterns as old_addresses
from tests.barn import make_car, make_climate

SEE, WORK, EDIT, MANAGE, SHARE = "see", "work", "edit", "manage", "share"
OWN, OPERATE = "own", "operate"  # of no role: everybody's own sign-in; whoever runs the installation
# said here a second time on purpose, so that a slip in collection.permissions is caught
MAY = {
    "manager": {OWN, SEE, WORK, EDIT, MANAGE, SHARE},
    "staff": {OWN, SEE, WORK, EDIT},
    "owner": {OWN, SEE, SHARE},
    "viewer": {OWN, SEE},
}
PUBLIC = {
    "health",
    "home",
    "sign_in",
    "sign_out",
    "account_login",
    "account_logout",
    "account_inactive",
    "mfa_authenticate",
    "mfa_login_webauthn",
    "account_reset_password",
    "account_reset_password_done",
    "account_reset_password_from_key",
    "account_reset_password_from_key_done",
}
# read by whoever holds a link, or sent by a button only: test_shares.py walks these
BY_LINK = {
    "invitation",
    "shared",
    "shared_attachment",
    "shared_pdf",
    "shared_file",
    "shared_compare",
    "share_end",
}
# these say nothing of anybody, but for the feed, whose address is its key
# of the API only what says nothing of anybody; test_api.py walks every operation of it
PUBLIC |= {"openapi", "api_root", "api_unknown"}
PUBLIC |= {"service_worker", "manifest", "worksheet_offline", "calendar_feed", "sensor_readings"}
# address → what it needs, and which row its arguments name ("" for none)
ADDRESSES = {
    "collection": (SEE, ""),
    "timeline": (SEE, ""),
    "find": (SEE, ""),
    "setup": (SEE, ""),
    "histories": (SEE, ""),
    "due": (SEE, ""),
    "why": (SEE, "car"),
    "whatif": (SEE, ""),
    "week": (WORK, ""),
    "worksheet": (WORK, ""),
    "worksheet_car": (WORK, "car"),
    "found": (WORK, "car"),
    "seen_to": (WORK, "finding"),
    "worksheet_bay": (WORK, "bay"),
    "walk": (WORK, "building"),
    "worksheet_scan": (WORK, ""),
    "worksheet_entries": (WORK, ""),
    "worksheet_paper": (WORK, ""),
    "from_paper": (WORK, ""),
    "from_paper_car": (WORK, "car"),
    "labels": (WORK, ""),
    "choose": (WORK, "car"),
    "ready": (WORK, "car"),
    "outing": (WORK, "car"),
    "ready_end": (WORK, "wish"),
    "calendar": (WORK, ""),
    "floor_plan": (WORK, ""),
    "air": (WORK, ""),
    "cars": (SEE, ""),
    "start": (MANAGE, ""),
    "start_cars": (MANAGE, ""),
    "car_new": (EDIT, ""),
    "car": (SEE, "car"),
    "car_curves": (SEE, "car"),
    "car_photographs": (SEE, "car"),
    "car_shown_by": (EDIT, "car"),
    "car_edit": (EDIT, "car"),
    "car_remove": (EDIT, "car"),
    "car_rule": (EDIT, "car"),
    "own_rules": (EDIT, ""),
    "own_duty_new": (EDIT, "car"),
    "own_duty": (SEE, "own_duty"),
    "own_duty_edit": (EDIT, "own_duty"),
    "kind_rule_new": (MANAGE, ""),
    "kind_rule": (MANAGE, "kind_rule"),
    "history": (SEE, "car"),
    "history_pdf": (SEE, "car"),
    "compare": (SEE, ""),
    "shares": (SHARE, "car"),
    "hand_over": (MANAGE, "car"),
    "handovers": (MANAGE, ""),
    "handover_file": (MANAGE, "handover"),
    "handover_receipt": (MANAGE, "handover"),
    "own_receipt": (MANAGE, "received"),
    "car_arrive": (MANAGE, ""),
    "prices": (MANAGE, ""),
    "proof": (SEE, "car"),
    "trust": (SEE, ""),
    "statement": (MANAGE, "statement"),
    "stamp": (MANAGE, "stamp"),
    "witnesses": (SEE, ""),
    "countersign": (SHARE, "car"),
    "settings_proof": (MANAGE, "settings"),
    "log": (WORK, "car"),
    "log_kind": (WORK, "car"),
    "look_over": (WORK, "car"),
    "correct": (WORK, "entry"),
    "places": (MANAGE, ""),
    "site_new": (MANAGE, ""),
    "site_edit": (MANAGE, "site"),
    "staff": (MANAGE, "site"),
    "building_new": (MANAGE, "site"),
    "building_edit": (MANAGE, "building"),
    "arrange": (MANAGE, "building"),
    "bay_new": (MANAGE, "building"),
    "bay_edit": (MANAGE, "bay"),
    "climate_new": (MANAGE, ""),
    "climate_edit": (MANAGE, "climate"),
    "people": (MANAGE, ""),
    "member_new": (MANAGE, ""),
    "member_edit": (MANAGE, "member"),
    "owner_new": (MANAGE, ""),
    "owner_edit": (MANAGE, "owner"),
    "car_private": (EDIT, "car"),
    "site_private": (EDIT, "site"),
    "attachment": (SEE, "file"),
    "thumbnail": (SEE, "file"),
    "member_data": (MANAGE, "member"),
    "invitation_end": (MANAGE, "invitation"),
    "private_showings": (MANAGE, ""),
    "operators": (OPERATE, ""),
    "organisations": (OPERATE, ""),
    "sign_ins": (OPERATE, ""),
    "sign_in_edit": (OPERATE, "person"),
    "person_forget": (OPERATE, "person"),
    "owner_data": (MANAGE, "owner"),
    "owner_forget": (MANAGE, "owner"),
    "me": (OWN, ""),
    "reminders": (SEE, ""),
    "my_data": (OWN, ""),
    "tokens": (SEE, ""),
    "api_docs": (SEE, ""),
    "webhooks": (MANAGE, ""),
    "webhook": (MANAGE, "webhook"),
    "usersessions_list": (OWN, ""),
    "account_reauthenticate": (OWN, ""),
    "mfa_reauthenticate": (OWN, ""),
    "mfa_reauthenticate_webauthn": (OWN, ""),
    "mfa_index": (OWN, ""),
    "mfa_activate_totp": (OWN, ""),
    "mfa_deactivate_totp": (OWN, ""),
    "mfa_view_recovery_codes": (OWN, ""),
    "mfa_generate_recovery_codes": (OWN, ""),
    "mfa_download_recovery_codes": (OWN, ""),
    "mfa_list_webauthn": (OWN, ""),
    "mfa_add_webauthn": (OWN, ""),
    "mfa_edit_webauthn": (OWN, ""),
    "mfa_remove_webauthn": (OWN, ""),
    "loggers": (WORK, ""),
    "logger_site": (WORK, "site"),
    "logger_building": (WORK, "building"),
    "car_loggers": (WORK, "car"),
    "logger_file": (WORK, "logger"),
    "sensors": (WORK, ""),
    "sensor_new": (MANAGE, ""),
    "sensor_end": (MANAGE, "sensor"),
    "limits": (MANAGE, ""),
    "system": (MANAGE, ""),
    "installation": (MANAGE, ""),
    "worksheet_recommission": (WORK, "car"),
    "worksheet_faults": (WORK, "car"),
    "recommissioning": (SEE, "car"),
    "evidence_kinds": (WORK, "car"),
    "evidence_new": (WORK, "car"),
    "evidence_correct": (WORK, "find"),
    "recommission_outlook": (SEE, "car"),
    "recommission_look": (WORK, "car"),
    "recommission_hazards": (WORK, "car"),
    "recommission_case": (EDIT, "car"),
    "recommission_plan": (SEE, "car"),
    "recommission_step": (WORK, "car"),
    "recommission_handbook": (EDIT, "car"),
    "recommission_faults": (WORK, "car"),
    "recommission_fault": (WORK, "car"),
    "recommission_test": (WORK, "car"),
    "recommission_report": (SEE, "car"),
    "recommission_report_pdf": (SEE, "car"),
    "recommission_end": (EDIT, "car"),
    "spreadsheets": (WORK, ""),
    "spreadsheet": (WORK, "table"),
    "spreadsheet_columns": (WORK, "table"),
    "spreadsheets_as": (WORK, ""),
    "faults_as": (WORK, "table"),
    "everything_as": (MANAGE, ""),
    "whole_log_as": (SEE, ""),
    "due_as": (SEE, ""),
    "week_as": (WORK, ""),
    "calendar_as": (WORK, ""),
    "floor_plan_as": (WORK, ""),
    "cars_as": (SEE, ""),
    "car_log_as": (SEE, "car"),
    "findings_as": (SEE, "car"),
    "shares_as": (SHARE, "car"),
    "places_as": (MANAGE, ""),
    "members_as": (MANAGE, ""),
    "owners_as": (MANAGE, ""),
    "limits_as": (MANAGE, ""),
    "prices_as": (MANAGE, ""),
    "system_as": (MANAGE, ""),
    "handovers_as": (MANAGE, ""),
    "statements_as": (MANAGE, ""),
    "help": (SEE, ""),
    "help_page": (SEE, ""),
}
# what stands in an address besides the row; every value is walked
FURTHER = {
    "why": ("charge", "run_up"),
    "choose": ("charge", "inspection"),
    "car_edit": ("car", "battery", "new-battery", "fuel", "fluids", "tyres", "last"),
    "car_rule": ("brake_fluid",),
    "log_kind": ("charge", "note", "moved"),
    "evidence_new": ("tyre_code", "statement"),
    "recommission_look": ("battery",),
    "recommission_step": ("spark", "compression"),
    "recommission_fault": ("cranks-no-spark",),
    "recommission_test": (("cranks-no-spark", "coil_ohm"),),
    **{name: ("csv",) for name in ADDRESSES if name.endswith("_as")},  # every form: test_sheets_round_trip.py
    "everything_as": ("json",),
    "help_page": ("due", "settings"),
    "mfa_edit_webauthn": (987654,),
    "mfa_remove_webauthn": (987654,),
}
# one's own sign-in: what there is to do depends on one's second factor, and some of it asks for the
# password once more; whose rows they are is told in test_signing_in.py
OWN_SIGN_IN = {name for name in ADDRESSES if name.startswith(("mfa_", "account_", "usersessions_"))}
READ_ONLY = {
    "help",
    "help_page",
    "private_showings",
    "installation",
    "recommissioning",
    "recommission_outlook",
    "recommission_plan",
    "recommission_report",
    "recommission_report_pdf",
    "loggers",
    "sensors",
    "collection",
    "timeline",
    "find",
    "setup",
    "histories",
    "due",
    "why",
    "whatif",
    "cars",
    "car",
    "car_curves",
    "car_photographs",
    "own_rules",
    "own_duty",
    "history",
    "history_pdf",
    "compare",
    "handovers",
    "handover_file",
    "own_receipt",
    "proof",
    "trust",
    "statement",
    "stamp",
    "settings_proof",
    "places",
    "people",
    "worksheet",
    "worksheet_car",
    "worksheet_recommission",
    "worksheet_faults",
    "worksheet_bay",
    "worksheet_scan",
    "worksheet_paper",
    "labels",
    "calendar",
    "floor_plan",
    "air",
    "attachment",
    "thumbnail",
    "my_data",
    "api_docs",
    "member_data",
    "owner_data",
}  # a POST may also be refused with 405
READ_ONLY |= {name for name in ADDRESSES if name.endswith("_as")}
WRITE_ONLY = {
    "ready_end",
    "sensor_end",
    "car_shown_by",
    "worksheet_entries",
    "invitation_end",
}  # a GET is refused with 405
ONWARD = {"start", "worksheet_bay", "from_paper_car", "spreadsheet"}  # lead to where there is something to do
# person → role, and whose rows are in their reach
PEOPLE = {
    "manager": ("manager", {"own", "neighbour"}),
    "keeper": ("staff", {"own", "neighbour"}),
    "owner": ("owner", {"own"}),
    "viewer": ("viewer", {"own", "neighbour"}),
    "outsider": ("manager", {"foreign"}),
}
LOGGED = ("entry", "finding", "find", "wish")  # rows named by their car and their own key
NAMED_BY_UUID = {"settings", "entry", "finding", "find", "file", "webhook", "table"}
WORLDS = ("own", "neighbour", "foreign")


NOON = datetime(2026, 11, 1, 12, tzinfo=UTC)


def named_addresses():
    own = [pattern for pattern in urlpatterns if pattern not in old_addresses]  # those only lead on
    return {pattern.name for pattern in own if isinstance(pattern, URLPattern)}


def make_entry(car, person, **details):
    when = datetime(2026, 11, 1, 9, tzinfo=UTC)
    return Entry.objects.create(
        vehicle=car,
        kind="note",
        done_at=when,
        recorded_at=when,
        by=person,
        note="seen",
        details=details,
        idempotency_key=str(uuid.uuid4()),
    )


def make_file(entry):
    out = io.BytesIO()
    Image.new("RGB", (8, 6), f"#{entry.pk.hex[:6]}").save(out, "JPEG")
    file = Attached("Tyre.jpg", "image/jpeg", out.getvalue())
    attach(entry, [file])
    return entry.attachments.get()


@pytest.fixture
def people(manager, keeper, owner, viewer, outsider):
    return {"manager": manager, "keeper": keeper, "owner": owner, "viewer": viewer, "outsider": outsider}


@pytest.fixture
def rows(people, car, neighbour_car, foreign_car, other_barn):
    """For each world, the row of each kind; what is not a car's is the same for own and neighbour."""
    foreign_car.bay = Bay.objects.filter(building__site__organisation=other_barn).first()
    foreign_car.save()
    return {
        "own": rows_of(car, people["keeper"]),
        "neighbour": rows_of(neighbour_car, people["keeper"]),
        "foreign": rows_of(foreign_car, people["outsider"]),
    }


def settings_of(organisation, person):
    """The chain of what is set for it."""
    if not organisation.setting_chains.exists():
        open_settings(organisation, Edit(person, NOON))
    return organisation.setting_chains.first()


def make_find(car, person):
    return Evidence.objects.create(
        vehicle=car,
        kind="receipt",
        on=date(2020, 5, 1),
        by=person,
        recorded_at=NOON,
        idempotency_key="find-1",
    )


def keep_handover(car, person):
    """A car that was handed over, with its file."""
    default_storage.save(path_of(f"{car.pk}"), ContentFile(b"PK"))
    return Handover.objects.create(
        vehicle=car, organisation=car.organisation, by=person, at=NOON, to="Somebody", digest=f"{car.pk}"
    )


def make_hook(organisation, person):
    address = "https://listener.example/"
    return make_webhook(organisation=organisation, name="Listener", address=address, by=person, now=NOON)


def keep_logger(car, person):
    """A file of the car's battery, sent and not yet read."""
    return LoggerFile.objects.create(
        organisation=car.organisation,
        vehicle=car,
        name="volts.csv",
        digest=f"{car.pk}",
        size=1,
        uploaded_at=NOON,
        by=person,
    )


def invite_somebody(organisation, person):
    email = f"{uuid.uuid4().hex}@new.example"
    asked = {"email": email, "role": "viewer", "sites": (), "by": person, "now": datetime.now(UTC)}
    return invite(organisation=organisation, **asked)[0]


def keep_stamp(organisation):
    """The answer of a time-stamp authority, whatever it says."""
    authority = organisation.witnesses.create(
        kind="authority",
        to="https://time.example/",
        name="Fernlea",
        made_at=NOON,
        next_at=NOON,
    )
    anchor = organisation.anchors.first() or sign_statement(organisation=organisation, now=NOON)
    return Witnessed.objects.create(witness=authority, anchor=anchor, at=NOON, response="00")


def sign_for(car):
    """The car, as if it had come by a file for which we signed."""
    chain = Chain.objects.get_or_create(vehicle=car)[0]
    statement = {"as": "receiver", "key": public_key(installation_key())}
    Countersignature.objects.create(chain=chain, seq=1, at=NOON, signature="00", statement=statement)
    return car


def make_kind_rule(organisation):
    return organisation.kind_rules.create(
        duty="coolant", marque="Wendlow", interval="12 months", reason="handbook", since=date(2026, 11, 1)
    )


def rows_of(car, person):
    building, entry, organisation = car.bay.building, make_entry(car, person), car.organisation
    return {
        "table": take_in(
            organisation=organisation,
            by=person,
            kind="log",
            name="log.csv",
            now=NOON,
            data=b"Reg,Date,Volts\nHB 1,2026-10-01,12.5\n",
        ),
        "find": make_find(car, person),
        "handover": keep_handover(car, person),
        "logger": keep_logger(car, person),
        "sensor": make_sensor(organisation=organisation, place=car, name="Volts", by=person, now=NOON)[0],
        "finding": make_entry(car, person, found="Damage"),
        "car": car,
        "wish": car.ready_days.create(day=date(2099, 5, 12), purpose="show", by=person, asked_at=NOON),
        "entry": entry,
        "file": make_file(entry),
        "bay": car.bay,
        "building": building,
        "site": building.site,
        "climate": make_climate(organisation, f"By the {car.model}"),
        "owner": car.owner,
        "member": Membership.objects.get(person=person, organisation=organisation),
        "person": person,
        "invitation": invite_somebody(organisation, person),
        "statement": organisation.anchors.first() or sign_statement(organisation=organisation, now=NOON),
        "stamp": keep_stamp(organisation),
        "received": sign_for(car),
        "settings": settings_of(organisation, person),
        "kind_rule": organisation.kind_rules.first() or make_kind_rule(organisation),
        "own_duty": car.own_duties.create(kind="insurance", title="Insurance", begun=date(2026, 11, 1)),
        "webhook": organisation.webhooks.first() or make_hook(organisation, person),
    }


def addresses(name, rows):
    """Every address of a name for one world's rows."""
    kind = ADDRESSES[name][1]
    args = []
    if kind:
        row = rows[kind]
        of = {kind: lambda: [row.vehicle_id] for kind in LOGGED}
        of["own_duty"] = lambda: [row.vehicle_id]
        of["file"] = lambda: [row.entry.vehicle_id, row.entry_id]
        args = [*of.get(kind, list)(), row.code if kind == "own_duty" else row.pk]
    words = [word if isinstance(word, tuple) else (word,) for word in FURTHER.get(name, ())]
    return [reverse(name, args=[*args, *further]) for further in words or [()]]


def walk(client, rows, expected):
    """Open every address for every world both ways; returns what answered otherwise than expected."""
    strange = []
    for name, world in product(ADDRESSES, WORLDS):
        for url, method in product(addresses(name, rows[world]), ("get", "post")):
            answer = getattr(client, method)(url)
            status = answer.status_code
            if answer.streaming:
                b"".join(answer.streaming_content)  # read to its end, so that its file is closed
            allowed = expected(name, world, method)
            if status not in allowed:
                strange.append(f"{method} {url} ({name}, {world}): {status}, not {sorted(allowed)}")
    return strange


def test_every_address_is_in_the_table_or_public():
    assert named_addresses() - PUBLIC - BY_LINK == set(ADDRESSES)


def row_of_nothing(kind):
    """Enough of a row to stand in an address: it is in no database."""
    return SimpleNamespace(
        pk=uuid.uuid4() if kind in NAMED_BY_UUID else 987654,
        vehicle_id=987654,
        entry_id=uuid.uuid4(),
        entry=SimpleNamespace(vehicle_id=987654),
        code="own-000000000000",
    )


@pytest.mark.parametrize("name", ADDRESSES)
def test_every_address_declares_the_capability_that_the_table_names(name):
    words = {
        SHARE: "share a car",
        SEE: "see cars",
        WORK: "work the week",
        EDIT: "edit the record",
        MANAGE: "manage places",
        OWN: "see to one's own sign-in",
        OPERATE: "run the installation",
    }
    kind = ADDRESSES[name][1]
    for url in addresses(name, {kind: row_of_nothing(kind)}):
        assert resolve(url).func.capability.startswith(words[ADDRESSES[name][0]])


@pytest.mark.parametrize("person", PEOPLE)
def test_a_person_opens_what_their_role_and_reach_allow_and_nothing_else(client_as, people, rows, person):
    role, reach = PEOPLE[person]

    def expected(name, world, method):
        capability, kind = ADDRESSES[name]
        if method == "get" and name in WRITE_ONLY:
            return {405}
        read_only = {405} if method == "post" and name in READ_ONLY else set()
        if name in OWN_SIGN_IN:
            return {200, 302, 404, 405}
        if capability not in MAY[role]:
            return {403} | read_only
        if kind and world not in reach:
            return {404} | read_only
        if name in ONWARD:
            return {200, 302} | read_only
        return {200} if method == "get" else {200, 302} | read_only | ({400} if name in WRITE_ONLY else set())

    assert walk(client_as(people[person]), rows, expected) == []


def test_no_address_takes_a_nul_character(client_as, people, rows):
    """PostgreSQL refuses it deep inside; here it is refused at the door, on every database."""
    client = client_as(people["manager"])
    for name in ADDRESSES:
        for address in addresses(name, rows[WORLDS[0]]):
            assert client.get(address, {"site": "1\0"}).status_code == 400, address
    assert client.get("/cars/1/why/char%00ge/").status_code == 400


def test_whoever_is_not_signed_in_is_sent_to_sign_in(rows):
    client = Client()

    def expected(name, _world, method):
        return {302, 405} if name in (READ_ONLY if method == "post" else WRITE_ONLY) else {302}

    assert walk(client, rows, expected) == []
    for name in ADDRESSES:
        (url, *_) = addresses(name, rows["own"])
        send = client.post if name in WRITE_ONLY else client.get
        assert send(url).url.startswith(reverse("sign_in"))


def test_a_person_without_membership_opens_nothing_but_their_own_sign_in(client_as, stranger, rows):
    def expected(name, _world, method):
        if ADDRESSES[name][0] == OWN:
            return {200, 302, 404, 405}  # each as it answers anybody of their own sign-in
        return {403, 405} if name in (READ_ONLY if method == "post" else WRITE_ONLY) else {403}

    assert walk(client_as(stranger), rows, expected) == []


def test_a_row_that_does_not_exist_looks_like_one_out_of_reach(client_as, manager, rows):
    ghosts = {
        kind: type(row)(pk=uuid.uuid4() if kind in NAMED_BY_UUID else 987654)
        for kind, row in rows["own"].items()
    }
    for kind in (*LOGGED, "own_duty"):
        ghosts[kind].vehicle_id = rows["own"]["car"].pk
    ghosts["file"].entry = rows["own"]["entry"]
    client = client_as(manager)
    for name, (_, kind) in ADDRESSES.items():
        if kind and name not in WRITE_ONLY and ADDRESSES[name][0] != OPERATE:
            assert {client.get(url).status_code for url in addresses(name, ghosts)} == {404}, name


def test_a_guessed_entry_of_another_car_is_not_found_through_a_car_in_reach(client_as, keeper, rows):
    url = reverse("correct", args=[rows["own"]["car"].pk, rows["foreign"]["entry"].pk])
    assert client_as(keeper).get(url).status_code == 404


def test_a_guessed_file_is_not_found_through_another_car_or_entry(client_as, keeper, rows):
    own, neighbour, foreign = rows["own"], rows["neighbour"], rows["foreign"]
    guesses = [
        (own["car"].pk, own["entry"].pk, foreign["file"].pk),
        (own["car"].pk, neighbour["entry"].pk, neighbour["file"].pk),
        (own["car"].pk, own["entry"].pk, neighbour["file"].pk),
    ]
    for guess in guesses:
        for name in ("attachment", "thumbnail"):
            assert client_as(keeper).get(reverse(name, args=guess)).status_code == 404


# what is refused changes nothing, even with all fields right


def test_an_owner_changes_no_record_not_even_their_own_cars(client_as, owner, car):
    sent = {"owner": car.owner_id, "marque": "Changed", "model": "Twelve", "regime": "exercised"}
    assert client_as(owner).post(reverse("car_edit", args=[car.pk, "car"]), sent).status_code == 403
    assert client_as(owner).post(reverse("car_new"), sent).status_code == 403
    assert not Vehicle.objects.filter(marque="Changed").exists()


def test_an_outsider_changes_no_car_here(client_as, outsider, car):
    sent = {"owner": car.owner_id, "marque": "Changed", "model": "Twelve", "regime": "exercised"}
    assert client_as(outsider).post(reverse("car_edit", args=[car.pk, "car"]), sent).status_code == 404
    assert client_as(outsider).post(reverse("car_new"), sent).status_code == 200
    assert not Vehicle.objects.filter(marque="Changed").exists()


def test_staff_make_nobody_a_manager(client_as, keeper):
    url = reverse("member_edit", args=[keeper.memberships.get().pk])
    sent = {"what": "role", "role": "manager", "is_active": "on"}
    assert client_as(keeper).post(url, sent).status_code == 403
    assert keeper.memberships.get().role == "staff"


def test_no_choice_on_a_page_comes_from_another_organisation(client_as, manager, rows, foreign_car):
    client = client_as(manager)
    for name in ("car_new", "start_cars", "cars", "people", "places", "owner_new", "site_new"):
        page = client.get(reverse(name)).content.decode()
        for stranger in ("Cleo Marsh", "By the Nine", "manager@tarn.example", "Tarn Sheds"):
            assert stranger not in page, (name, stranger)


# whoever runs the installation


def test_an_operator_opens_the_installation_and_no_organisation(client_as, operator, people, rows):
    def expected(name, world, method):
        if method == "get" and name in WRITE_ONLY:
            return {405}
        if ADDRESSES[name][0] in (OWN, OPERATE):
            return {200, 302, 404, 405}
        return {403} | ({405} if method == "post" and name in READ_ONLY else set())

    assert walk(client_as(operator), rows, expected) == []


def test_the_pages_of_the_installation_open_for_operators_only(client_as, operator, manager):
    for name in ("operators", "organisations", "sign_ins"):
        assert client_as(operator).get(reverse(name)).status_code == 200
        assert client_as(manager).get(reverse(name)).status_code == 403


# the admin pages


def test_the_admin_pages_open_for_operators_only_and_hold_no_record(client_as, operator, manager):
    assert {model.__name__ for model in admin_pages._registry} == {"Organisation", "Climate"}
    for model in admin_pages._registry:
        url = reverse(f"admin:collection_{model._meta.model_name}_changelist")
        assert client_as(manager).get(url).status_code == 302, url
        assert client_as(operator).get(url).status_code == 200, url


def test_the_admin_pages_show_no_climate_of_an_organisation(client_as, operator, barn):
    own = barn.climates.get()
    client = client_as(operator)
    assert own.name not in client.get(reverse("admin:collection_climate_changelist")).content.decode()
    assert client.get(reverse("admin:collection_climate_change", args=[own.pk])).status_code == 302


def test_other_apps_bring_nothing_into_the_admin_pages(client_as, operator):
    for path in (
        "auth/group",
        "account/emailaddress",
        "mfa/authenticator",
        "collection/person",
        "collection/entry",
    ):
        assert client_as(operator).get(f"/admin/{path}/").status_code == 404, path


# the rows themselves


def test_an_owner_with_two_names_on_the_books_sees_the_cars_of_both(client_as, owner, barn, car):
    second = Owner.objects.create(organisation=barn, name="Wren & Daughter", person=owner)
    make_car(barn, second, model="Ten")
    shown = client_as(owner).get(reverse("cars")).context["cars"]
    assert {it.model for it in shown} == {"Twelve", "Ten"}
