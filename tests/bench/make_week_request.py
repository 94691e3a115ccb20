"""Writes the stored request of ``bench_week``: the demo barn's plan as asked for on a fixed day.

Run: python -m tests.bench.make_week_request
"""

import os
import tempfile
from datetime import UTC, datetime, timedelta

NOW = datetime(2026, 11, 30, 7, 0, tzinfo=UTC)  # a Monday


def _main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"LONGSTAND_DATA": folder, "DJANGO_SETTINGS_MODULE": "collection.settings"}
        import django  # noqa: PLC0415 - the settings must be chosen first

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        from collection import demo  # noqa: PLC0415
        from collection.round.core.facts import facts_of  # noqa: PLC0415
        from collection.round.core.request import request_of  # noqa: PLC0415
        from tests.scheduler.week.stored import write  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        site = demo.build(NOW).sites.get()
        request, _ = request_of(facts_of(site, NOW.date()))
        write(request)


if __name__ == "__main__":
    _main()
