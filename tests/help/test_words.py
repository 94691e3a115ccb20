"""An unusual word opens its meaning where it stands, and Help lists them all."""

import pytest
from django.template import Context, Template
from django.urls import reverse

from scheduler.vocabulary.words import WORD, WORDS


def test_help_lists_every_word_with_its_meaning(client_as, manager):
    page = client_as(manager).get(reverse("help_page", args=["words"])).content.decode()
    for word in WORDS:
        assert (
            f'<dt id="{word.slug}">{word.title}</dt><dd>{word.meaning.replace(chr(39), "&#x27;")}</dd>'
            in page
        )


def test_each_word_has_one_place_and_one_meaning():
    assert len({word.slug for word in WORDS}) == len(WORDS)
    names = [name.casefold() for word in WORDS for name in (word.title, *word.also.split("|")) if name]
    assert len(names) == len(set(names)) == len(WORD)


def test_a_word_opens_at_its_first_place_on_a_page_only():
    page = Template('{% word "Run-up" %} {% word "run-up" %} {% word other %}').render(
        Context({"other": "Zeppelin & Co"})
    )
    assert page.count("popovertarget") == 1
    assert page.endswith(" run-up Zeppelin &amp; Co")
    assert "A short idle is logged, and is not one." in page


@pytest.mark.parametrize(
    ("name", "args", "slug"),
    [
        ("log_kind", ["run_up"], "run-up"),
        ("why", ["charge"], "maintainer"),
        ("car", [], "kept-running"),
        ("history", [], "condition-outlook"),
        ("car", [], "care-log"),
        ("hand_over", [], "statement"),
    ],
)
def test_pages_of_a_car_open_the_words_on_them(client_as, manager, car, name, args, slug):
    page = client_as(manager).get(reverse(name, args=[car.pk, *args])).content.decode()
    assert page.count(f'popovertarget="word-{slug}"') == page.count(f'id="word-{slug}"') == 1
