"""Run in a copy of the tree to which the rows beside this file were added: each walks through the site."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse

from collection import demo
from collection.life.refresh import refresh_organisation
from collection.models import Entry, Fluid, LastUse
from collection.round.load_charts import year
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.log_fields import LOG
from collection.spreadsheets.sheets.log_rows import told_by
from scheduler.duties.conditions import FLUIDS, READING_KINDS, TAGS
from scheduler.duties.policy import Policy
from scheduler.duties.table import DUTIES, forecast
from scheduler.vocabulary.care import KIND
from scheduler.year import Changes, Rates, compare
from tests.api.api_kit import programme
from tests.barn import *  # noqa: F403
from tests.scheduler.batteries import valley
from tests.scheduler.blank import blank

DUTY, CARE, QUANTITY, FLUID = "door_seals", "seals_dressed", "seal_hardness", "clutch_fluid"
KEY = "0123456789"
SENT = {"dressing": "glycerine", "dressing_g": "12.5", "door": "driver's", QUANTITY: "62", "key": KEY}


@pytest.fixture
def known(car, barn):
    """A car that somebody last saw to a hundred days ago; its dates were worked out today."""
    seen = datetime.now(UTC).date() - timedelta(days=100)
    LastUse.objects.create(vehicle=car, event="attended", on=seen, basis="owner")
    refresh_organisation(barn.pk, today=datetime.now(UTC).date(), trigger="test")
    return car


@pytest.fixture
def client(client_as, manager):
    return client_as(manager)


def body(response):
    assert response.status_code == 200, response.content[:2000]
    return response.content.decode()


def csv(client, name, *args):
    return b"".join(client.get(reverse(name, args=[*args, "csv"])).streaming_content).decode("utf-8-sig")


def fields(response):
    return response.context["form"].fields


def test_no_row_needs_a_migration(db):
    row = StringIO()
    call_command("makemigrations", check=True, dry_run=True, stdout=row)
    assert "No changes" in row.getvalue()


# the duty


def test_the_duty_is_on_the_due_page_with_its_reason(client, known):
    assert "Door seals" in body(client.get(reverse("due"), {"duty": DUTY}))
    why = body(client.get(reverse("why", args=[known.pk, DUTY])))
    assert "Due in 0 days." in why
    assert "Stabiliser is a chemical" in why  # its caution


def test_the_duty_is_on_the_weeks_round_with_the_form_of_its_care(client, known):
    page = body(client.get(reverse("week")))
    assert "Door seals" in page
    assert reverse("log_kind", args=[known.pk, CARE]) in page
    assert "eye protection and gloves" in page


def test_the_duty_is_told_in_the_history_and_in_charts_of_work(client, known):
    assert "Door seals" in body(client.get(reverse("history", args=[known.pk])))
    assert any(float(cell) for cell in year([("2026-11", DUTY, 1, 20)]).rows[0][2:])


def test_the_duty_is_exported_and_told_to_programmes(client, known, manager):
    assert "Door seals" in csv(client, "due_as")
    (row,) = programme(manager).get("/duties", duty=DUTY).json()["items"]
    assert (row["duty"], row["care_kind"]) == (DUTY, CARE)
    assert programme(manager).get(f"/cars/{known.pk}/duties/{DUTY}").status_code == 200


def test_the_duty_is_part_of_the_simulated_year():
    fleet = blank(3, valley())
    compared = compare(fleet, Changes(), 739_000.0, Policy(), Rates())
    assert compared.now.done[DUTY] == 12  # three cars, at first and then each hundred days
    assert DUTY in forecast(fleet, 739_000.0, Policy())
    assert [duty.name for duty in DUTIES][-1] == DUTY


# the kind of care, with the quantity that is measured at it


def test_the_kind_is_offered_with_a_field_for_each_detail_and_for_the_quantity(client, car):
    assert "Seals dressed" in body(client.get(reverse("log", args=[car.pk])))
    asked = fields(client.get(reverse("log_kind", args=[car.pk, CARE])))
    assert [name for name in asked if name in SENT] == ["dressing_g", "dressing", "door", QUANTITY, "key"]
    assert str(asked[QUANTITY].label) == "Hardness of the seals"


def test_limits_are_those_of_the_rows(client, car):
    sent = SENT | {"dressing_g": "501", QUANTITY: "9"}
    page = body(client.post(reverse("log_kind", args=[car.pk, CARE]), sent))
    assert "give 0 to 500" in page
    assert "give 10 to 100" in page
    assert not Entry.objects.exists()


def test_what_is_typed_goes_to_the_log_the_history_and_the_export(client, known):
    assert client.post(reverse("log_kind", args=[known.pk, CARE]), SENT).status_code == 302
    entry = Entry.objects.get()
    assert entry.details == {"dressing": "glycerine", "dressing_g": 12.5, "door": "driver's"}
    (reading,) = entry.readings.all()
    assert (reading.quantity, reading.value) == (QUANTITY, 62)
    row = body(client.get(reverse("history", args=[known.pk])))
    for words in ("Seals dressed", "Dressing used", "12.5", "Hardness of the seals", "62"):
        assert words in row
    table = csv(client, "car_log_as", known.pk)
    for words in ("Dressing used", "glycerine", "Hardness of the seals", "62"):
        assert words in table


def test_doing_it_moves_the_date_on(client, known, barn):
    before = known.duties.get(duty=DUTY).due
    client.post(reverse("log_kind", args=[known.pk, CARE]), SENT)
    refresh_organisation(barn.pk, today=datetime.now(UTC).date(), trigger="test")
    assert (known.duties.get(duty=DUTY).due - before).days == 100


def test_a_table_that_somebody_kept_is_understood():
    (row,) = told_by({"kind": "dressed the seals", "d.door": "boot", f"r.{QUANTITY}": 55.0})
    assert (row.kind, row.details) == (CARE, {"door": "boot"})
    assert [(reading.quantity, reading.value) for reading in row.readings] == [(QUANTITY, 55.0)]
    (alone,) = told_by({f"r.{QUANTITY}": 55.0})
    assert alone.kind == CARE
    assert LOG.field("d.door").names == ("Door", "which door")
    assert "shore" in LOG.field(f"r.{QUANTITY}").names


def test_a_programme_sends_it_and_is_held_to_the_same_limits(car, manager):
    path, reader = f"/cars/{car.pk}/entries", programme(manager)
    sent = {
        "kind": CARE,
        "details": {"dressing": "silicone"},
        "readings": [{"quantity": QUANTITY, "value": 70}],
    }
    assert reader.post(path, sent).status_code == 201
    assert reader.post(path, sent | {"details": {"dressing": "tar"}}).status_code == 422
    assert reader.post(path, sent | {"readings": [{"quantity": QUANTITY, "value": 700}]}).status_code == 422
    (row,) = reader.get("/readings", quantity=QUANTITY).json()["items"]
    assert row["value"] == 70


def test_the_quantity_reaches_the_core():
    assert READING_KINDS[-1] == QUANTITY


# the fluid


def test_the_fluid_is_asked_for_and_told_on_the_cars_page(client, car):
    page = body(client.get(reverse("car_edit", args=[car.pk, "fluids"])))
    assert "Clutch fluid" in page
    Fluid.objects.create(vehicle=car, kind=FLUID, changed_on=date(2025, 5, 1))
    assert "1 May 2025" in body(client.get(reverse("car", args=[car.pk])))
    assert "2025-05-01" in csv(client, "cars_as")
    row = programme(car.organisation.memberships.get(role="manager").person).get(f"/cars/{car.pk}").json()
    assert [fluid["kind"] for fluid in row["fluids"]] == [FLUID]


def test_changing_the_fluid_is_logged_and_reaches_the_core(client, known, barn):
    sent = {"fluid": FLUID, "key": KEY}
    assert client.post(reverse("log_kind", args=[known.pk, "fluid_changed"]), sent).status_code == 302
    assert "Clutch fluid" in body(client.get(reverse("history", args=[known.pk])))
    run = refresh_organisation(barn.pk, today=datetime.now(UTC).date(), trigger="test")
    assert run.errors == []
    assert FLUIDS[-1] == FLUID
    assert blank(1, valley()).fluid_changed.shape == (1, len(FLUIDS))


def test_the_fluid_has_its_columns_and_words_in_tables():
    assert CARS.field(f"{FLUID}.changed_on").names == ("Clutch fluid last changed", "clutch fluid changed")
    (row,) = told_by({"kind": "bled the clutch"})
    assert (row.kind, row.details) == ("fluid_changed", {"fluid": FLUID})


# the tag


def test_the_tag_is_offered_put_on_and_told(client, known, barn):
    sent = {"tag": "alarm_armed", "where": "key at the desk", "key": KEY}
    assert client.post(reverse("log_kind", args=[known.pk, "tag_opened"]), sent).status_code == 302
    assert "Alarm armed" in body(client.get(reverse("car", args=[known.pk])))
    assert refresh_organisation(barn.pk, today=datetime.now(UTC).date(), trigger="test").errors == []
    assert TAGS[-1] == "alarm_armed"


# the demo


def test_the_demo_shows_the_kind_by_its_example(db):
    demo.build(datetime(2026, 11, 25, 9, 30, tzinfo=UTC))
    entry = Entry.objects.get(kind=CARE)
    assert entry.details == dict(KIND[CARE].example)
