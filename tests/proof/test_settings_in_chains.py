"""What is set for sites and organisations, and evidence, in chains: by day, and a change beside is named."""

import json
from datetime import timedelta
from types import SimpleNamespace

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import connection
from django.urls import reverse

from collection.care.actions.record import Edit, open_records
from collection.care.actions.settings import open_settings
from collection.care.attachments import JPEG, Attached
from collection.chain.canonical import canonical, read
from collection.chain.verify import name_of_subject, verify
from collection.due.actions.prices import save_rates
from collection.due.actions.thresholds import OwnValue, save_thresholds
from collection.life.settings import Settings, unwritten
from collection.models import (
    Battery,
    Bay,
    Building,
    Chain,
    ClimateMonth,
    Evidence,
    Grade,
    LastUse,
    Rate,
    SettingEntry,
    Site,
    Threshold,
    Vehicle,
)
from collection.models.append_only import UNIQUE, guard, unguard
from collection.places.actions.bays import Row, add_bays
from collection.places.actions.places import remove_place, save_building, save_climate, save_site
from collection.proof.actions import export_history, export_settings, sign_statement, without_notes
from collection.proof.check_all import prove
from collection.proof.queries import history_facts
from collection.recommission.actions.evidence import save_evidence, withdraw_evidence
from tests.barn import TODAY, make_climate
from tests.logbook import NOON, ago

SCAN = Attached("letter.jpg", JPEG, b"a letter")


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.MEDIA_ROOT = tmp_path / "media"
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def site(barn):
    return barn.sites.get()


@pytest.fixture
def shed(site):
    return site.buildings.get()


@pytest.fixture
def opened(barn, site, manager):
    """Everything set here was written down 300 days ago."""
    for thing in (barn, site):
        open_settings(thing, Edit(manager, NOON - timedelta(days=300)))
    return site


def now_by(manager, **more):
    return Edit(manager, NOON, **more)


def chain(barn, subject):
    return Chain.objects.get(organisation=barn, subject=subject)


def faults(thing):
    return [fault.text for fault in verify(export_settings(thing, now=NOON)).faults]


def find(car, by, key="first", files=(), **values):
    row = Evidence(vehicle=car, kind="receipt", **({"on": ago(3000)} | values))
    return save_evidence(row=row, by=by, key=key, now=NOON, files=files)


# versions by day


def test_the_past_is_told_by_the_version_of_its_day(barn, opened, shed, manager):
    shed.shelter, shed.heated_to_c = "humidity_controlled", 9.0
    save_building(building=shed, edit=now_by(manager, since=ago(50)), today=TODAY)
    shed.heated_to_c = 12.0
    save_building(building=shed, edit=now_by(manager), today=TODAY)
    told = Settings(barn.pk)
    days = (ago(4000), ago(51), ago(50), ago(1), TODAY)
    versions = [told.building_on(opened.pk, shed.pk, day) for day in days]
    assert [(each.shelter, each.heated_to_c) for each in versions] == [
        ("enclosed", None),
        ("enclosed", None),
        ("humidity_controlled", 9.0),
        ("humidity_controlled", 9.0),
        ("humidity_controlled", 12.0),
    ]
    assert told.changes(f"site.{opened.pk}", f"building.{shed.pk}") == [ago(50), TODAY]
    assert faults(chain(barn, f"site.{opened.pk}")) == []


def test_a_climate_in_force_is_kept_by_its_figures_when_it_is_changed_or_another_comes(barn, opened, manager):
    climate = opened.climate
    months = list(climate.months.all())
    months[0].mean_c = 3.5
    save_climate(climate=climate, months=months, edit=now_by(manager, since=ago(20)), today=TODAY)
    opened.climate = make_climate(barn, "Another valley")
    save_site(site=opened, edit=now_by(manager), today=TODAY)
    told = Settings(barn.pk)
    means = [told.climate_on(opened.pk, day)[0] for day in (ago(21), ago(20), TODAY)]
    assert [mean for mean, *_ in means] == [2.0, 3.5, 2.0]
    assert means[0] == (2.0, -1.0, 5.0, 86.0)
    assert faults(chain(barn, f"site.{opened.pk}")) == []


def test_limits_and_prices_have_versions_too(barn, opened, manager):
    own = {"recharge_soc": OwnValue(0.7, "Damp corner.")}
    with time_machine.travel(NOON - timedelta(days=30), tick=False):
        then = NOON - timedelta(days=30)
        save_thresholds(organisation=barn, own=own, by=manager, today=ago(30), now=then)
    save_thresholds(organisation=barn, own={}, by=manager, today=TODAY, now=NOON)
    save_rates(organisation=barn, own={"hour": 90.0}, money="£", edit=now_by(manager))
    told = Settings(barn.pk)
    versions = [told.thresholds_on(day) for day in (ago(31), ago(30), TODAY)]
    assert versions == [{}, {"recharge_soc": 0.7}, {}]
    assert told.value_on("organisation", "price.hour", TODAY) == 90.0
    assert faults(chain(barn, "organisation")) == []


def test_a_correction_was_never_otherwise(barn, opened, shed, manager):
    shed.shelter = "open"
    save_building(building=shed, edit=now_by(manager, since=ago(50)), today=TODAY)
    shed.shelter = "covered"
    save_building(building=shed, edit=now_by(manager, corrects=True), today=TODAY)
    told = Settings(barn.pk)
    shelters = [told.building_on(opened.pk, shed.pk, day).shelter for day in (ago(51), ago(50), TODAY)]
    assert shelters == ["enclosed", "covered", "covered"]
    last = SettingEntry.objects.order_by("link__seq").last().facts[f"building.{shed.pk}.shelter"]
    first = SettingEntry.objects.filter(facts__has_key=f"building.{shed.pk}.shelter").order_by("link__seq")[1]
    assert last["corrects"] == str(first.pk)


def test_bays_made_and_removed_and_a_site_that_is_gone_stay_in_its_chain(barn, opened, shed, manager):
    row = Row(row="B", first=1, last=2, power_outlet=True, exhaust_extraction=False, nose_to_tail=True)
    one, two = add_bays(building=shed, row=row, edit=now_by(manager))
    key = two.pk
    remove_place(place=two, edit=now_by(manager))
    of = f"site.{opened.pk}"
    told, subject = Settings(barn.pk), chain(barn, of)
    assert [fact.value for fact in told.line(of, f"bay.{key}.row")] == [None]
    written = [set(entry.facts) for entry in subject.setting_entries.all()]
    assert f"bay.{key}.behind" in written[1]
    assert f"bay.{one.pk}.row" in written[1]
    for place in (*Bay.objects.filter(building=shed), shed, opened):
        remove_place(place=place, edit=now_by(manager))
    assert not Site.objects.filter(organisation=barn).exists()
    verdict = verify(export_settings(subject, now=NOON))
    assert (verdict.faults, verdict.history["record"], name_of_subject(verdict.history)) == (
        [],
        {},
        f"Settings of Hollin (site {of.removeprefix('site.')})",
    )


@pytest.mark.parametrize(("days", "said"), [(-1, "in the future"), (60_000, "before there were cars")])
def test_a_version_of_a_day_that_cannot_be_is_refused_whole(opened, shed, manager, days, said):
    shed.shelter = "open"
    with pytest.raises(ValidationError) as refusal:
        save_building(building=shed, edit=now_by(manager, since=ago(days)), today=TODAY)
    assert said in refusal.value.message_dict["since"][0]
    assert Building.objects.get(pk=shed.pk).shelter == "enclosed"
    assert SettingEntry.objects.count() == 2


def test_what_was_never_written_down_is_named_and_the_first_save_writes_all_of_it(barn, site, shed, manager):
    assert list(unwritten()) == [site]
    shed.walk_order = 4
    save_building(building=shed, edit=now_by(manager), today=TODAY)
    entries = list(SettingEntry.objects.order_by("link__seq"))
    assert [(entry.opening, entry.by) for entry in entries] == [(True, None), (False, manager)]
    assert entries[0].facts[f"building.{shed.pk}.walk_order"]["now"] == 1
    assert list(unwritten()) == []


# evidence


def test_evidence_written_corrected_and_withdrawn_stands_in_the_cars_chain(car, keeper, manager):
    first = find(car, keeper, grade=Grade.DOCUMENT, files=[SCAN], note="Bill of the garage.")
    second = find(car, manager, key="second", on=ago(2900), corrects=first, grade=Grade.DOCUMENT)
    withdraw_evidence(row=second, by=keeper, key="third", now=NOON, reason="Of another car.")
    verdict = verify(export_history(car, now=NOON))
    assert verdict.faults == []
    told = [entry for entry in verdict.history["entries"] if entry["kind"] == "evidence"]
    assert [(entry["details"]["on"], entry["details"]["withdrawn"], entry["corrects"]) for entry in told] == [
        (str(ago(3000)), False, None),
        (str(ago(2900)), False, str(first.pk)),
        (str(ago(2900)), True, str(second.pk)),
    ]
    assert {entry["details"]["grade"] for entry in told} == {1}
    assert {entry["attachments"][0]["digest"] for entry in told} == {SCAN.digest}
    assert len({entry["by"] for entry in told}) == 2
    assert car.entries.get().attachments.get().digest == SCAN.digest


def test_a_document_of_the_time_needs_the_document(car, keeper):
    with pytest.raises(ValidationError) as refusal:
        find(car, keeper, grade=Grade.DOCUMENT)
    assert "add a photograph or scan" in refusal.value.message_dict["document"][0]
    assert not Evidence.objects.exists()


def test_a_find_is_sent_with_its_document_from_the_page(client_as, car, keeper):
    from django.core.files.uploadedfile import SimpleUploadedFile

    from tests.care.test_attachments import photograph

    address = reverse("evidence_new", args=[car.pk, "receipt"])
    sent = {"key": "key-of-this-find", "on": str(ago(3000)), "grade": "1", "hard": ""}
    refused = client_as(keeper).post(address, sent)
    assert "add a photograph or scan" in refused.content.decode()
    file = SimpleUploadedFile("bill.jpg", photograph(), "image/jpeg")
    assert client_as(keeper).post(address, sent | {"document": file}).status_code == 302
    row = Evidence.objects.get()
    assert (row.grade, row.document.name, row.link.chain.vehicle) == (1, "bill.jpg", car)


@pytest.mark.parametrize(
    ("values", "field", "said"),
    [
        ({"on": ago(30_000)}, "on", "before the car was built (1962)"),
        ({"on": ago(1)}, "on", "left storage on"),
    ],
)
def test_evidence_from_outside_the_cars_life_is_refused(car, keeper, values, field, said):
    car.left_on = ago(10)
    car.save()
    with pytest.raises(ValidationError) as refusal:
        find(car, keeper, **values)
    assert said in refusal.value.message_dict[field][0]
    assert not Evidence.objects.exists()


def test_what_is_withheld_of_evidence_still_verifies(car, keeper):
    find(car, keeper, note="The neighbour told it.")
    data = export_history(car, now=NOON, without=without_notes)
    assert b"neighbour" not in data
    verdict = verify(data)
    assert verdict.faults == []
    assert "Left out of entry 1, whose digests still hold: note." in verdict.remarks


# changed straight in the database


@pytest.fixture
def unguarded(barn, opened, car, keeper, manager):
    """A car with parts, evidence, limits and prices, all chained and covered; then the guards are gone."""
    Battery.objects.create(vehicle=car, chemistry="agm")
    LastUse.objects.create(vehicle=car, event="road_use", on=ago(400), basis="owner")
    open_records([car], Edit(keeper, NOON - timedelta(days=200)))
    find(car, keeper, note="Bill.")
    own = {"recharge_soc": OwnValue(0.7, "Damp corner.")}
    save_thresholds(organisation=barn, own=own, by=manager, today=TODAY, now=NOON)
    save_rates(organisation=barn, own={"hour": 90.0}, money="£", edit=now_by(manager))
    sign_statement(organisation=barn, now=NOON)
    assert prove(NOON).faults == []
    with connection.cursor() as cursor:
        editor = SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql))
        unguard(editor, UNIQUE)
        yield car
        guard(editor, UNIQUE)


def update(model, **values):
    return lambda: model.objects.all().update(**values)


CHANGES = {
    "storage dates": (lambda: Vehicle.objects.update(stored_since=ago(900)), "stored since"),
    "left": (lambda: Vehicle.objects.update(left_on=ago(5)), "left on"),
    "bay": (lambda: Vehicle.objects.update(bay=Bay.objects.last()), "of bay"),
    "stands": (lambda: Vehicle.objects.update(on_stands=True), "on stands"),
    "chassis number": (lambda: Vehicle.objects.update(chassis_number="X1"), "chassis number"),
    "regime": (lambda: Vehicle.objects.update(regime="preserved"), "regime"),
    "battery": (update(Battery, chemistry="gel"), "chemistry"),
    "battery put in": (
        lambda: Battery.objects.create(vehicle=Vehicle.objects.get(), removed_on=ago(3)),
        "removed on",
    ),
    "last times": (update(LastUse, on=ago(3)), "last, road use, on"),
    "evidence": (update(Evidence, on=ago(10)), "edited after it was chained: on"),
    "grade of evidence": (update(Evidence, grade=1), "edited after it was chained: grade"),
    "evidence taken out": (lambda: Evidence.objects.all()._raw_delete("default"), "was taken out"),
    "evidence put in": (
        lambda: Evidence.objects.bulk_create(
            [
                Evidence(
                    vehicle=Vehicle.objects.get(),
                    kind="receipt",
                    on=ago(9),
                    by=Evidence.objects.first().by,
                    recorded_at=NOON,
                    idempotency_key="put-in",
                )
            ]
        ),
        "the chain does not know: evidence",
    ),
    "climate": (update(ClimateMonth, humidity_pct=50), "climate, 1"),
    "warmth of a building": (update(Building, heated_to_c=15), "heated to c"),
    "shelter": (update(Building, shelter="open"), "shelter"),
    "bay of a site": (update(Bay, exhaust_extraction=True), "exhaust extraction"),
    "time zone": (update(Site, time_zone="Europe/Paris"), "time zone"),
    "limit": (update(Threshold, value=0.9), "recharge soc, value"),
    "reason of a limit": (update(Threshold, reason="Because."), "recharge soc, reason"),
    "price": (update(Rate, value=1), "price, hour"),
    "version of a climate": (
        lambda: SettingEntry.objects.filter(facts__has_key="climate.1").update(
            facts=_another_january(SettingEntry.objects.get(facts__has_key="climate.1").facts)
        ),
        "edited after it was chained: climate.1",
    ),
    "version backdated": (
        lambda: SettingEntry.objects.filter(opening=False).update(done_at=NOON - timedelta(days=90)),
        "edited after it was chained: done at",
    ),
    "version taken out": (
        lambda: SettingEntry.objects.filter(opening=False)._raw_delete("default"),
        "was taken out",
    ),
}


def _another_january(facts):
    facts = json.loads(json.dumps(facts))
    facts["climate.1"]["now"] = "9.0 8.0 10.0 50.0"
    return facts


@pytest.mark.parametrize("what", CHANGES)
def test_what_is_changed_straight_in_the_database_is_named(unguarded, what):
    change, said = CHANGES[what]
    change()
    assert any(said in fault for fault in prove(NOON).faults), prove(NOON).faults


def test_a_statement_covers_what_is_set(barn, opened, manager):
    anchor = sign_statement(organisation=barn, now=NOON)
    assert anchor.statement["chains"] == 2
    assert len(verify(export_settings(chain(barn, "organisation"), now=NOON)).history["anchors"]) == 1


def test_a_settings_file_is_checked_by_itself_and_against_an_earlier_one(barn, opened, shed, manager):
    of = chain(barn, f"site.{opened.pk}")
    before = export_settings(of, now=NOON)
    shed.shelter = "open"
    save_building(building=shed, edit=now_by(manager), today=TODAY)
    after = export_settings(of, now=NOON)
    assert verify(after, witnesses=[before]).faults == []
    assert verify(before, witnesses=[after]).faults != []
    broken = read(after)
    broken["entries"][0]["details"]["time_zone"]["now"] = "Europe/Paris"
    assert "time zone" in " ".join(fault.text for fault in verify(canonical(broken)).faults)


def test_evidence_of_before_says_when_it_was_written_down_and_when_it_came_into_the_chain(car, keeper):
    row = find(car, keeper)
    with connection.cursor() as cursor:
        editor = SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql))
        unguard(editor, ["collection_evidence"])
        Evidence.objects.filter(pk=row.pk).update(chained_at=NOON, recorded_at=NOON - timedelta(days=700))
        guard(editor, ["collection_evidence"])
    [entry] = history_facts(car, now=NOON)["entries"]
    assert (entry["done_at"][:10], entry["recorded_at"][:10]) == (str(ago(700)), str(TODAY))
