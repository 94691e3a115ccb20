"""How long it stood, what is likely, what it costs: one answer, on page, paper, in API and comparison."""

import html
import re

import pytest
import time_machine
from django.urls import reverse

from collection.care.actions.record import Edit
from collection.due.actions.prices import save_rates
from collection.history import EVERYTHING, tell
from collection.history.paper import paper
from collection.history.side_by_side import side_by_side
from collection.life.refresh import refresh_vehicles
from collection.models import Evidence
from collection.recommission.core.plan import build_recommissioning
from collection.recommission.queries import recommissioning_record
from scheduler.dating.events import Event
from tests.api.api_kit import programme
from tests.barn import TODAY
from tests.logbook import NOON, ago, write

FULL = {"completed": True}
WARM = {"minutes": 45, "reached_temperature": True, "driven": True, "distance_km": 30}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def with_evidence(car, keeper):
    car.regime, car.stored_since, car.year = "dormant", ago(19), 1958
    car.save()
    Evidence.objects.create(
        vehicle=car,
        kind="statement",
        on=ago(4000),
        until=ago(3800),
        event=Event.ROAD_USE.value,
        by=keeper,
        recorded_at=NOON,
        idempotency_key="found",
    )


def without_evidence(car, keeper):
    car.regime, car.stored_since, car.year = "dormant", ago(6), 1950
    car.save()


def looked_at(car, keeper):
    with_evidence(car, keeper)
    write(car, keeper, "system_seen", 3, details={"system": "exhaust", "seen": "good", "text": "sound"})
    write(car, keeper, "inspected", 2, details={"ok": False, "found": ["oil leak at the gearbox"]})


def in_care(car, keeper):
    car.regime, car.stored_since = "exercised", ago(400)
    car.save()
    write(car, keeper, "run_up", 100, details=WARM)
    write(car, keeper, "inspected", 5, details={"ok": False, "found": ["drip under the axle"]})


def never_driven_here(car, keeper):
    car.regime, car.stored_since = "preserved", ago(700)
    car.save()
    write(car, keeper, "inspected", 5, details={"ok": True})


CARS = (with_evidence, without_evidence, looked_at, in_care, never_driven_here)


@pytest.fixture(params=CARS, ids=[one.__name__ for one in CARS])
def told(request, client_as, keeper, car):
    """The car, a person's browser, a programme."""
    save_rates(organisation=car.organisation, own={"workshop_hour": 77.0}, money="kr", edit=Edit(None, NOON))
    request.param(car, keeper)
    refresh_vehicles([car.pk], today=TODAY)
    return car, client_as(keeper), programme(keeper, "read:cars", "read:log")


def pages(car, client, name):
    return " ".join(html.unescape(client.get(reverse(name, args=[car.pk])).content.decode()).split())


def test_the_standing_time_is_one_sentence_everywhere(told):
    car, client, api = told
    story = tell(car, today=TODAY, units="metric", scope=EVERYTHING)
    sentence = story.condition.stood
    for page in ("recommissioning", "recommission_outlook", "recommission_report"):
        assert sentence in pages(car, client, page), page
    assert sentence in " ".join(client.get(f"/cars/{car.pk}/history/").content.decode().split())
    assert paper(story)["outlook"]["stood"] == sentence
    cells = {row.title: row.cells[0] for section in side_by_side([story]) for row in section.rows}
    assert cells["Last road use"] == sentence
    sent = api.get(f"/cars/{car.pk}/waking").json()
    stood = build_recommissioning(recommissioning_record(car), today=TODAY).stood
    assert (sent["shortest_days"], sent["longest_days"]) == stood.days
    assert ("nobody knows" in sentence.lower()) == (sent["longest_days"] is None)


def test_the_likelihoods_are_the_same_everywhere(told):
    car, client, api = told
    story = tell(car, today=TODAY, units="metric", scope=EVERYTHING)
    words = {one["label"]: one["words"] for one in api.get(f"/cars/{car.pk}/waking").json()["outlook"]}
    shown = client.get(reverse("recommission_outlook", args=[car.pk])).context["answers"]
    assert {one.label: one.words for one in shown} == words
    report = client.get(reverse("recommission_report", args=[car.pk])).context["report"]
    told_so = {label: known.removeprefix("expected: ") for label, _, known in report.systems}
    expected = {label: known for label, known in told_so.items() if known in words.values()}
    assert expected.items() <= words.items()
    assert told_so.keys() == words.keys()
    for line in story.condition.lines:
        unknown = line.unknown.removeprefix("Nobody knows: ").rstrip(".").split(", ") if line.unknown else []
        assert all(words[label.capitalize()] == "nobody knows" for label in unknown)
        assert all(part.words.startswith(words[part.label]) or " to " in part.words for part in line.parts)


def test_the_cost_is_one_sum_in_one_money_everywhere(told):
    car, client, api = told
    story = tell(car, today=TODAY, units="metric", scope=EVERYTHING)
    sent = api.get(f"/cars/{car.pk}/waking").json()["estimate"]
    assert sent["currency"] == "kr"
    assert tuple(sent["money"]) == pytest.approx(story.condition.money)
    total = story.condition.total
    assert total == "nothing now" or total.startswith("kr ")
    assert paper(story)["outlook"]["total"] == total
    cells = {row.title: row.cells[0] for section in side_by_side([story]) for row in section.rows}
    assert cells["All of these together"] == total
    report = client.get(reverse("recommission_report", args=[car.pk])).context["report"]
    if car.regime == "dormant":
        assert report.total == total
        assert total in report.lead
        assert total in pages(car, client, "recommissioning")
    else:
        assert report.total == ""


def test_every_figure_of_the_history_is_the_same_on_page_paper_programme_and_comparison(told, keeper):
    car, client, api = told
    for days in (380, 200, 60):
        write(car, keeper, "charge", days, details=FULL)
    refresh_vehicles([car.pk], today=TODAY)
    answer = client.get(f"/cars/{car.pk}/history/")
    story, page = answer.context["story"], plain(answer).lower()
    printed = paper(story)
    sent = api.get(f"/cars/{car.pk}/history").json()
    cells = {row.title: row.cells[0] for section in side_by_side([story]) for row in section.rows}
    for limit, row, told_ in zip(story.limits, printed["limits"], sent["limits"], strict=True):
        assert (row[1].lower(), told_["said"]) == (limit.said.lower(), limit.said)
        assert limit.said.lower() in page
        assert cells[limit.title].lower() == "; ".join(filter(None, (limit.said, limit.sure))).lower()
    for kept, row, told_ in zip(story.kept, printed["kept"], sent["kept"], strict=True):
        assert row[1:4] == [f"{told_[name]} ×" for name in ("asked", "done", "late")]
        assert told_["words"] == kept.words
        assert kept.words.lower() in page
    assert cells["Asked for and beyond its window"].startswith(
        f"{sum(one['late'] for one in sent['kept'])} of {sum(one['asked'] for one in sent['kept'])} times, "
    )
    for missed, row, told_ in zip(story.missed, printed["missed"], sent["missed"], strict=True):
        assert row[2].lower() == told_["what"].lower() == missed.what.lower()
        assert missed.what.lower() in page
    outlook, condition = printed["outlook"], sent["condition"]
    assert (outlook["stood"], outlook["plan"], outlook["total"]) == (
        condition["stood"],
        condition["plan"],
        condition["total"],
    )
    for line, row, told_ in zip(story.condition.lines, outlook["lines"], condition["lines"], strict=True):
        assert row["cost"] == told_["cost"] == line.cost
        assert cells_of_cost(story)[line.title] == line.cost
        assert line.cost.lower() in page
    for system in story.systems:
        for duty in system.duties:
            assert any(duty.summary == row[4] for row in printed["systems"])
            assert duty.summary.lower() in page


def cells_of_cost(story):
    return {row.title: row.cells[0] for row in side_by_side([story])[-1].rows}


def plain(answer):
    """The page as text, without its marks."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", answer.content.decode())).split())


def test_of_a_car_of_which_nothing_is_known_nobody_knows(client_as, keeper, car):
    without_evidence(car, keeper)
    refresh_vehicles([car.pk], today=TODAY)
    story = tell(car, today=TODAY, units="metric", scope=EVERYTHING)
    assert story.condition.stood == (
        "It has stood at least 6 days since its last road use, and nobody knows how much longer."
    )
    assert "(" not in story.condition.total, "no likely cost of what nobody knows"
    read = pages(car, client_as(keeper), "recommissioning")
    assert "years" not in read.split("What may be done")[0]
