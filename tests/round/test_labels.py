"""Labels: common sheets, a code on each that opens the worksheet of its car or bay."""

import io

import pytest
import segno
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from collection.round import label_paper as documents
from collection.round.label_paper import BY_KEY, INCH_MM, SHEETS, Label, code_svg, label_sheets
from collection.round.views import labels as view
from tests.barn import make_car

PAPER_MM = {"a4": (210, 297), "us-letter": (8.5 * INCH_MM, 11 * INCH_MM)}
POINT_MM = INCH_MM / 72


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def asked(monkeypatch):
    """What the page asks the typesetter for."""
    seen = {}

    def note(labels, sheet, *, skip):
        seen.update(labels=labels, sheet=sheet, skip=skip)
        return b"%PDF-"

    monkeypatch.setattr(view, "label_sheets", note)
    return seen


def choice(**changed):
    return {"what": "cars", "site": "", "car": "", "sheet": "a4-21", "first": "1"} | changed


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_the_labels_of_a_sheet_fit_on_its_paper(sheet):
    width, height = PAPER_MM[sheet.paper]
    across = sheet.left_mm + sheet.columns * sheet.width_mm + (sheet.columns - 1) * sheet.gap_mm
    assert across + sheet.left_mm == pytest.approx(width, abs=0.6), "the margins left and right are alike"
    down = sheet.top_mm + sheet.rows * sheet.height_mm
    assert down + sheet.top_mm == pytest.approx(height, abs=0.9)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_a_sheet_holds_as_many_as_it_says(sheet):
    made = [
        Label(f"Car {n}", ("KM 1",), f"https://barn.example/worksheet/cars/{n}/") for n in range(sheet.count)
    ]
    full = PdfReader(io.BytesIO(label_sheets(made, sheet)))
    assert len(full.pages) == 1
    size = full.pages[0].mediabox
    assert (float(size.width) * POINT_MM, float(size.height) * POINT_MM) == pytest.approx(
        PAPER_MM[sheet.paper], abs=0.2
    )
    assert f"Car {sheet.count - 1}" in full.pages[0].extract_text()
    more = PdfReader(io.BytesIO(label_sheets(made, sheet, skip=1)))
    assert len(more.pages) == 2


def test_the_code_holds_the_address_whole():
    address = "https://barn.example/worksheet/cars/12/"
    drawn = code_svg(address)
    code = segno.make(address, error="q", micro=False, boost_error=False)
    assert code.error == "Q", "a quarter of the code may be dirty"
    assert f'width="{code.symbol_size(border=4)[0]}mm"' in drawn


def test_a_label_opens_the_tasks_of_its_car(client, asked, car, neighbour_car):
    client.get(reverse("labels"), choice())
    assert {label.title for label in asked["labels"]} == {str(car), str(neighbour_car)}
    address = next(label.address for label in asked["labels"] if label.title == str(car))
    assert address == "http://testserver" + reverse("worksheet_car", args=[car.pk])
    assert client.get(address).status_code == 200


def test_a_bay_label_opens_the_tasks_of_the_car_there(client, asked, car, bays):
    client.get(reverse("labels"), choice(what="bays", first="4"))
    assert [label.title for label in asked["labels"]] == [bay.label for bay in bays]
    assert asked["skip"] == 3
    assert client.get(asked["labels"][0].address).url == reverse("worksheet_car", args=[car.pk])


def test_one_car_alone_may_be_labelled(client, asked, car, neighbour_car):
    client.get(reverse("labels"), choice(car=neighbour_car.pk, sheet="letter-10"))
    assert [label.title for label in asked["labels"]] == [str(neighbour_car)]
    assert asked["sheet"] == BY_KEY["letter-10"]


def test_a_car_that_left_and_a_car_of_others_get_no_label(client, car, foreign_car, barn):
    gone = make_car(barn, car.owner, left_on="2026-01-01", model="Gone")
    for other in (gone, foreign_car):
        answer = client.get(reverse("labels"), choice(car=other.pk))
        assert "not one of the available choices" in answer.content.decode()


@pytest.mark.parametrize("first", ["0", "22", "-1", "x", ""])
def test_a_label_that_is_not_on_the_sheet_is_refused(client, car, first):
    answer = client.get(reverse("labels"), choice(first=first))
    assert answer["Content-Type"].startswith("text/html")
    assert answer.context["form"].errors["first"]


def test_nothing_to_label_is_said(client, barn):
    answer = client.get(reverse("labels"), choice())
    assert "No car stands here yet" in answer.content.decode()


def test_labels_made_on_a_machine_of_ones_own_are_warned_of(client_as, keeper, settings):
    settings.ALLOWED_HOSTS = ["127.0.0.1", "barn.example"]
    client: Client = client_as(keeper)
    warned = "works on this machine only"
    assert warned in client.get(reverse("labels"), headers={"host": "127.0.0.1:8000"}).content.decode()
    assert warned not in client.get(reverse("labels"), headers={"host": "barn.example"}).content.decode()


def test_words_of_a_car_cannot_break_out_of_the_label():
    label = Label('#panic("x") $ @a *b* ]', ("\\", "<x>"), "https://barn.example/")
    text = PdfReader(io.BytesIO(documents.label_sheets([label], BY_KEY["a4-8"]))).pages[0].extract_text()
    assert "#panic" in text
