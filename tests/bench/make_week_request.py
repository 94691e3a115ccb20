"""Writes the stored request of ``bench_week``: the demo barn's plan as asked for on a fixed day.

Run: python -m tests.bench.make_week_request
"""

import os
import tempfile
from datetime import UTC, datetime

NOW = datetime(2026, 11, 30, 7, 0, tzinfo=UTC)  # a Monday


def _main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"LONGSTAND_DATA": folder, "DJANGO_SETTINGS_MODULE": "collection.settings"}
        import django

        django.setup()
        from django.core.management import call_command

        from collection import demo
        from collection.round.core.facts import facts_of
        from collection.round.core.request import request_of
        from tests.scheduler.week.stored import write

        call_command("migrate", verbosity=0)
        site = demo.build(NOW).sites.get()
        request, _ = request_of(facts_of(site, NOW.date()))
        write(request)


if __name__ == "__main__":
    _main()
