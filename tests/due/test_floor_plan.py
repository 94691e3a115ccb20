"""The floor plan: bays drawn where they lie, who stands in whose way, and how a car is got out."""

import pytest
import time_machine
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from collection.drawing.floor import BAY_WIDTH_M, Rect, Spot, in_front, lay_out
from collection.models import Bay, Building, Owner
from tests.barn import make_car
from tests.logbook import NOON, ago, give_duties, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def plan(client_as, manager):
    client = client_as(manager)

    def get(**query):
        response = client.get(reverse("floor_plan"), query)
        assert response.status_code == 200
        return response

    return get


@pytest.fixture
def third_car(barn, bays):
    return make_car(barn, Owner.objects.create(organisation=barn, name="Cai Moss"), bays[2], model="Twenty")


def shapes(response):
    return {
        shape.place.bay.label: shape for hall in response.context["drawing"].halls for shape in hall.shapes
    }


# where bays lie


def test_places_of_a_row_lie_side_by_side_and_what_is_blocked_lies_behind():
    spots = [Spot(n, "A", n) for n in (1, 2)] + [Spot(10 + n, "B", n, (n,)) for n in (1, 2)]
    laid = lay_out(spots)
    assert laid[2].left - laid[1].left == pytest.approx(BAY_WIDTH_M)
    assert laid[11].left == laid[1].left
    assert laid[11].from_door >= laid[1].far


def test_a_row_nose_to_tail_lies_one_behind_another():
    laid = lay_out([Spot(n, "A", n, (n - 1,) if n > 1 else ()) for n in range(1, 5)])
    assert {rect.left for rect in laid.values()} == {0}
    assert sorted(laid, key=lambda key: laid[key].from_door) == [1, 2, 3, 4]


def test_what_is_measured_stays_and_the_rest_is_laid_behind_it():
    measured = Rect(3, 1, 2, 7)
    laid = lay_out([Spot(1, "A", 1, (), measured), Spot(2, "A", 2)])
    assert laid[1] == measured
    assert laid[2].from_door >= measured.far


named = st.tuples(st.sampled_from("ABC"), st.integers(1, 40), st.lists(st.integers(1, 9), max_size=2))


@given(st.lists(named, min_size=1, max_size=12, unique_by=lambda bay: bay[:2]))
def test_no_two_bays_lie_over_each_other_however_they_block(bays):
    spots = [
        Spot(key, row, place, tuple({key - back for back in before if back <= key}))
        for key, (row, place, before) in enumerate(bays)
    ]
    laid = list(lay_out(spots).values())
    assert len(laid) == len(bays)
    assert not any(one.overlaps(other) for at, one in enumerate(laid) for other in laid[at + 1 :])
    assert all(rect.left >= 0 and rect.from_door >= 0 for rect in laid)


def test_the_way_out_leads_through_empty_bays_and_ends_in_a_circle():
    assert in_front([3], {3: (2,), 2: (1,)}) == [1, 2]
    assert in_front([3], {3: (2,), 2: (1,), 1: (3,)}) == [1, 2]


# the drawing


def test_each_bay_is_drawn_with_its_car_its_state_and_what_it_has(plan, car, neighbour_car):
    give_duties(car, charge={"window": (ago(30), ago(10), ago(5))})
    give_duties(neighbour_car)
    response = plan()
    drawn = shapes(response)
    assert (drawn["A1"].word, drawn["A2"].word, drawn["A3"].word) == ("Act now", "Later", "free")
    text = response.content.decode()
    assert 'aria-label="A1: 1962 Wendlow Twelve, Act now"' in text
    assert text.count('<use href="#sign-power" x=') == 2
    assert text.count('<use href="#sign-extraction" x=') == 1


def test_who_stands_in_whose_way_is_an_arrow_and_a_line_of_the_list(plan, car, neighbour_car):
    car.bay.blocked_by.add(neighbour_car.bay)
    for one in (car, neighbour_car):
        give_duties(one)
    response = plan()
    (hall,) = response.context["drawing"].halls
    assert len(hall.arrows) == 1
    text = response.content.decode()
    assert ", behind" in " ".join(text.split())
    assert '<td data-label="In its way">A2 1971 Wendlow Sixteen' in text
    assert '<td data-label="Behind it">A1 1962 Wendlow Twelve' in text


def test_an_arrow_is_drawn_between_cars_only(plan, car, bays):
    car.bay.blocked_by.add(bays[1])
    give_duties(car)
    assert plan().context["drawing"].halls[0].arrows == []


def test_a_name_too_long_for_its_bay_is_squeezed_or_cut_never_over_the_edge(plan, car):
    car.model = "Extraordinarily Long Wheelbase Drophead Coupé, Second Series"
    car.save()
    give_duties(car)
    shape = shapes(plan())["A1"]
    assert shape.lines[-1].text.endswith("…")
    assert all(line.y < shape.height for line in shape.lines)
    assert next(line for line in shape.lines if line.text.startswith("Extraord")).squeezed


# how a car is got out


def test_the_nearest_to_the_door_goes_first_and_comes_back_last(plan, car, neighbour_car, third_car, bays):
    bays[0].blocked_by.add(bays[1])
    bays[1].blocked_by.add(bays[2])
    for one in (car, neighbour_car, third_car):
        give_duties(one)
    moves = plan(out=car.pk).context["moves"]
    assert [place.bay.label for place in moves.first] == ["A3", "A2"]
    assert [place.bay.label for place in moves.back] == ["A2", "A3"]
    assert moves.room == []
    assert [shapes(plan(out=car.pk))[label].turn for label in ("A3", "A2", "A1")] == [1, 2, 3]


def test_an_empty_bay_between_hides_nobody_in_front(plan, car, third_car, bays):
    bays[0].blocked_by.add(bays[1])
    bays[1].blocked_by.add(bays[2])
    give_duties(car)
    give_duties(third_car)
    assert [place.bay.label for place in plan(out=car.pk).context["moves"].first] == ["A3"]


def test_room_to_wait_is_a_free_bay_off_the_way_that_is_reached_freely(plan, car, neighbour_car, bays):
    yard = Building.objects.create(site=bays[0].building.site, name="Yard", shelter="open", walk_order=2)
    open_, shut = (Bay.objects.create(building=yard, row="Y", place=n) for n in (1, 2))
    bays[0].blocked_by.add(bays[1], bays[2])
    for one in (car, neighbour_car):
        give_duties(one)
    shut.blocked_by.add(open_)
    assert [bay.label for bay in plan(out=car.pk).context["moves"].room] == ["Y1", "Y2"]
    make_car(car.organisation, car.owner, open_, model="In front")
    assert plan(out=car.pk).context["moves"].room == []


@pytest.mark.parametrize("why", ["tag", "stands"])
def test_a_car_that_may_not_be_rolled_is_named_before_the_moves(plan, car, neighbour_car, keeper, why):
    car.bay.blocked_by.add(neighbour_car.bay)
    give_duties(car)
    give_duties(neighbour_car)
    if why == "tag":
        write(neighbour_car, keeper, "tag_opened", 1, details={"tag": "danger", "where": "brake line"})
    else:
        neighbour_car.on_stands = True
        neighbour_car.save()
    response = plan(out=car.pk)
    assert [standing.vehicle for standing in response.context["moves"].stuck] == [neighbour_car]
    assert "Stays where it is." in response.content.decode()


@pytest.mark.parametrize("asked", ["999999", "zeppelin", "9" * 40, "-1"])
def test_a_car_that_stands_in_no_bay_here_is_told(plan, car, asked):
    give_duties(car)
    assert "stands in no bay of Hollin" in plan(out=asked).content.decode()


def test_a_car_of_another_organisation_is_not_got_out(plan, car, foreign_car):
    give_duties(car)
    assert plan(out=foreign_car.pk).context["moves"] is None


# arranging


@pytest.fixture
def arrange(client_as, manager, bays):
    client, url = client_as(manager), reverse("arrange", args=[bays[0].building_id])

    def send(*places, **more):
        """(from the left, from the door, width, depth) of each bay."""
        names = ("from_left_m", "from_door_m", "width_m", "depth_m")
        sent = {
            f"{bay.pk}-{name}": value
            for bay, values in zip(bays, places, strict=False)
            for name, value in zip(names, values, strict=True)
        }
        return client.post(url, sent | more)

    return send


SIDE_BY_SIDE = [(0, 0, 2.5, 5), (3, 0, 2.5, 5), (6, 1.5, "2,5", 5)]


def test_bays_lie_where_somebody_put_them_and_the_plan_draws_them_there(arrange, plan, car, bays):
    give_duties(car)
    assert arrange(*SIDE_BY_SIDE[:2], (6, 1.5, 2.5, 5)).status_code == 302
    bays[2].refresh_from_db()
    assert (bays[2].from_left_m, bays[2].from_door_m, bays[2].width_m, bays[2].depth_m) == (6, 1.5, 2.5, 5)
    drawn = shapes(plan())
    assert drawn["A3"].y < drawn["A1"].y  # farther from the door, which is below
    assert drawn["A1"].width / drawn["A1"].height == pytest.approx(2.5 / 5)


def test_drawn_by_row_and_place_again(arrange, bays):
    arrange(*SIDE_BY_SIDE[:2], (6, 1.5, 2.5, 5))
    assert arrange(again="1").status_code == 302
    assert not Bay.objects.filter(from_left_m__isnull=False).exists()


@pytest.mark.parametrize(
    ("third", "words"),
    [
        ((2, 0, 2.5, 5), "lies over"),
        ((-1, 0, 2.5, 5), "out of range"),
        ((9, 0, 0.2, 5), "out of range"),
        ((9, 0, 2.5, "nan"), "number"),
        ((9, 0, "", 5), "required"),
    ],
)
def test_a_bay_that_cannot_lie_there_is_named_and_nothing_is_written(arrange, third, words):
    response = arrange(*SIDE_BY_SIDE[:2], third)
    assert response.status_code == 200
    assert words in response.content.decode()
    assert not Bay.objects.filter(from_left_m__isnull=False).exists()


def test_a_bay_added_later_is_drawn_beside_those_arranged(arrange, plan, car, bays):
    give_duties(car)
    arrange(*SIDE_BY_SIDE[:2], (6, 1.5, 2.5, 5))
    Bay.objects.create(building=bays[0].building, row="B", place=1)
    assert set(shapes(plan())) == {"A1", "A2", "A3", "B1"}
