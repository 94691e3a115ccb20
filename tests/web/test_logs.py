"""What is logged: one line a request and a job, with who and what, never a token, a name or a row."""

import json
import logging
import subprocess
import sys
import urllib.error
import urllib.request

import pytest
from django.conf import settings as installed
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse
from django_q.tasks import async_task

from collection.operations.serving import web_command
from collection.web.logs import jobs
from collection.web.logs.lines import HidesAddresses, JsonLine, TextLine, current, facts
from collection.web.logs.paths import shown_path
from tests.operations.installations import Place
from tests.operations.test_commands import PASSWORD, running


@pytest.fixture
def lines():
    """Every line that is logged, as JSON makes it."""

    class Keep(logging.Handler):
        lines: list = []  # noqa: RUF012

        def emit(self, record):
            HidesAddresses().filter(record)
            self.lines.append(json.loads(JsonLine().format(record)))

    keep, root = Keep(), logging.getLogger()
    keep.lines = []
    before = root.level
    root.addHandler(keep)
    root.setLevel(logging.INFO)
    yield keep.lines
    root.removeHandler(keep)
    root.setLevel(before)


def requests_in(lines):
    return [line for line in lines if line["event"] == "request"]


def test_a_request_is_one_line_with_who_where_what_came_of_it_and_how_long(
    client_as, manager, barn, car, lines
):
    answer = client_as(manager).get(reverse("car", args=[car.pk]), {"q": "secret words"})
    (line,) = requests_in(lines)
    assert line.pop("ms") >= 0
    assert line.pop("time").endswith("+00:00")
    assert line == {
        "level": "INFO",
        "logger": "longstand.access",
        "event": "request",
        "id": answer["X-Request-ID"],
        "organisation": barn.pk,
        "person": manager.pk,
        "method": "GET",
        "path": f"/cars/{car.pk}/",
        "status": 200,
    }


def test_a_visitor_without_a_sign_in_has_no_person(db, lines):
    Client().get("/due/")
    (line,) = requests_in(lines)
    assert (line["status"], "person" in line, "organisation" in line) == (302, False, False)


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("/shared/t0k3n-of-somebody/", "/shared/…/"),
        ("/shared/t0k3n-of-somebody/pdf/", "/shared/…/pdf/"),
        ("/calendar/t0k3n-of-somebody.ics", "/calendar/….ics"),
        ("/nowhere/t0k3n-of-somebody/", "/nowhere…"),
        ("/t0k3n-of-somebody-without-a-place", "/t0k3n-of-som…"),
    ],
)
def test_no_token_is_ever_logged(db, lines, path, shown):
    Client().get(path, {"token": "t0k3n-of-somebody"})
    (line,) = requests_in(lines)
    assert line["path"] == shown
    assert "t0k3n-of-somebody" not in json.dumps(lines)


def test_no_token_of_a_new_password_is_logged(db, lines):
    Client().get(reverse("account_reset_password_from_key", args=["3", "abc-t0k3n"]))
    assert lines
    assert "t0k3n" not in json.dumps(lines)


def test_every_address_with_a_part_of_any_text_hides_it():
    """Parts that are told are numbers, UUIDs and our own short words; whatever else is typed stays hidden."""
    from django.test import RequestFactory
    from django.urls import get_resolver

    for pattern in get_resolver().url_patterns:
        route = str(pattern.pattern)
        if "<str:" in route:
            request = RequestFactory().get("/")
            request.resolver_match = type("Match", (), {"route": route, "kwargs": {"token": "t0k3n"}})()
            assert "t0k3n" not in shown_path(request)


def test_an_identifier_that_the_proxy_gave_is_kept_and_a_strange_one_is_not(db, lines):
    assert Client().get("/sign-in/", headers={"X-Request-ID": "proxy-0001"})["X-Request-ID"] == "proxy-0001"
    for strange in ("short", 'x"}\n{"level":"forged', "a" * 65):
        assert Client().get("/sign-in/", headers={"X-Request-ID": strange})["X-Request-ID"] != strange
    assert requests_in(lines)[0]["id"] == "proxy-0001"
    assert current.get() == ""


def test_an_error_is_told_with_where_it_happened_and_without_the_row_that_the_database_quotes(
    client_as, manager, lines, monkeypatch
):
    name = " ".join(["Ada", "Wren"])  # so that no line of this file, which a trace shows, holds it
    quoted = f"duplicate key\nDETAIL:  Key (name)=({name}) already exists."

    def fails(*_args, **_kwargs):
        raise IntegrityError(quoted)

    monkeypatch.setattr("collection.operations.views.runs.pulse.last_heartbeat", fails)
    client = client_as(manager)
    client.raise_request_exception = False
    assert client.get("/system/").status_code == 500
    error = next(line for line in lines if line["logger"] == "django.request")
    assert error["error"].splitlines()[-1] == "django.db.utils.IntegrityError: duplicate key"
    assert "views/runs.py" in error["error"]
    assert "Ada Wren" not in json.dumps(lines)
    assert requests_in(lines)[0]["level"] == "WARNING"
    assert requests_in(lines)[0]["id"] == error["id"]


def test_text_for_people_has_the_same_fields_on_one_line():
    record = logging.makeLogRecord(
        {"msg": "request", "levelname": "INFO", "name": "longstand.access", "created": 0, **facts(status=200)}
    )
    assert TextLine().format(record) == "1970-01-01 00:00:00 INFO longstand.access: request status=200"


def test_a_failed_job_that_its_worker_quotes_is_told_without_the_row():
    message = "Failed 'x' - duplicate key\nDETAIL:  Key (name)=(Ada Wren) already exists.\n : Traceback"
    record = logging.makeLogRecord({"msg": message, "levelname": "ERROR", "name": "django-q", "created": 0})
    for form in (JsonLine(), TextLine()):
        assert "Ada Wren" not in form.format(record)
        assert "Traceback" in form.format(record)


def test_a_job_is_one_line_with_its_name_and_how_it_went(db, lines):
    jobs.listen()
    async_task("collection.tasks.nightly", sync=True)
    async_task("collection.tasks.heartbeat", sync=True)
    with pytest.raises(TypeError):
        async_task("collection.tasks.plan_site", sync=True)
    current.set("")
    ended = [(line["job"], line["success"], line["level"]) for line in lines if line["event"] == "job"]
    assert ended[0] == ("collection.tasks.nightly", True, "INFO")
    assert ("collection.tasks.heartbeat", True, "INFO") not in ended
    assert all(line["id"] for line in lines if line["event"] == "job")


def test_production_speaks_json_and_tells_the_web_server_so(settings):
    assert "--log-config" not in web_command("127.0.0.1", 8000)
    settings.LOG_FORMAT = "json"
    command = web_command("127.0.0.1", 8000)
    file = command[command.index("--log-config") + 1]
    read = f"{{'version': 1, **json.load(open({file!r}))}}"
    words = f"import json, logging.config; logging.config.dictConfig({read})"
    done = subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, "-c", f"{words}; logging.getLogger('_granian').info('Listening')"],
        capture_output=True,
        text=True,
        check=True,
        cwd=installed.BASE_DIR,
    )
    assert json.loads(done.stderr)["event"] == "Listening"


def test_a_served_site_writes_lines_of_json_for_requests_and_for_jobs(tmp_path, monkeypatch):
    first = {
        "LONGSTAND_FIRST_ORGANISATION": "Hollin Barn",
        "LONGSTAND_FIRST_MANAGER_NAME": "Ada Wren",
        "LONGSTAND_FIRST_MANAGER_EMAIL": "ada@hollin.example",
        "LONGSTAND_FIRST_MANAGER_PASSWORD": PASSWORD,
        "LONGSTAND_LOG": "INFO",
        "LONGSTAND_LOG_FORMAT": "json",
    }
    with running(tmp_path, "serve", **first) as port:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/health/", timeout=20) as answer:
            assert answer.read() == b"ok\n"
            assert answer.headers["X-Request-ID"]
        with pytest.raises(urllib.error.HTTPError):
            urllib.request.urlopen(f"http://127.0.0.1:{port}/shared/t0k3n/", timeout=20)
        place = Place(tmp_path)
        assert place.folder.exists()
    lines = [line for line in (tmp_path / "log").read_text().splitlines() if line.startswith("{")]
    records = [json.loads(line) for line in lines]
    assert [line["path"] for line in records if line["event"] == "request"] == ["/shared/…/"]
    assert "t0k3n" not in (tmp_path / "log").read_text()
