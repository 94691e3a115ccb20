"""The search of Help finds what the pages say, and marks it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.help.contents import PAGES
from collection.help.queries.search import search, sections


def where(asked):
    return [(result.section.page.slug, result.section.heading) for result in search(asked)]


@pytest.mark.parametrize(
    ("asked", "slug"),
    [
        ("restore", "backup"),
        ("no signal", "round"),
        ("passkeys", "people"),
        ("LONGSTAND_QUEUE", "settings"),
        ("forgotten password", "people"),
        ("disk full", "trouble"),
        ("invite somebody", "people"),
        ("operators", "people"),
        ("encrypted backup", "backup"),
        ("many people at once", "trouble"),
        ("who asked for keys", "people"),
        ("asked for, late, not known", "history"),
        ("How do I correct an entry?", "logging"),
        ("idempotency-key", "programmes"),
        ("trickle", "words"),
        ("waking", "words"),
        ("hydrogen", "cautions"),
        ("upgrade", "backup"),
    ],
)
def test_a_question_leads_to_its_page(asked, slug):
    assert slug in [hit for hit, _ in where(asked)][:3], where(asked)


def test_words_meet_whatever_their_ending_and_capitals():
    assert where("CHARGES") == where("charging")
    assert ("cautions", "Hydrogen and acid") in where("Battery charger")


def test_a_section_with_all_words_comes_before_any_with_some():
    everywhere = [
        f"{result.section.page.title} {result.section.heading} {result.section.text}".casefold()
        for result in search("chain digest")
    ]
    assert everywhere
    assert all("chain" in text and "digest" in text for text in everywhere)


def test_hits_are_marked_and_nothing_else_is_markup():
    (first, *_) = search("idempotency")
    assert "<mark>Idempotency</mark>" in first.excerpt
    shown = "".join(result.excerpt for result in search("uuidgen"))
    assert "<mark>uuidgen</mark>" in shown
    assert "&quot;" in shown or "&#x27;" in shown
    assert shown.replace("<mark>", "").replace("</mark>", "").count("<") == 0


def test_what_stands_nowhere_is_not_found():
    assert search("zeppelin") == []
    assert search("?") == []
    assert search("   ") == []


def test_every_page_is_searched():
    assert {section.page.slug for section in sections()} == set(PAGES)


def test_the_page_shows_what_was_found_without_running_what_was_asked(client_as, viewer):
    client = client_as(viewer)
    assert "<script>alert" not in client.get("/help/?q=<script>alert(1)</script>").content.decode()
    page = client.get("/help/", {"q": "take a backup"}).content.decode()
    assert '<a href="/help/backup/#take"' in page
    assert "<mark>backup</mark>" in page.casefold()
    assert "No page of Help has these words" in client.get("/help/", {"q": "zeppelin"}).content.decode()


def test_a_question_that_is_too_long_says_so_and_keeps_the_contents(client_as, viewer):
    page = client_as(viewer).get("/help/", {"q": "battery " * 20}).content.decode()
    assert "give 100 letters at most" in page
    assert 'href="/help/backup/"' in page


def test_looking_for_something_asks_no_more_of_the_database_than_the_contents(client_as, viewer):
    client = client_as(viewer)
    client.get("/help/")
    with CaptureQueriesContext(connection) as bare:
        client.get("/help/")
    with CaptureQueriesContext(connection) as asked:
        client.get("/help/?q=battery")
    assert len(asked) == len(bare)
