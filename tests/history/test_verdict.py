"""The first page of a history: what a buyer asks is answered there, and is true."""

import gzip
import re
from datetime import timedelta
from html import unescape
from io import BytesIO

import pytest
import time_machine
from pypdf import PdfReader

from collection.care.actions.chain import chain_missing
from collection.drawing.days import format_day
from collection.history import Scope
from collection.history.known import known_days
from collection.history.side_by_side import side_by_side
from collection.history.story import NOT_WORKED_OUT
from collection.models import Chain, Countersignature, Evidence
from tests.barn import TODAY
from tests.history.test_story import FULL, old_car, story, write
from tests.logbook import NOON

__all__ = ["old_car"]

# what a buyer asks at the door, and what the first page must hold to answer it
ASKED = {
    "Which car is it?": r"1962 Wendlow Twelve Chassis number WT-1962-7",
    "May I see it?": r"No photograph to show\.",
    "How long has it stood?": r"In storage since 21 Oct 2025, 400 days\. It has stood 7 months since",
    "How much of that is known, and how?": r"Of 400 days, [\d,]+ are covered by entries made at the time, "
    r"[\d,]+ by what was told later; [\d,]+ are unknown\.",
    "How often, how far, when last?": r"Driven twice, 41 km in all, last on \d+ \w+ \d{4}\.",
    "What does the odometer say?": r"Odometer 41,200 km on .+ \d{4} to 41,241 km on .+ \d{4}\.",
    "In what air?": r"Damp \(above \d+ %\) in \d+ of 57 weeks; humidity \d+ to \d+ %\.",
    "In what state is each part of it now?": r"Battery .+ since \d.+Fuel .+Running .+Tyres .+Papers",
    "What care was done, what was missed?": r"Care came 3 times\. A duty fell due .+: \d+ met .+, \d+ late",
    "What were the three worst lapses?": r"Worst:( \d+ days: [^:]+, \d+ \w+ \d{4} to [^:]+){3}",
    "What will it cost next, and what would one look settle?": r"What will it probably cost next\? "
    r"Likely [\d,]+ \([\d,]+ to [\d,]+\)\. One look settles most: ",
    "How far can I trust it?": r"Nobody outside the house has witnessed it: it is the keeper's word\. "
    r"0 of 3 entries were made at the time with a reading or photograph\. Chain of \d+ entries",
}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def driven_car(old_car, keeper):
    for days, far in ((380, 18), (200, 23)):
        details = {"driven": True, "reached_temperature": True, "minutes": 40, "distance_km": far}
        write(old_car, keeper, "run_up", days, details=details)
    write(old_car, keeper, "charge", 390, details=FULL)
    for days, km in ((390, 41_200.0), (200, 41_241.0)):
        Evidence.objects.create(
            vehicle=old_car,
            kind="odometer_now",
            on=TODAY - timedelta(days=days),
            odometer_km=km,
            by=keeper,
            recorded_at=NOON,
            idempotency_key=f"odometer-{days}",
        )
    old_car.chassis_number = "WT-1962-7"
    old_car.save()
    chain_missing()
    return old_car


def first_page(client, car):
    page = client.get(f"/cars/{car.pk}/history/").content.decode()
    shown = page[: page.index('<h2 class="chapters">')]
    return " ".join(re.sub(r"<(style|svg)\b.*?</\1>|<[^>]+>", " ", shown, flags=re.S).split()), page


def test_a_buyers_questions_are_answered_on_the_first_page(client_as, keeper, driven_car):
    text, page = first_page(client_as(keeper), driven_car)
    text = unescape(text)
    assert [question for question, answer in ASKED.items() if not re.search(answer, text)] == [], text
    assert len(gzip.compress(page.encode())) < 50_000


def test_since_when_it_is_witnessed_stands_on_the_first_page(client_as, keeper, driven_car):
    assert "Nobody outside the house has witnessed it" in first_page(client_as(keeper), driven_car)[0]
    at = NOON - timedelta(days=40)
    seen = {"seq": 1, "at": at, "statement": {"as": "owner"}, "signature": "00"}
    Countersignature.objects.create(chain=Chain.objects.get(vehicle=driven_car), **seen)
    text, _ = first_page(client_as(keeper), driven_car)
    assert (
        f"Witnessed from outside since {format_day(at.date())}; before that it is the keeper's word."
        in unescape(text)
    )


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
    begun = [gap.days(told.last) for gap in told.missed if not gap.unbegun]
    assert lengths == sorted(begun, reverse=True)[:3]


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


def answer_of(told, key):
    return next(one for one in told.answers if one.key == key)


def test_a_silence_before_the_first_entry_is_unknown_and_no_lapse(old_car, keeper):
    write(old_car, keeper, "inspected", 100, details={"ok": True})
    lapses = answer_of(story(old_car), "missed")
    assert not any("400 days" in line or "300 days: no entry" in line for line in lapses.more)
    assert "300 are unknown" not in lapses.text
    assert f"Counted from {format_day(TODAY - timedelta(days=99))}." in lapses.text


def test_of_a_car_without_an_entry_nothing_is_counted(old_car):
    answer = answer_of(story(old_car), "missed")
    assert answer.text == "No care is on record. Nothing is counted before the first entry. No lapse shows."


def test_care_that_was_written_down_late_is_told_on_its_day(old_car, keeper):
    write(old_car, keeper, "charge", 390, details=FULL)
    write(old_car, keeper, "charge", 100, details=FULL, recorded_after_days=10)
    (line,) = [one for one in answer_of(story(old_car), "missed").more if "charge" in one and "late" in one]
    done, written = (format_day(TODAY - timedelta(days=days)) for days in (100, 90))
    assert line.endswith(f"to {written} (done {done}, written down late)")


def test_what_ended_is_told_as_over(old_car):
    old_car.left_on = TODAY - timedelta(days=100)
    old_car.save()
    told = story(old_car)
    assert answer_of(told, "stood").text.endswith(f"to {format_day(old_car.left_on)}, 300 days.")
    assert answer_of(told, "price").text == f"Not told: this history ends on {format_day(old_car.left_on)}."
    assert told.state_lines == [answer_of(told, "price").text]


def test_a_record_that_allows_no_dates_says_so_and_not_that_the_history_is_over(old_car, keeper, monkeypatch):
    def refuses(*_, **__):
        raise ValueError("battery: 12.6 V cannot be")

    monkeypatch.setattr("collection.history.build.past_of", refuses)
    told = story(old_car)
    assert told.fault
    assert {answer_of(told, key).text for key in ("air", "missed", "price")} == {NOT_WORKED_OUT}


def test_page_one_of_the_paper_says_what_the_first_page_says(client_as, keeper, driven_car):
    told = client_as(keeper).get(f"/cars/{driven_car.pk}/history/").context["story"]
    paper = client_as(keeper).get(f"/cars/{driven_car.pk}/history/pdf/").content
    set_ = "".join(PdfReader(BytesIO(paper)).pages[0].extract_text().split())
    lines = [told.identity, "No photograph to show."]
    lines += [line for one in told.answers for line in (one.question, one.text, *one.more)]
    lines += [words for strip in told.years for words in (strip.title, strip.sentence)]
    lines += [cell.part.title for cell in told.cells]
    assert [line for line in lines if "".join(line.split()) not in set_] == []


def test_beside_every_count_of_a_comparison_stands_for_how_long_it_is_known(driven_car):
    told = story(driven_car)
    rows = {row.title: row.cells[0] for section in side_by_side([told]) for row in section.rows}
    counts = (
        "Places",
        "Entries in the log",
        "With a reading or photo, made at the time",
        "Care that was done",
        "Asked for and beyond its window",
        "Times without any entry",
        *(limit.title for limit in told.limits if limit.key in ("recharge", "sulphation", "runs")),
    )
    for title in counts:
        assert re.search(r"known for [\d,]+ days?.*, unknown for [\d,]+", rows[title], re.I), (
            title,
            rows[title],
        )
    known = told.known
    assert f"known for {known.days - known.unknown:,} days, unknown for {known.unknown:,}" in rows["Places"]
