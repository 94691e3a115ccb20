"""What the models said is kept, and never told once anything that it depends on has changed."""

import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
import time_machine

from collection.history import EVERYTHING, Scope, tell
from collection.life.core import memoised as memory
from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.refresh import refresh_vehicles
from collection.models import Building, ClimateMonth, Rate, Threshold
from tests.logbook import NOON, TODAY, write

ADDRESSES = ("/cars/{}/", "/cars/{}/history/", "/cars/{}/why/charge/")


def forget_all():
    memory._KEPT.clear()


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    forget_all()
    with time_machine.travel(NOON, tick=False):
        yield
    forget_all()


@pytest.fixture
def known_car(car, keeper):
    """One with a battery, fuel and tyres, cared for and measured."""
    car.batteries.create(chemistry="flooded_antimony", capacity_ah=60, volts=12)
    car.tyres.create(position="front_left", placard_kpa=220, date_code="1022")
    write(car, keeper, "charge", 120, details={"completed": True})
    volts = {"quantity": "rested_volts", "value": 12.6, "temperature_c": 12, "rest_hours": 24}
    write(car, keeper, "inspected", 40, details={"ok": True}, readings=[volts])
    return car


def pages(client, car):
    """The three pages that tell what was worked out, without the token of their forms."""
    answers = [client.get(address.format(car.pk)) for address in ADDRESSES]
    assert [answer.status_code for answer in answers] == [200] * 3
    token = r'name="csrfmiddlewaretoken" value="[^"]+"'
    return [re.sub(token, "", answer.content.decode()) for answer in answers]


def changes_at_once(client, car, change, which=(0, 1, 2)):
    """After a change the pages differ from before, and say what they say with an empty memory."""
    before = pages(client, car)
    change()
    after = pages(client, car)
    forget_all()
    assert after == pages(client, car)
    for page in which:
        assert after[page] != before[page], ADDRESSES[page]
    return before, after


def test_a_page_that_is_read_again_works_nothing_out_and_says_the_same(client_as, keeper, known_car):
    client = client_as(keeper)
    first = pages(client, known_car)
    kept = list(memory._KEPT)
    assert len(kept) > 5
    assert pages(client, known_car) == first
    assert sorted(map(id, memory._KEPT)) == sorted(map(id, kept))


def test_a_logged_entry_is_told_at_once(client_as, keeper, known_car):
    client = client_as(keeper)

    def log():
        form = {"key": "a-key-of-its-own", "rested_volts": "12.1", "completed": "on"}
        assert client.post(f"/cars/{known_car.pk}/log/charge/", form).status_code == 302
        client.get("/due/")  # takes the message away that the next page would show

    changes_at_once(client, known_car, log)


def test_a_withdrawn_entry_counts_no_more_at_once(client_as, keeper, known_car):
    wrong = write(known_car, keeper, "charge", 5, details={"completed": True})
    changes_at_once(
        client_as(keeper), known_car, lambda: write(known_car, keeper, "withdrawn", 4, corrects=wrong)
    )


def test_a_corrected_record_is_told_at_once(client_as, keeper, known_car):
    def correct():
        known_car.batteries.update(capacity_ah=20, drain_ma=80)

    changes_at_once(client_as(keeper), known_car, correct, which=(0, 2))


def test_a_changed_threshold_is_told_at_once(client_as, keeper, known_car):
    def change():
        Threshold.objects.create(organisation=known_car.organisation, name="recharge_soc", value=0.9)

    changes_at_once(client_as(keeper), known_car, change)


@pytest.mark.parametrize("table", ["climate", "building"])
def test_another_air_is_told_at_once(client_as, keeper, known_car, table):
    def warm():
        if table == "climate":
            for month in ClimateMonth.objects.all():
                month.mean_c, month.min_c, month.max_c = (
                    month.mean_c + 15,
                    month.min_c + 15,
                    month.max_c + 15,
                )
                month.save()
        else:
            Building.objects.update(heated_to_c=22)

    changes_at_once(client_as(keeper), known_car, warm)


def test_another_place_with_the_same_name_is_another_air(known_car):
    fleet = gather([known_car.pk], today=TODAY).fleet
    twin = replace(fleet, places=(replace(fleet.places[0], mean_c=fleet.places[0].mean_c + 5.0),))
    assert memoised(_mean, fleet) + 5.0 == pytest.approx(memoised(_mean, twin))


def _mean(fleet):
    return float(fleet.places[0].mean_c.mean())


def test_own_rates_are_told_at_once(client_as, keeper, known_car):
    def dearer():
        Rate.objects.create(organisation=known_car.organisation, name="hour", value=999)

    changes_at_once(client_as(keeper), known_car, dearer, which=(1,))


def test_another_day_is_another_answer(client_as, keeper, known_car):
    client = client_as(keeper)
    before = pages(client, known_car)
    with time_machine.travel(NOON + timedelta(days=20), tick=False):
        after = pages(client, known_car)
        forget_all()
        assert after == pages(client, known_car)
    assert all(new != old for new, old in zip(after, before, strict=True))


def test_each_reader_has_their_own_units(client_as, keeper, known_car):
    client = client_as(keeper)

    def change():
        keeper.units = "american"
        keeper.save()

    before, after = changes_at_once(client, known_car, change, which=(1,))
    assert "°C" in before[1]
    assert "°F" in after[1]


def test_each_role_is_told_what_it_may_see_whoever_read_before(
    client_as, manager, keeper, viewer, owner, known_car
):
    people = (manager, keeper, viewer, owner)
    alone = {}
    for person in people:
        forget_all()
        alone[person] = pages(client_as(person), known_car)
    forget_all()
    for person in (*people, *reversed(people)):
        assert pages(client_as(person), known_car) == alone[person]
    assert len({page[0] for page in alone.values()}) > 1


def test_what_a_scope_withholds_is_withheld_whoever_read_before(keeper, known_car):
    refresh_vehicles([known_car.pk], today=TODAY)
    narrow = Scope(owner=False, place=False, prices=False, hidden=("Ada Wren", "Wren", "Hollin"))
    short = Scope(first=TODAY - timedelta(days=60), last=TODAY - timedelta(days=10))
    scopes = (EVERYTHING, narrow, short)

    def content(scope):
        story = tell(known_car, today=TODAY, units="metric", scope=scope)
        return repr(replace(story, vehicle=None))

    alone = []
    for scope in scopes:
        forget_all()
        alone.append(content(scope))
    forget_all()
    for scope, expected in (*zip(scopes, alone, strict=True), *zip(scopes[::-1], alone[::-1], strict=True)):
        assert content(scope) == expected
    assert "Ada Wren" in alone[0]
    assert "Wren" not in alone[1].split("scope=")[0] + alone[1].split("today=")[1]
    assert "Hollin" not in alone[1].split("today=")[1]


def test_every_array_of_a_car_makes_another_question(known_car):
    fleet = gather([known_car.pk], today=TODAY).fleet
    fleet = replace(fleet, places=fleet.places * 2)  # room for another place
    asked = {memory._facts(fleet)}
    changed = 0
    for table in (None, "readings", "charges"):
        rows = fleet if table is None else getattr(fleet, table)
        for name, column in vars(rows).items():
            if not isinstance(column, np.ndarray):
                continue
            other = ~column if column.dtype == bool else column + 1
            other = np.where(np.isnan(column), 7.0, other) if column.dtype == float else other
            one = replace(rows, **{name: other})
            asked.add(memory._facts(one if table is None else _with(fleet, table, one)))
            changed += 1
    assert len(asked) == changed + 1


def _with(fleet, table, rows):
    return replace(fleet, **{table: rows})


def test_the_memory_is_bounded_and_the_longest_unread_goes_first(known_car, monkeypatch):
    monkeypatch.setattr(memory, "MOST", 3)
    fleet, asked = gather([known_car.pk], today=TODAY).fleet, []

    def work(fleet, number):
        asked.append(number)
        return number

    for number in (1, 2, 3, 1, 4, 1, 2):
        assert memoised(work, fleet, number) == number
    assert asked == [1, 2, 3, 4, 2]
    assert len(memory._KEPT) == 3


def test_a_fault_is_not_kept(known_car):
    fleet, tries = gather([known_car.pk], today=TODAY).fleet, []

    def work(fleet):
        tries.append(1)
        raise ValueError("unreadable")

    for _ in range(2):
        with pytest.raises(ValueError, match="unreadable"):
            memoised(work, fleet)
    assert len(tries) == 2
