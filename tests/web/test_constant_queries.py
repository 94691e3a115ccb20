"""No page asks more of the database for forty cars, or forty entries, than for two."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.care.actions.chain import chain_missing
from collection.life.duties import DUTY_TITLES
from collection.life.refresh import refresh_organisation
from collection.models import Bay, Hand, Membership, OpeningHours, Owner
from tests.barn import TODAY, make_car, make_person
from tests.logbook import write

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
FEW, MANY = 2, 40
LISTS = (
    "/collection/",
    "/timeline/",
    "/histories/",
    "/setup/",
    "/find/?q=wendlow",
    "/due/",
    "/due/?duty=inspection",
    "/due/?horizon=92",
    "/due/?site={site}",
    "/cars/",
    "/week/",
    "/week/?all=1",
    "/worksheet/",
    "/floor-plan/",
    "/calendar/",
    "/places/",
    "/people/",
    "/labels/",
    "/week/from-paper/",
    "/cars/compare/",
    "/system/",
    "/trust/",
    "/handovers/",
    "/me/",
    "/me/reminders/",
    "/limits/",
    "/prices/",
    "/cars/{car}/",
    "/cars/{car}/curves/",
    "/cars/{car}/photographs/",
    "/cars/{car}/history/",
    "/cars/{car}/why/inspection/",
    "/help/",
    "/help/due/",
)
OF_ONE_CAR = (  # the week first: it is planned, which other pages tell of
    "/week/",
    "/cars/{car}/",
    "/cars/{car}/history/",
    "/cars/{car}/history/proof/",
    "/cars/{car}/log/",
    "/cars/{car}/log/inspected/",
    "/cars/{car}/log/moved/",
    "/cars/{car}/why/charge/",
    "/worksheet/cars/{car}/",
    "/cars/{car}/recommission/",
    "/cars/{car}/shares/",
    "/worksheet/",
    "/floor-plan/",
    "/due/",
)
KINDS = (
    ("inspected", {"ok": True, "found": []}),
    ("charge", {"completed": True}),
    ("tag_opened", {"tag": "part_out", "where": "boot"}),
    ("note", {"found": "Flat tyre"}),
)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def site(barn, keeper):
    """The barn's site, with somebody who works at it, so that its weeks are planned."""
    site = barn.sites.get()
    OpeningHours.objects.bulk_create(
        OpeningHours(site=site, weekday=day, opens="08:00", closes="17:00") for day in range(7)
    )
    Hand.objects.create(
        site=site, person=keeper, may=sorted(DUTY_TITLES), wednesday=300, thursday=300, friday=300
    )
    return site


def add_cars(barn, site, by, numbers):
    """Cars of as many owners in as many bays, each with a log; as many members."""
    shed = site.buildings.get()
    for number in numbers:
        owner = Owner.objects.create(organisation=barn, name=f"Owner {number}")
        bay = Bay.objects.create(building=shed, row="Q", place=number + 1)
        add_entries(make_car(barn, owner, bay, model=f"No. {number}"), by, range(len(KINDS)))
        make_person(f"member{number}@hollin.example", barn, "viewer")


def add_entries(car, by, numbers):
    for number in numbers:
        kind, details = KINDS[number % len(KINDS)]
        reading = [{"quantity": "rested_volts", "value": 12.4}] if kind == "charge" else []
        write(car, by, kind, 5 + 9 * number, details=details, note="seen", readings=reading)


def settle(barn):
    """As after a night: chained, computed."""
    chain_missing()
    refresh_organisation(barn.pk, today=TODAY, trigger="a test")


def asked(client, addresses):
    """How many queries each page makes when it is read again; the first looks bring all up to date."""
    counts = {}
    for address in addresses:
        client.get(address)
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            answer = client.get(address)
        assert answer.status_code == 200, address
        counts[address] = len(queries)
    return counts


def grown(few, many):
    """Pages that ask for more; one query more is no growth: what hangs on nothing is not asked for."""
    return {page: (few[page], many[page]) for page in few if many[page] > few[page] + 1}


@pytest.mark.parametrize("role", ["manager", "staff"])
def test_no_page_asks_more_for_forty_cars_than_for_two(barn, site, keeper, client_as, role):
    reader = make_person("reader@hollin.example", barn, role)
    add_cars(barn, site, keeper, range(FEW))
    settle(barn)
    car = barn.vehicles.first()
    manages = ("/people/", "/places/", "/system/", "/trust/", "/handovers/", "/limits/", "/prices/")
    pages = [
        page.format(car=car.pk, site=site.pk) for page in LISTS if role == "manager" or page not in manages
    ]
    client = client_as(reader)
    few = asked(client, pages)
    add_cars(barn, site, keeper, range(FEW, MANY))
    settle(barn)
    many = asked(client, pages)
    assert Membership.objects.filter(organisation=barn).count() > MANY
    assert grown(few, many) == {}


def test_an_owners_pages_ask_no_more_for_forty_cars_than_for_two(barn, site, keeper, owner, client_as):
    theirs = Owner.objects.create(organisation=barn, name="Ada Wren", person=owner)
    shed = site.buildings.get()
    pages, client, counts = (
        ("/collection/", "/due/", "/due/?duty=charge", "/cars/", "/cars/compare/"),
        client_as(owner),
        [],
    )
    for numbers in (range(FEW), range(FEW, MANY)):
        for number in numbers:
            bay = Bay.objects.create(building=shed, row="Q", place=number + 1)
            add_entries(make_car(barn, theirs, bay), keeper, range(2))
        settle(barn)
        counts.append(asked(client, pages))
    assert counts[0] == counts[1]


def test_no_page_of_a_car_asks_more_for_forty_entries_than_for_two(
    barn, site, keeper, manager, car, client_as
):
    pages = [page.format(car=car.pk) for page in OF_ONE_CAR]
    client = client_as(manager)
    add_entries(car, keeper, range(2 * len(KINDS)))
    settle(barn)
    few = asked(client, pages)
    add_entries(car, keeper, range(2 * len(KINDS), 10 * len(KINDS)))
    settle(barn)
    many = asked(client, pages)
    assert grown(few, many) == {}
