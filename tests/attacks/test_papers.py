"""A character without a letter stops no paper: a hollow square stands for it, and the paper says so."""

import io
from pathlib import Path

import pytest
from django.urls import reverse
from pypdf import PdfReader

from collection.drawing.typeset import ARCHIVAL_AND_TAGGED, LACKING, SHOWN, pdf
from collection.history.actions import make_share
from tests.logbook import NOON, write

TEMPLATE = '#set document(title: "x")\n#set text(font: "Libertinus Serif", lang: "en")\n'
TEMPLATE += "#for each in json(bytes(sys.inputs.facts)).texts [#each \\ *#each* \\ ]\n#sys.inputs.lacking"


def words(data):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


@pytest.fixture
def template(tmp_path) -> Path:
    (tmp_path / "paper.typ").write_text(TEMPLATE)
    return tmp_path / "paper.typ"


def test_every_character_that_we_take_for_shown_is(template):
    texts = [f"x{chr(at)}y" for low, high in SHOWN for at in range(low, high + 1)]
    data = pdf(template, {"texts": [*texts, "漢"]}, standards=ARCHIVAL_AND_TAGGED)
    assert LACKING in words(data)


@pytest.mark.parametrize("odd", ["漢", "😀", "\x07", "\ue000", "한글", "\U00020000"])
def test_what_has_no_letter_is_a_hollow_square(template, odd):
    text = words(pdf(template, {"texts": [f"a{odd}b", "é"]}, standards=ARCHIVAL_AND_TAGGED))
    assert f"a{'□' * len(odd)}b" in text
    assert "é" in text
    assert LACKING in text


def test_a_paper_that_has_all_its_letters_says_nothing_of_it(template):
    assert "□" not in words(pdf(template, {"texts": ["Öldruck ½ → ω"]}, standards=ARCHIVAL_AND_TAGGED))


@pytest.mark.django_db
def test_a_note_in_other_letters_stops_neither_the_owners_paper_nor_a_shared_one(
    client_as, client, keeper, manager, car, settings, tmp_path, time_machine
):
    settings.DATA_DIR = tmp_path
    time_machine.move_to(NOON, tick=False)
    write(car, keeper, "note", 20, note="Plate reads 漢字 on the left.")
    _, token = make_share(
        vehicle=car,
        by=manager,
        now=NOON,
        expires_at=NOON.replace(year=NOON.year + 1),
        scope={"reader": "A buyer"},
    )
    own = client_as(manager).get(reverse("history_pdf", args=[car.pk]))
    shared = client.get(reverse("shared_pdf", args=[token]))
    assert (own.status_code, shared.status_code) == (200, 200)
    assert "reads □□ on the left" in words(own.content)
    assert LACKING in words(own.content)
