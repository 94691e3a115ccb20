"""Whatever is sent to whichever address: never a 500, never half a record, and what is taken can be read.

LONGSTAND_FUZZ sets about how many requests are sent, every address is asked at least once each way:

    LONGSTAND_FUZZ=20000 uv run pytest -s tests/faults/test_fuzz.py

A new address and its forms are found by themselves. One that takes JSON needs a right body in
``Site.json``, one with a secret in its address a place in ``Site.known``; a table that any request may
write to stands in ``PASSING``.
"""

import itertools
import logging
import math
import os
import re
import time
import traceback
import uuid
from collections import Counter
from contextlib import contextmanager
from datetime import timedelta

import pytest
from django.apps import apps
from django.core.cache import cache
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as how
from hypothesis import strategies as st

from collection.care.actions.chain import chain_missing
from collection.care.queries.attachments import bytes_of
from collection.chain.verify import verify
from collection.history.actions import make_share
from collection.models import Entry, Vehicle
from collection.people.actions.invitations import invite
from collection.proof.actions import export_history, sign_statement
from tests.faults import nasty, walk

REQUESTS = int(os.environ.get("LONGSTAND_FUZZ", "300"))
BODIES = REQUESTS * 3 // 5  # the rest are questions
FORM = 6  # times as many bodies go where there is something to fill in
# computed, counted or kept for a while: may change with any request
PASSING = {
    "dutyrow",
    "carsummary",
    "duechange",
    "delivery",
    "forecastrun",
    "runpart",
    "siteplan",
    "assignment",
    "unplaced",
    "shareopening",
    "privateshowing",
    "sheetimport",
}
WRITES = re.compile(
    r"^\s*(?:INSERT INTO|UPDATE|DELETE FROM|REPLACE INTO)\s+\"?collection_(\w+)", re.IGNORECASE
)
SLOW = {
    "whatif": 3,
    "worksheet_paper": 3,
    "labels": 3,
    "history_pdf": 3,
    "recommission_report_pdf": 3,
}  # times fewer
EACH_TIME = 2  # of these pages are read after something was taken, in turn
LOOKED_AT = (
    "due",
    "cars",
    "car",
    "week",
    "history",
    "worksheet",
    "worksheet_car",
    "places",
    "people",
    "recommissioning",
    "recommission_plan",
    "calendar",
    "floor_plan",
    "proof",
    "compare",
    "log",
)


@pytest.fixture(autouse=True)
def _silence():
    logging.disable(logging.CRITICAL)  # thousands of refusals are no news
    yield
    logging.disable(logging.NOTSET)


@pytest.fixture
def site(rows, manager, keeper, barn, car):
    """Addresses by name with what is known to be asked there, and a signed-in visitor."""
    chain_missing()
    sign_statement(organisation=barn, now=timezone.now())
    cache.clear()
    return Site(rows, manager, barn, car)


def _invited(manager, barn):
    sent = {"email": "wim@new.example", "role": "viewer", "sites": (), "by": manager, "now": timezone.now()}
    return invite(organisation=barn, **sent)[1]


class Site:
    def __init__(self, rows, manager, barn, car):
        self.rows, self.car = rows["own"], car
        self.looks = itertools.cycle(LOOKED_AT)
        self.told = Counter()  # (status, whether something was stored) → how often
        self.cookies = _signed_in(manager)
        share, token = make_share(
            vehicle=car,
            by=manager,
            now=timezone.now(),
            expires_at=timezone.now() + timedelta(days=30),
            scope={"reader": "A buyer"},
        )
        self.known = {
            "shared": [f"/shared/{token}/"],
            "shared_pdf": [f"/shared/{token}/pdf/"],
            "shared_file": [f"/shared/{token}/file/"],
            "share_end": [f"/cars/{car.pk}/shares/{share.pk}/end/"],
            "invitation": [f"/invitation/{_invited(manager, barn)}/"],
        }
        sent = {
            "sent_at": timezone.now().isoformat(),
            "person": manager.pk,
            "organisation": barn.pk,
            "entries": [
                {
                    "key": str(uuid.uuid4()),
                    "car": car.pk,
                    "kind": kind,
                    "duty": "",
                    "units": "metric",
                    "fields": fields,
                    "done_at": timezone.now().isoformat(),
                    "seen": timezone.now().isoformat(),
                    "finding": finding,
                }
                for kind, fields, finding in (
                    ("charge", {"completed": ["on"], "rested_volts": ["12.31"]}, None),
                    ("found", {"found": ["Damage"], "words": ["mirror"]}, None),
                    ("seen_to", {"words": ["glued"]}, str(self.rows["finding"].pk)),
                    ("tyre_pressures", {"tyre_pressure_front_left": ["210"]}, None),
                )
            ],
        }
        self.json = {"worksheet_entries": sent}
        self.before = contents(RECORDED)
        self.unsound = set(_faults(Vehicle.objects.all()))
        self.asked = sorted(walk.asked_names() | {"q", "sort"})
        self.addresses = [
            (name, route, url)
            for name, route in walk.patterns()
            for url in walk.urls_of(name, route, self.rows, self.known)
        ]

    def visitor(self):
        client = Client(raise_request_exception=False)
        client.cookies.load(self.cookies)
        return client

    def form(self, url):
        """The fields that the page at an address posts to it."""
        answer = self.visitor().get(url)
        if answer.streaming:  # a file to be saved, which is closed once it is read
            b"".join(answer.streaming_content)
            return {}
        if answer.status_code != 200 or "html" not in answer.headers["Content-Type"]:
            return {}
        forms, _ = walk.forms_of(answer.content.decode())
        return {
            name: field
            for action, form in forms.items()
            if action in ("", url)
            for name, field in form.items()
        }


def _signed_in(person):
    client = Client()
    client.force_login(person)
    session = client.session
    session["account_authentication_methods"] = [
        {"method": "password", "at": time.time(), "email": person.email}
    ]
    session.save()
    return {name: cookie.value for name, cookie in client.cookies.items()}


@contextmanager
def undone():
    """Whatever happens inside has not happened afterwards."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    cache.clear()


class Writes:
    """Notes which of our tables were written to."""

    def __init__(self):
        self.tables = set()

    def __call__(self, execute, sql, params, many, context):
        if found := WRITES.match(sql):
            self.tables.add(found[1])
        return execute(sql, params, many, context)


def contents(tables):
    """Every row of these tables, for comparing."""
    models = {model._meta.model_name: model for model in apps.get_app_config("collection").get_models()}
    return {name: sorted(map(repr, models[name].objects.values_list())) for name in tables if name in models}


RECORDED = [
    m._meta.model_name
    for m in apps.get_app_config("collection").get_models()
    if m._meta.model_name not in PASSING
]


def send(site, url, method, content_type, body, headers=()):
    """One request; what is wrong about its answer and its traces, in words."""
    wrote = Writes()
    with connection.execute_wrapper(wrote):
        answer = site.visitor().generic(
            method, url, body, content_type=content_type or "application/octet-stream"
        )
    said = b"".join(answer.streaming_content) if answer.streaming else answer.content
    if answer.status_code >= 500:
        return [f"{method} {url} answered {answer.status_code}: {_error(answer)}"]
    if not wrote.tables - PASSING:
        site.told[answer.status_code, False] += 1
        return []
    changed = [name for name, kept in contents(RECORDED).items() if kept != site.before[name]]
    site.told[answer.status_code, bool(changed)] += 1
    if changed and _refused(answer, said):
        return [f"{method} {url} refused with {answer.status_code}, yet changed {changed}"]
    return [*_unsound(site, changed), *_unreadable(site)] if changed else []


def _refused(answer, said):
    if answer.status_code >= 400:
        return True
    forms = (
        [value for layer in answer.context or () for value in layer.dicts for value in value.values()]
        if answer.context
        else []
    )
    return answer.status_code == 200 and any(
        getattr(form, "is_bound", False) and form.errors for form in forms
    )


def _error(answer):
    info = getattr(answer, "exc_info", None)
    if not info:
        return answer.content[:300]
    frames = [
        f"{f.filename.rpartition('/')[2]}:{f.lineno}"
        for f in traceback.extract_tb(info[2])
        if "collection" in f.filename or "allauth" in f.filename
    ]
    return f"{info[0].__name__}: {str(info[1])[:200]} at {frames[-4:]}"


def _faults(cars):
    return [
        f"{car}: {fault.text}"
        for car in cars
        for fault in verify(export_history(car, now=timezone.now())).faults
    ]


def _unsound(site, changed):
    """After an entry was taken: each chain still proves itself, each file is there."""
    if "link" not in changed:
        return []
    newest = Entry.objects.order_by("-recorded_at").select_related("vehicle")[:3]
    cars = {entry.vehicle for entry in newest}
    faults = [fault for fault in _faults(cars) if fault not in site.unsound]
    return faults + [f"{a} has no bytes" for e in newest for a in e.attachments.all() if bytes_of(a) is None]


def _unreadable(site):
    """Pages that cannot be read any more now that this was taken."""
    visitor, car = site.visitor(), site.car.pk
    broken = []
    for name in itertools.islice(site.looks, EACH_TIME):
        takes_car = name in (
            "car",
            "history",
            "worksheet_car",
            "recommissioning",
            "recommission_plan",
            "proof",
            "log",
        )
        answer = visitor.get(reverse(name, args=[car] if takes_car else []))
        if answer.status_code >= 500:
            broken.append(f"then {name} answered {answer.status_code}: {_error(answer)}")
    return broken


def run(examples, number, strategy, check):
    """Draw so many examples, always the same; the first that fails, made small."""

    @seed(number)
    @how(
        max_examples=max(1, examples),
        deadline=None,
        database=None,
        phases=(Phase.generate,),
        derandomize=False,
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def each(drawn):
        with undone():
            faults = check(drawn)
        assert not faults, (faults, drawn)

    try:
        each()
    except AssertionError as error:
        return str(error).partition("\nassert not")[0][:1500]
    except BaseExceptionGroup as group:
        return "; ".join(str(error)[:900] for error in group.exceptions[:3])
    return ""


def shared_out(total, weights):
    """How many of all requests each address gets by its weight, at least one."""
    return [max(1, math.ceil(total * weight / sum(weights))) for weight in weights]


def test_no_body_breaks_an_address_or_leaves_half_a_record(site):
    broken, sent = [], 0
    forms = [site.form(url) for _, _, url in site.addresses]
    shares = shared_out(
        BODIES,
        [
            (FORM if form or name in site.json else 1) / SLOW.get(name, 1)
            for form, (name, _, _) in zip(forms, site.addresses, strict=True)
        ],
    )
    for number, (name, _route, url) in enumerate(site.addresses):
        form, examples = forms[number], shares[number]
        strategy = st.tuples(
            st.sampled_from(("POST",) * 9 + ("PUT", "PATCH", "DELETE")),
            nasty.bodies(form, site.json.get(name)),
        )
        sent += examples
        fault = run(examples, number, strategy, lambda drawn, url=url: send(site, url, drawn[0], *drawn[1]))
        if fault:
            broken.append(f"{name}: {fault}")
    print(f"{sent} bodies to {len(site.addresses)} addresses: {dict(site.told)}")  # noqa: T201 - shown with -s
    assert not broken, f"{len(broken)}\n" + "\n\n".join(broken)
    assert sent >= BODIES


def test_no_question_breaks_a_page(site):
    values = st.lists(st.tuples(st.sampled_from(site.asked), nasty.words), min_size=1, max_size=4)
    broken, sent = [], 0
    shares = shared_out(REQUESTS - BODIES, [1 / SLOW.get(name, 1) for name, _, _ in site.addresses])
    for number, (name, route, url) in enumerate(site.addresses):
        examples = shares[number]
        asked = values.map(lambda pairs, url=url: f"{url}?{_query(pairs)}")
        count = walk.count_of(route)
        if count:
            args = st.lists(nasty.words, min_size=count, max_size=count)
            asked = st.one_of(asked, args.map(lambda args, route=route: walk.twisted(route, args)))
        sent += examples
        fault = run(examples, number, asked, lambda url: send(site, url, "GET", "", b""))
        if fault:
            broken.append(f"{name}: {fault}")
    print(f"{sent} questions to {len(site.addresses)} addresses: {dict(site.told)}")  # noqa: T201 - shown with -s
    assert not broken, f"{len(broken)}\n" + "\n\n".join(broken)


def _query(pairs):
    return nasty.urlencoded(pairs).decode()
