"""From records to the core and back: what is known arrives, what is not stays unknown."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from collection.care.actions.care import log_entry
from collection.due.core.curves import curves
from collection.due.core.reasons import explain
from collection.life import refresh
from collection.life.core.gather import gather
from collection.life.duties import duties_due, lines_of
from collection.models import Battery, DutyRow, Fluid, Fuel, LastUse, Tyre
from collection.permissions import access_of
from scheduler.duties import conditions
from scheduler.duties.table import DUTIES
from tests.barn import TODAY, make_car

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def log(car, person, kind, day, key, **values):
    done_at = datetime(day.year, day.month, day.day, 10, tzinfo=UTC)
    return log_entry(
        vehicle=car, kind=kind, done_at=done_at, by=person, idempotency_key=key, now=NOW, **values
    ).entry


@pytest.fixture
def battery(car):
    return Battery.objects.create(
        vehicle=car,
        chemistry="calcium",
        capacity_ah=60,
        volts=12,
        drain_ma=20,
        installed_on=date(2024, 5, 1),
    )


def fleet_of(car):
    return gather([car.pk], today=TODAY).fleet


def test_a_car_of_which_nothing_is_known_arrives_as_unknown_not_as_zero(car):
    fleet = fleet_of(car)
    assert np.isnan(fleet.capacity_ah[0])
    assert fleet.chemistry[0] == conditions.UNKNOWN
    assert np.isnan(fleet.fluid_changed).all()
    assert len(fleet.fuel_events.row) == 0


def test_the_record_arrives_in_the_units_of_the_core(car, battery):
    Fluid.objects.create(vehicle=car, kind="coolant", glycol_pct=45, changed_on=date(2025, 9, 1))
    Tyre.objects.create(vehicle=car, position="front_left", date_code="2318", placard_kpa=180)
    LastUse.objects.create(vehicle=car, event="road_use", on=date(2026, 2, 27), basis="owner")
    fleet = fleet_of(car)
    assert fleet.drain_a[0] == pytest.approx(0.020)
    assert fleet.coolant_share[0] == pytest.approx(0.45)
    assert date.fromordinal(int(fleet.tyre_made[0])) == date(2018, 6, 10)
    assert fleet.last_road_use[0] == date(2026, 2, 27).toordinal()


def test_a_charge_in_the_log_is_a_charge_of_the_core_on_the_sites_day(car, battery, keeper):
    log(car, keeper, "charge", date(2026, 10, 3), "k1", details={"completed": True})
    charges = fleet_of(car).charges
    assert charges.day.tolist() == [date(2026, 10, 3).toordinal()]
    assert charges.completed.tolist() == [True]


def test_a_corrected_entry_no_longer_counts(car, battery, keeper):
    wrong = log(car, keeper, "charge", date(2026, 10, 3), "k1", details={"completed": True})
    log(car, keeper, "withdrawn", date(2026, 10, 3), "k2", corrects=wrong)
    assert len(fleet_of(car).charges.day) == 0


def test_what_was_charged_before_a_battery_was_fitted_says_nothing_of_it(car, battery, keeper):
    log(car, keeper, "charge", date(2024, 4, 1), "k1", details={"completed": True})
    assert len(fleet_of(car).charges.day) == 0


def test_fuel_as_found_then_the_log_carries_on(car, keeper):
    Fuel.objects.create(
        vehicle=car, grade="petrol_e5", litres=20, filled_on=date(2026, 6, 1), as_of=date(2026, 7, 1)
    )
    log(car, keeper, "fuel_added", date(2026, 6, 15), "before", details={"litres": 5})
    log(car, keeper, "fuel_added", date(2026, 8, 15), "after", details={"litres": 10})
    events = fleet_of(car).fuel_events
    assert events.litres.tolist() == [20, 10]


def test_a_stationary_run_up_is_a_run_and_not_a_full_warm_one(car, keeper):
    details = {"minutes": 10, "reached_temperature": False, "driven": False}
    log(car, keeper, "run_up", date(2026, 9, 1), "k1", details=details)
    fleet = fleet_of(car)
    assert fleet.last_engine_run[0] == date(2026, 9, 1).toordinal()
    assert np.isnan(fleet.last_full_warm[0])


def test_every_duty_gets_dates_for_a_car_of_which_almost_nothing_is_known(car):
    refresh.refresh_vehicles([car.pk], today=TODAY)
    rows = {row.duty: row for row in DutyRow.objects.filter(vehicle=car)}
    assert set(rows) == {duty.name for duty in DUTIES}
    assert rows["charge"].due is not None
    assert rows["charge"].assumed


def test_logging_a_charge_moves_its_due_date_at_once(car, battery, keeper):
    log(car, keeper, "charge", date(2026, 6, 3), "k1", details={"completed": True})
    before = DutyRow.objects.get(vehicle=car, duty="charge").due
    log(car, keeper, "charge", date(2026, 11, 20), "k2", details={"completed": True})
    assert DutyRow.objects.get(vehicle=car, duty="charge").due > before


def test_windows_are_in_order(car, battery):
    refresh.refresh_vehicles([car.pk], today=TODAY)
    for row in DutyRow.objects.filter(vehicle=car, due__isnull=False):
        assert row.early <= row.due, row.duty
        assert row.late is None or row.late >= row.due, row.duty


def test_one_bad_record_does_not_stop_the_others(car, neighbour_car):
    Tyre.objects.create(vehicle=car, position="spare", date_code="9999")
    run = refresh.refresh_organisation(car.organisation_id, today=TODAY, trigger="test")
    assert [error["pk"] for error in run.errors] == [str(car.pk)]
    assert run.cars == 2
    assert DutyRow.objects.filter(vehicle=neighbour_car).exists()
    assert not DutyRow.objects.filter(vehicle=car).exists()


def test_reading_makes_yesterdays_dates_fresh(car, manager):
    refresh.refresh_vehicles([car.pk], today=TODAY - timedelta(days=1))
    assert refresh.recompute_stale(access_of(manager), TODAY) == 0
    assert set(DutyRow.objects.values_list("computed_for", flat=True)) == {TODAY}


def test_the_fleet_equals_the_single_car_for_every_duty(car, battery, neighbour_car, barn):
    third = make_car(barn, car.owner, regime="preserved", stored_since=None)
    pks = [car.pk, neighbour_car.pk, third.pk]
    refresh.refresh_vehicles(pks, today=TODAY)
    together = list(DutyRow.objects.order_by("vehicle", "duty").values_list("vehicle", "duty", "due", "late"))
    for pk in pks:
        refresh.refresh_vehicles([pk], today=TODAY)
    alone = list(DutyRow.objects.order_by("vehicle", "duty").values_list("vehicle", "duty", "due", "late"))
    assert alone == together


@pytest.mark.parametrize("duty", [duty.name for duty in DUTIES])
def test_every_duty_can_say_why(car, battery, duty):
    reason = explain(car, duty, today=TODAY)
    assert reason.summary
    assert reason.inputs
    assert reason.sources


def test_curves_lie_between_their_low_and_high(car, battery, keeper):
    log(car, keeper, "charge", date(2026, 10, 3), "k1", details={"completed": True})
    Fuel.objects.create(vehicle=car, grade="petrol_e5", litres=20, filled_on=date(2026, 9, 1))
    days = {"first": date(2026, 10, 3), "last": date(2027, 3, 1), "today": TODAY}
    for drawn in curves(car, ["charge", "fuel_change"], **days):
        band = drawn.band
        known = ~np.isnan(band.likely)
        assert known.any(), band.name
        assert (band.low <= band.likely)[known].all()
        assert (band.likely <= band.high)[known].all()


def test_the_due_list_reads_the_same_number_of_queries_however_many_cars(
    barn, car, manager, django_assert_num_queries
):
    for year in range(1950, 1970):
        make_car(barn, car.owner, year=year)
    refresh.refresh_organisation(barn.pk, today=TODAY, trigger="test")
    access = access_of(manager)
    with django_assert_num_queries(2):
        lines = duties_due(access, today=TODAY)
    assert len(lines) == 21 * len(DUTIES)
    assert lines_of(car, TODAY)


def test_an_older_loss_of_power_does_not_end_the_maintainer_that_is_on_now(car, battery, keeper):
    battery.maintainer_since = date(2026, 9, 1)
    battery.save()
    log(car, keeper, "maintainer", date(2026, 8, 1), "k1", details={"state": "lost_power"})
    assert fleet_of(car).on_maintainer[0]


def test_a_loss_of_power_ends_the_maintainer(car, battery, keeper):
    battery.maintainer_since = date(2026, 9, 1)
    battery.save()
    log(car, keeper, "maintainer", date(2026, 10, 1), "k1", details={"state": "lost_power"})
    fleet = fleet_of(car)
    assert not fleet.on_maintainer[0]
    assert fleet.charges.until.tolist() == [date(2026, 10, 1).toordinal()]
