"""The first page of a history: what a buyer asks is answered there, and is true."""

import gzip
import re
from datetime import timedelta
from html import unescape

import pytest

from collection.care.actions.chain import chain_missing
from collection.history import Scope
from collection.history.known import known_days
from collection.models import Chain, Countersignature
from collection.web.templatetags.longstand import day
from tests.barn import TODAY
from tests.history.test_story import FULL, old_car, story, write
from tests.logbook import NOON

__all__ = ["old_car"]

# what a buyer asks at the door, and what the first page must hold to answer it
ASKED = {
    "Which car is it?": r"1962 Wendlow Twelve",
    "How long has it stood?": r"In storage since .+, [\d,]+ days?\.",
    "How much of that is known, and how?": r"covered by entries made at the time, [\d,]+ by what was told",
    "How often, how far, when last?": r"Driven twice, 41 km in all, last on",
    "What does the odometer say?": r"odometer",
    "In what air?": r"Damp, above \d+ % humidity, in \d+ of \d+ weeks?",
    "In what state is each part of it now?": r"Battery.+Fuel.+Tyres.+Papers",
    "What were the worst lapses?": r"\d+ days, .+ to .+: ",
    "What will it cost next?": r"What will it probably cost next\?",
    "How far can I trust it?": r"The log is a chain of [\d,]+ entries",
}


@pytest.fixture
def driven_car(old_car, keeper):
    for days, far in ((380, 18), (200, 23)):
        details = {"driven": True, "reached_temperature": True, "minutes": 40, "distance_km": far}
        write(old_car, keeper, "run_up", days, details=details)
    write(old_car, keeper, "charge", 390, details=FULL)
    chain_missing()
    return old_car


def first_page(client, car):
    page = client.get(f"/cars/{car.pk}/history/").content.decode()
    shown = page[: page.index('<h2 class="chapters">')]
    return " ".join(re.sub(r"<(style|svg)\b.*?</\1>|<[^>]+>", " ", shown, flags=re.S).split()), page


@pytest.mark.parametrize("question", ASKED)
def test_a_buyers_question_is_answered_on_the_first_page(question, client_as, keeper, driven_car):
    text, _ = first_page(client_as(keeper), driven_car)
    assert re.search(ASKED[question], text, re.I), text


def test_since_when_it_is_witnessed_stands_on_the_first_page(client_as, keeper, driven_car):
    assert "Nobody outside the house has witnessed it" in first_page(client_as(keeper), driven_car)[0]
    at = NOON - timedelta(days=40)
    seen = {"seq": 1, "at": at, "statement": {"as": "owner"}, "signature": "00"}
    Countersignature.objects.create(chain=Chain.objects.get(vehicle=driven_car), **seen)
    text, _ = first_page(client_as(keeper), driven_car)
    assert f"Witnessed from outside since {day(at)}; before that it is the keeper's word." in unescape(text)


def test_the_page_weighs_little(client_as, keeper, driven_car):
    _, page = first_page(client_as(keeper), driven_car)
    assert len(gzip.compress(page.encode())) < 50_000


def a_month(days):
    return [30] * len(days)


def test_every_day_is_known_at_the_time_told_or_not_at_all(old_car, keeper):
    first, last = TODAY - timedelta(days=400), TODAY
    told = known_days([], first=first, last=last, unseen=a_month)
    assert (told.at_the_time, told.told, told.unknown) == (0, 0, 400)
    assert told.unknown_spans == ((first, last),)
    entries = [
        write(old_car, keeper, "inspected", days, details={"ok": True}) for days in (390, 370, 300, 20)
    ]
    known = known_days(entries, first=first, last=last, unseen=a_month)
    assert known.days == 400
    assert known.unknown == 70 + 280  # between the second and the third, the third and the last
    assert known.at_the_time + known.told == 10 + 20 + 20


def test_a_lapse_that_is_named_lasted_as_long_as_it_says(driven_car):
    told = story(driven_car)
    (answer,) = [one for one in told.answers if one.key == "missed"]
    lengths = [int(re.match(r"([\d,]+) day", line)[1].replace(",", "")) for line in answer.more]
    assert lengths == sorted((gap.days(told.last) for gap in told.missed), reverse=True)[:3]


def test_what_withholds_prices_says_so_and_names_no_money(old_car):
    told = story(old_car, scope=Scope(prices=False))
    (answer,) = [one for one in told.answers if one.key == "price"]
    assert answer.text == "Not told by the sender's choice."


def test_a_car_that_came_today_has_a_history_without_a_fault(car):
    car.stored_since = TODAY
    car.save()
    told = story(car)
    assert told.fault == ""
    assert {strip.key for strip in told.years} == {"battery", "fuel", "tyres", "movement", "care"}
