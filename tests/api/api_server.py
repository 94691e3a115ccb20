"""A small barn behind the API in a process of its own: ``python -m tests.api.api_server PORT``.

Prints one line of JSON, the token and the keys of one row of each kind, then serves until it is stopped.
The data folder is that of LONGSTAND_DATA, which must be empty.
"""

import json
import os
import sys
from datetime import UTC, date, datetime

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "collection.settings")
NOON = datetime(2026, 11, 1, 12, tzinfo=UTC)


def seed():
    """One of everything; the token may do all that a manager may."""
    from collection.care.actions.attachments import attach
    from collection.care.actions.care import log_entry
    from collection.care.actions.findings import log_finding
    from collection.care.attachments import Attached
    from collection.models import Bay, Evidence, Fluid, Fuel, Owner, Tyre
    from collection.notices.actions.webhooks import make_webhook, send_test
    from collection.proof.actions import sign_statement
    from tests.api.api_kit import token_for
    from tests.barn import make_barn, make_car, make_person

    barn = make_barn("Hollin Barn")
    person = make_person("manager@hollin.example", barn, "manager")
    person.memberships.get().sites.set(barn.sites.all())
    bays = list(Bay.objects.all())
    ada = Owner.objects.create(organisation=barn, name="Ada Wren", contact="0555 1234")
    car = make_car(barn, ada, bays[0])
    make_car(barn, ada, bays[1], model="Sixteen", regime="dormant")
    Fuel.objects.create(vehicle=car, grade="petrol_e5", litres=30, filled_on=date(2026, 8, 1))
    Fluid.objects.create(vehicle=car, kind="coolant", glycol_pct=40)
    Tyre.objects.create(vehicle=car, position="front_left", placard_kpa=220)
    Evidence.objects.create(
        vehicle=car,
        kind="receipt",
        on=date(2020, 5, 1),
        by=person,
        recorded_at=NOON,
        idempotency_key="find-1",
    )
    note = log_entry(
        vehicle=car, kind="note", done_at=NOON, by=person, idempotency_key="first-one", now=NOON, note="Seen."
    ).entry
    attach(note, [Attached("Tyre.jpg", "image/jpeg", b"a photograph")])
    finding = log_finding(
        vehicle=car,
        found="Petrol leak",
        words="under the tank",
        danger=True,
        done_at=NOON,
        by=person,
        idempotency_key="found-one",
        now=NOON,
    ).entry
    hook = make_webhook(
        organisation=barn, name="Listener", address="https://listener.example/", by=person, now=NOON
    )
    delivery = send_test(webhook=hook, now=NOON)
    statement = sign_statement(organisation=barn, now=NOON)
    return {
        "token": token_for(person)[1],
        "keys": {
            "car_id": car.pk,
            "site_id": barn.sites.get().pk,
            "statement_id": statement.pk,
            "file_id": str(note.attachments.get().pk),
            "webhook_id": str(hook.pk),
            "delivery_id": delivery.pk,
            "entry_id": str(finding.pk),
        },
    }


def main():
    """Make the database, fill it, say what is in it, serve."""
    django.setup()
    from django.core.management import call_command
    from django.core.servers.basehttp import get_internal_wsgi_application, run

    from collection.api.actions import tokens as api_tokens

    api_tokens.MOST_A_MINUTE = 10**9  # here the limit itself is not what is looked at
    call_command("migrate", verbosity=0)
    call_command("createcachetable", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)  # for whoever strays onto a page
    from collection.api.site import schema

    schema()  # made once, before anybody waits for it
    print(json.dumps(seed()), flush=True)  # noqa: T201 - read by whoever started it
    run("127.0.0.1", int(sys.argv[1]), get_internal_wsgi_application(), threading=True)


if __name__ == "__main__":
    main()
