"""Run by the test of fifty at once, in a process of its own, on the database that it names.

python -m tests.care.barn_of_fifty open    a barn with fifty staff; their sign-ins as JSON
python -m tests.care.barn_of_fifty count   the keys of every entry, each as often as it stands
"""

import json
import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "collection.settings")

import django

django.setup()

from django.utils import timezone  # noqa: E402

from collection.models import Entry, Person, Vehicle  # noqa: E402
from collection.operations.installing import prepare  # noqa: E402
from tests.bench import big_barn  # noqa: E402
from tests.bench.bench_load import signed_in  # noqa: E402

CARS = 24  # fewer than staff: they meet at the same cars


def open_barn():
    prepare()
    organisation = big_barn.build(CARS, timezone.localdate(), lambda text: None, sites=1)  # noqa: ARG005
    staff = [big_barn.staff_email(number) for number in range(big_barn.STAFF)]
    return {
        "organisation": organisation.pk,
        "cars": list(Vehicle.objects.values_list("pk", flat=True)),
        "staff": [
            {"person": person.pk, "session": signed_in(person.email)}
            for person in Person.objects.filter(email__in=staff)
        ],
    }


def keys():
    return list(Entry.objects.values_list("idempotency_key", flat=True))


sys.stdout.write(json.dumps({"open": open_barn, "count": keys}[sys.argv[1]]()))
