"""How heavy the pages are with 10,000 cars and three years of care, as ratios to an empty page.

One organisation of 10,000 cars at 20 sites, 360,000 entries. The site runs as ``serve`` starts it
(Granian, the same threads), one client asks over HTTP and keeps its connection; every page is asked
for in turn with the empty ones, each time about another car, so that both meet the same machine;
"again" is the same car a second time, when what the models said of it is still kept.
Week, worksheet and yard are of one site of 500 cars, whose plan is stored; entries are logged at others.
Reference is an empty answer to somebody signed in, through all of our middleware. Not collected by
pytest; the filled database is kept in a temporary folder for the next run:

    uv run python -m tests.bench.bench_load [sqlite|postgresql] [cars]
"""

import http.client
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import uuid
from contextlib import contextmanager
from json import dumps
from pathlib import Path
from time import perf_counter, sleep
from urllib.parse import urlencode

ROUNDS, WARM_UP = int(os.environ.get("LONGSTAND_BENCH_ROUNDS", "60")), 3
KEPT = Path(tempfile.gettempdir()) / "longstand-bench-load"
GOALS = {"due": 10, "week": 10, "car": 10, "history": 10, "one entry": 5}


def say(text):
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


class Browser:
    """One signed-in client with one connection."""

    def __init__(self, port, session):
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.cookies = {"sessionid": session}

    def ask(self, method, address, form=None, json=None):
        """Status, headers and body."""
        said = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        headers = {"Cookie": said, "Accept-Encoding": "identity"}
        body = None
        if form is not None:
            body = urlencode(form | {"csrfmiddlewaretoken": self.cookies["csrftoken"]})
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        if json is not None:
            body = dumps(json)
            headers |= {"Content-Type": "application/json", "X-CSRFToken": self.cookies["csrftoken"]}
        self.connection.request(method, address, body, headers)
        answer = self.connection.getresponse()
        body = answer.read()
        for header in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = header.split(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, answer.headers, body

    def get(self, address):
        """Seconds that a page took; it must be there."""
        began = perf_counter()
        status, _, body = self.ask("GET", address)
        took = perf_counter() - began
        assert status == 200, f"{address} gave {status}: {body[:400]!r}"
        return took

    def log(self, car, number):
        """Seconds that one entry took, sent as the form sends it; it must be stored."""
        form = {
            "key": str(uuid.uuid4()),
            "rested_volts": f"{12.2 + number % 50 / 100:.2f}",
            "completed": "on",
        }
        began = perf_counter()
        status, headers, body = self.ask("POST", f"/cars/{car}/log/charge/", form)
        took = perf_counter() - began
        assert status == 302, f"an entry for {car} gave {status}: {re.sub(rb'<[^>]+>', b' ', body)[:2000]!r}"
        assert headers["Location"] == f"/cars/{car}/"
        return took


def prepared(cars):
    """The filled database of an earlier run, brought up to this day; else a new one."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from collection.life.refresh import bring_up_to_date
    from collection.models import Organisation, Vehicle
    from collection.round.actions.plans import plan_now
    from tests.bench import big_barn

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    today = timezone.localdate()
    organisation = Organisation.objects.filter(name=big_barn.NAME).first()
    if organisation is None:
        organisation = big_barn.build(cars, today, say)
    have = Vehicle.objects.count()
    assert have == cars, f"the kept database has {have} cars: delete it, or ask for as many"
    began = perf_counter()
    bring_up_to_date(organisation.pk, today)
    say(f"dates brought up to {today} in {perf_counter() - began:.1f} s")
    began = perf_counter()
    with timezone.override("Europe/London"):
        site = organisation.sites.first()
        plan_now(site=site, today=today, now=timezone.now())  # as the worker does at night
    say(f"a site of {cars // big_barn.SITES} cars planned in {perf_counter() - began:.1f} s")
    return organisation


def signed_in(email):
    """The key of a session of theirs."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    from collection.models import Person

    person = Person.objects.get(email=email)
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.save()
    return session.session_key


@contextmanager
def site(port):
    """The site as ``serve`` starts it, with the empty pages beside it."""
    from django.conf import settings

    from collection.operations import serving
    from tests.waiting import wait_for

    server = subprocess.Popen(serving.web_command("127.0.0.1", port), cwd=settings.BASE_DIR)  # noqa: S603 - ours
    try:
        assert wait_for(port), "the site did not start"
        yield
    finally:
        server.terminate()
        server.wait(30)


def addresses(organisation):
    """What is asked for: name → a function that gives an address, another each time."""
    from collection.models import Site, Vehicle

    site = Site.objects.filter(organisation=organisation).first().pk
    cars = list(Vehicle.objects.filter(organisation=organisation).values_list("pk", flat=True))
    elsewhere = Vehicle.objects.filter(organisation=organisation).exclude(bay__building__site=site)
    chance = random.Random(1904)  # noqa: S311 - which car is looked at
    looked_at = []

    def another():
        looked_at.append(chance.choice(cars))
        return looked_at[-1]

    return (
        chance,
        list(elsewhere.values_list("pk", flat=True)),
        {
            "bare": lambda: "/bench/bare/",
            "empty": lambda: "/bench/empty/",
            "frame": lambda: "/bench/frame/",
            "due": lambda: "/due/",
            "due, page 40": lambda: "/due/?page=40",
            "due, one site": lambda: f"/due/?site={site}",
            "due, one duty": lambda: "/due/?duty=coolant",
            "week": lambda: f"/week/?site={site}",
            "car": lambda: f"/cars/{another()}/",
            "car, again": lambda: f"/cars/{looked_at[-1]}/",
            "history": lambda: f"/cars/{another()}/history/",
            "history, again": lambda: f"/cars/{looked_at[-1]}/history/",
            "cars": lambda: "/cars/",
            "worksheet": lambda: f"/worksheet/?site={site}",
            "floor_plan": lambda: f"/floor-plan/?site={site}",
            "places": lambda: "/places/",
        },
    )


def measure(port, organisation):
    """Seconds of each page, round after round in turn."""
    browser = Browser(port, signed_in("manager@greatfell.example"))
    chance, cars, pages = addresses(organisation)
    browser.ask("GET", f"/cars/{cars[0]}/log/charge/")
    took = {name: [] for name in (*pages, "one entry")}
    slow = {}
    for number in range(WARM_UP + ROUNDS):
        for name, address in pages.items():
            if slow.get(name, 0) < 5.0 or number < 3:  # what takes seconds is not asked for sixty times
                took[name].append(browser.get(address()))
                slow[name] = took[name][-1] if number else 0
        took["one entry"].append(browser.log(chance.choice(cars), number))
    return {name: times[min(WARM_UP, len(times) - 1) :] for name, times in took.items()}


def report(took):
    """A line for each page."""
    empty = statistics.median(took["empty"])
    say(f"reference: an empty answer to somebody signed in, {empty * 1000:.2f} ms")
    say(f"{'':16}{'median ms':>10}{'95 % ms':>10}{'ratio':>8}   goal")
    for name, times in took.items():
        middle, most = statistics.median(times), sorted(times)[int(len(times) * 0.95)]
        goal = f"at most {GOALS[name]}" if name in GOALS else ""
        say(f"{name:16}{middle * 1000:10.2f}{most * 1000:10.2f}{middle / empty:8.1f}   {goal}")


def run(database, cars, port):
    organisation = prepared(cars)
    say(f"{database}, {cars} cars")
    with site(port):
        sleep(1)
        report(measure(port, organisation))


def main():
    words = sys.argv[1:]
    database = "postgresql" if "postgresql" in words else "sqlite"
    cars = next((int(word) for word in words if word.isdecimal()), 10_000)
    port = int(os.environ.get("LONGSTAND_BENCH_PORT", "8769"))
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.load_settings"
    folder = KEPT / f"{database}-{cars}"
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["LONGSTAND_DATA"] = str(folder)
    if database == "sqlite":
        run(database, cars, port)
        return
    from tests.postgresql import kept_server

    with kept_server(folder / "postgresql") as address:
        os.environ["LONGSTAND_DATABASE"] = address
        run(database, cars, port)


if __name__ == "__main__":
    main()
