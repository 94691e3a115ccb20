"""With nothing written down each main page leads on by one act; a form leads back to where it was opened."""

import re

import pytest
from django.urls import reverse

from collection.models import Organisation, Owner
from collection.navigation.tasks import TASKS
from tests.barn import make_person

# of paper there is none without a plan; the others say what they say with and without cars
NOT_EMPTY = {"from_paper", "worksheet_scan", "trust", "help", "setup"}
MAIN = [link.name for task in TASKS for link in task.pages if link.name not in NOT_EMPTY]
EMPTY = re.compile(r'<div class="empty.*?</div>', re.S)


@pytest.fixture
def bare(db):
    organisation = Organisation.objects.create(name="Ferrow Garage")
    roles = ("manager", "viewer")
    return {role: make_person(f"{role}@ferrow.example", organisation, role) for role in roles}


@pytest.mark.parametrize("name", MAIN)
def test_an_empty_page_has_one_next_act(client_as, bare, name):
    page = client_as(bare["manager"]).get(reverse(name)).content.decode()
    [empty] = EMPTY.findall(page)
    [link] = re.findall(r'href="([^"]+)"', empty)
    assert client_as(bare["manager"]).get(link, follow=True).status_code == 200
    assert link in (reverse("start"), reverse("cars")), "the way to the first car"


def test_who_may_not_start_is_told_what_to_wait_for(client_as, bare):
    page = client_as(bare["viewer"]).get(reverse("collection")).content.decode()
    [empty] = EMPTY.findall(page)
    assert "href" not in empty
    assert "once the barn has written them" in empty


def test_the_owner_that_a_new_car_wants_leads_back_to_the_car(client_as, bare):
    client = client_as(bare["manager"])
    page = client.get(reverse("car_new")).content.decode()
    [link] = re.findall(rf'href="({reverse("owner_new")}[^"]*)"', page)
    answer = client.post(link.replace("&amp;", "&"), {"name": "Ada Wren"})
    assert answer.url == reverse("car_new")
    assert Owner.objects.get().name == "Ada Wren"


@pytest.mark.parametrize(
    "wanted", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"]
)
def test_nobody_is_led_to_another_site(client_as, bare, wanted):
    client = client_as(bare["manager"])
    answer = client.post(f"{reverse('owner_new')}?next={wanted}", {"name": "Ada Wren"})
    assert answer.url == reverse("people")


def test_a_part_of_a_record_leads_back_to_the_list_by_way_of_the_parts_between(client_as, manager, car):
    client, back = client_as(manager), reverse("cars")
    page = client.get(back).content.decode()
    [link] = re.findall(rf'href="({reverse("car_edit", args=[car.pk, "battery"])}[^"]*)"', page)
    answer = client.post(link, {"capacity_ah": "60", "and_next": "1"})
    assert answer.url == f"{reverse('car_edit', args=[car.pk, 'fuel'])}?next=%2Fcars%2F"
    assert client.post(answer.url, {}).url == back
