"""How long people wait when 1, 50 or 200 of them ask in the same moment, as ratios to the sign-in page.

The demo barn of today, served as ``serve`` starts it (as many web processes as this machine gets). Each page
is asked for by one person again and again, then by many at once, some waves of it. Printed, as ratios to the
sign-in page for one person: the middle and the slowest hundredth of the pages that came, and of the refusals
(503 with Retry-After); how many were refused; and how many times its answer to one the slowest page took
(the goal: at most 10). Not collected by pytest:

    uv run python -m tests.bench.bench_people [page …]
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.bench_load import signed_in
from tests.bench.crowd import at_once, request

ALONE = 15  # times that one person asks
WAVES = int(os.environ.get("LONGSTAND_BENCH_WAVES", "5"))
PEOPLE = (50, 200)
GOAL = 10


def say(text):
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def share(times, part):
    """The time that so large a part of them stayed under."""
    return sorted(times)[min(len(times) - 1, int(len(times) * part))]


def alone(port, asked):
    """How long the page takes for one person: the middle of many."""
    times = [answer.seconds for _ in range(ALONE) for answer in at_once(port, [asked])]
    return statistics.median(times[ALONE // 3 :])  # the first meet cold caches


def together(port, asked, people):
    """Seconds of the pages that came, and of the refusals; nothing else may have come."""
    answers = [answer for _ in range(WAVES) for answer in at_once(port, [asked] * people)]
    refused = [answer for answer in answers if answer.status == 503]
    assert all(answer.headers.get("retry-after") for answer in refused), "a 503 without Retry-After"
    strange = {answer.status for answer in answers} - {200, 503}
    assert not strange, f"{asked[:60]!r} gave {strange}"
    came = [answer.seconds for answer in answers if answer.status == 200]
    return came, [answer.seconds for answer in refused]


def measure(port, pages):
    """A line for each page and number of people."""
    one = {name: alone(port, asked) for name, asked in pages.items()}
    reference = one["sign-in"]
    say(f"reference: the sign-in page for one person, {reference * 1000:.1f} ms; ratios to it:")
    heads = (("people", 7), ("p50", 8), ("p99", 8), ("503 p50", 8), ("503 p99", 8), ("refused", 8))
    say(f"{'':10}{''.join(f'{head:>{width}}' for head, width in heads)}   slowest / to one")
    for name, asked in pages.items():
        say(f"{name:10}{1:7}{one[name] / reference:8.1f}")
        for people in PEOPLE:
            came, refused = together(port, asked, people)
            times = [share(each, part) for each in (came, refused or [0.0]) for part in (0.5, 0.99)]
            ratios = "".join(f"{time / reference:8.1f}" for time in times)
            part = len(refused) / (len(came) + len(refused))
            worst = max(came) / one[name]
            kept = "kept" if worst <= GOAL else "not kept"
            say(f"{'':10}{people:7}{ratios}{part:8.0%}   {worst:.1f} (at most {GOAL}: {kept})")


def memory(pid):
    """Resident megabytes of a process and of all that it began, each."""
    from tests.hosts.machines import descendants

    said = [Path(f"/proc/{each}/status").read_text() for each in descendants(pid)]
    return [round(int(text.partition("VmRSS:")[2].split()[0]) / 1024) for text in said]


def pages_of(car, session):
    """What is asked for, by name."""
    cookies = [("sessionid", session)]
    return {
        "sign-in": request("/sign-in/"),
        "due": request("/due/", cookies),
        "car": request(f"/cars/{car}/", cookies),
        "week": request("/week/", cookies),
        "history": request(f"/cars/{car}/history/", cookies),
    }


def main():
    folder = Path(tempfile.mkdtemp(prefix="longstand-bench-people-"))
    os.environ["DJANGO_SETTINGS_MODULE"] = "collection.settings"
    os.environ["LONGSTAND_DATA"] = str(folder)
    os.environ["LONGSTAND_DATABASE"] = f"sqlite:///{folder / 'demo.sqlite3'}"
    import django

    django.setup()
    from django.conf import settings

    from collection.models import Vehicle
    from collection.operations import serving
    from tests.databases import build_demo
    from tests.waiting import wait_for

    say("building the demo barn …")
    build_demo(folder)
    pages = pages_of(Vehicle.objects.first().pk, signed_in("manager@kaldmere.example"))
    asked_for = {"sign-in", *sys.argv[1:]} if sys.argv[1:] else pages.keys()
    port = serving.free_port("127.0.0.1", 8769)
    server = subprocess.Popen(serving.web_command("127.0.0.1", port), cwd=settings.BASE_DIR)  # noqa: S603 - ours
    try:
        assert wait_for(port), "the site did not start"
        say(f"web processes: {settings.WEB_PROCESSES}; cores: {os.cpu_count()}")
        measure(port, {name: asked for name, asked in pages.items() if name in asked_for})
        say(f"memory of the web server's processes afterwards, MB: {memory(server.pid)}")
    finally:
        server.terminate()
        server.wait(30)
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
