"""Six entries lead everywhere: each page is two clicks from the first, for each role."""

import re
from html.parser import HTMLParser

import pytest
from django.urls import resolve, reverse
from django.urls.exceptions import Resolver404

from collection.life.refresh import refresh_organisation
from collection.navigation.tasks import ORDER, SETUP, TASKS, needed
from collection.permissions import OPERATE, OWN, Access
from tests.barn import TODAY, make_operator
from tests.people.test_permissions import ADDRESSES, MAY, PUBLIC
from tests.people.test_permissions import WRITE_ONLY as SENT

CLICKS = 2
# the form that stands on every page; files, steps inside one's own sign-in, and what is read by programmes
NO_PAGES = {"find", "my_data", "worksheet_paper", "openapi"} | {
    name for name in ADDRESSES if name.endswith("_as")
}
STEPS = {name for name in ADDRESSES if name.startswith(("mfa_", "account_")) and name != "mfa_index"}
ONCE = {"start", "kind_rule_new"}  # asked for while nothing is written down; begun on the list of own rules
OF_A_CAR = ("car", "history", "log", "recommissioning", "car_loggers")


class Links(HTMLParser):
    """The addresses to which a page leads."""

    def __init__(self, html):
        super().__init__()
        self.found = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        if tag == "a" and (address := dict(attrs).get("href", "")).startswith("/"):
            self.found.append(address.split("#")[0])


def name_of(address):
    try:
        return resolve(address.split("?")[0]).url_name
    except Resolver404:
        return None


def reached(client, clicks):
    """The names of the addresses that so many clicks from the first page lead to."""
    seen, edge = {}, ["/collection/"]
    names = {"collection"}
    for _ in range(clicks):
        onward = []
        for address in edge:
            if address in seen or re.search(r"/as/|/pdf/|/data/|/paper/", address):
                continue
            seen[address] = client.get(address, follow=True)
            onward += Links(seen[address].content.decode()).found
        names |= {name_of(address) for address in onward}
        # one address of each name is enough to go on from
        first = {}
        for address in onward:
            first.setdefault(name_of(address), address)
        edge = list(first.values())
    return names


def may_open(role, name):
    return ADDRESSES[name][0] in MAY[role]


@pytest.mark.parametrize("role", ["manager", "keeper", "owner", "viewer"])
def test_every_page_is_two_clicks_from_the_first(request, client_as, barn, car, role):
    person = request.getfixturevalue(role)
    refresh_organisation(barn.pk, today=TODAY, trigger="a test")
    kind = {"keeper": "staff"}.get(role, role)
    alone = {name for name, (_, row) in ADDRESSES.items() if not row and name != "help_page"}
    wanted = {
        name
        for name in (alone | set(OF_A_CAR)) - NO_PAGES - STEPS - SENT - PUBLIC - ONCE
        if ADDRESSES[name][0] != OPERATE and may_open(kind, name)
    }
    assert len(wanted) > 10
    assert wanted - reached(client_as(person), CLICKS) == set()


def test_whoever_runs_the_installation_reaches_it_in_two_clicks(client_as, barn, car):
    person = make_operator("runs@hollin.example", barn, "viewer")
    assert {"operators", "organisations", "sign_ins"} <= reached(client_as(person), CLICKS)


@pytest.mark.parametrize(
    ("role", "entries"),
    [
        ("manager", list(ORDER)),
        ("keeper", list(ORDER)),
        ("owner", ["Collection", "History", "Setup", "Help"]),
        ("viewer", ["Collection", "History", "Setup", "Help"]),
    ],
)
def test_each_role_has_its_entries_and_nobody_more_than_six(request, client_as, barn, role, entries):
    html = client_as(request.getfixturevalue(role)).get("/setup/").content.decode()
    nav = html.split('<nav class="tasks"')[1].split("</nav>")[0]
    assert re.findall(r">(\w+)</a>", nav) == entries
    assert len(entries) <= 6


@pytest.mark.parametrize(
    ("address", "entry"),
    [
        ("/collection/", "Collection"),
        ("/due/", "Collection"),
        ("/worksheet/", "Round"),
        ("/week/from-paper/", "Round"),
        ("/week/", "Plan"),
        ("/floor-plan/", "Plan"),
        ("/cars/compare/", "History"),
        ("/places/", "Setup"),
        ("/me/", "Setup"),
        ("/help/due/", "Help"),
    ],
)
def test_the_entry_of_the_page_at_hand_is_marked(client_as, manager, barn, address, entry):
    html = client_as(manager).get(address).content.decode()
    nav = html.split('<nav class="tasks"')[1].split("</nav>")[0]
    assert re.findall(r'aria-current="\w+">(\w+)</a>', nav) == [entry]


def test_a_cars_history_belongs_to_history_and_its_page_to_the_collection(client_as, manager, car):
    for name, entry in (("history", "History"), ("car", "Collection")):
        nav = client_as(manager).get(reverse(name, args=[car.pk])).content.decode()
        nav = nav.split('<nav class="tasks"')[1].split("</nav>")[0]
        assert re.findall(r'aria-current="\w+">(\w+)</a>', nav) == [entry]


def test_setup_lists_only_what_its_reader_may_open(client_as, manager, keeper, owner, viewer, barn):
    for person, role in ((manager, "manager"), (keeper, "staff"), (owner, "owner"), (viewer, "viewer")):
        client = client_as(person)
        listed = client.get("/setup/").content.decode().split("<main")[1].split("</main>")[0]
        links = Links(listed).found
        access = Access(person, barn, role)
        may = {
            link.name
            for group in SETUP
            for link in group.links
            if needed(link.name) == OWN or (needed(link.name) != OPERATE and access.may(needed(link.name)))
        }
        if role != "manager":  # who runs the installation sees it, and every manager its health
            assert {name_of(link) for link in links} == may
        assert {client.get(link).status_code for link in links} == {200}


def test_every_page_that_is_listed_says_what_it_is_for():
    assert all(link.about for group in SETUP for link in group.links)
    assert {task.title for task in TASKS} == set(ORDER)
