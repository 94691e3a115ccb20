"""What a test asks of Django on the machines' database: run as a process beside them, JSON in and out."""

import json
import os
import sys


def build(sizes):
    """Organisations of so many cars, the first with dates of yesterday; who keeps each, signed in."""
    from datetime import timedelta

    from django.test import Client
    from django.utils import timezone

    from collection.life.refresh import refresh_organisation
    from tests.hosts.fleet import make_organisation

    today, keepers = timezone.localdate(), []
    for number, cars in enumerate(sizes):
        barn = make_organisation(f"Barn {number}", cars, today=today)
        if number == 0:
            refresh_organisation(barn.pk, today=today - timedelta(days=1), trigger="yesterday")
        client, keeper = Client(), barn.memberships.get().person
        client.force_login(keeper)
        keepers.append(
            {
                "pk": keeper.pk,
                "organisation": barn.pk,
                "session": client.cookies["sessionid"].value,
                "cars": list(barn.vehicles.order_by("pk").values_list("pk", flat=True)),
            }
        )
    return keepers


def begin():
    """Queue tonight's run of every organisation, as two nightly jobs at once would."""
    from collection import tasks

    tasks.nightly()
    tasks.nightly()


def compare():
    """How the stored dates differ from those of one process that computes everything afresh."""
    from django.utils import timezone

    from collection.life.refresh import refresh_organisation
    from collection.models import DutyRow, Organisation
    from tests.hosts.fleet import dates

    found = dates()
    DutyRow.objects.all().delete()
    for barn in Organisation.objects.all():
        refresh_organisation(barn.pk, today=timezone.localdate(), trigger="compare")
    right = dates()
    return {"rows": len(right), "wrong": len(found - right), "missing": len(right - found)}


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "collection.settings"
    import django

    django.setup()
    from django.test import override_settings

    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        answer = globals()[sys.argv[1]](*(json.loads(argument) for argument in sys.argv[2:]))
    sys.stdout.write(f"\n{json.dumps(answer)}\n")
