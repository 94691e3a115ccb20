"""The two commands that run the site: what they prepare, refuse, watch over and stop."""

import io
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.request
from contextlib import contextmanager

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from collection.host.installation_key import installation_key
from collection.models import Climate, Membership, Person, Role, SharedKey
from collection.operations import serving
from collection.operations.actions.installation import open_installation
from tests.hosts.machines import wait_until
from tests.operations.test_settings import manage
from tests.postgresql import unused_port
from tests.waiting import wait_for

PYTHON = [sys.executable, "-c"]
PASSWORD = "standing-since-1904"


@pytest.fixture
def no_children(monkeypatch, settings, tmp_path):
    """Serve without starting processes: what was asked of the supervisor is kept instead."""
    asked = []
    monkeypatch.setattr(
        serving.Supervisor, "run", lambda self, _started, _address=None: asked.append(self.commands)
    )
    settings.STATIC_ROOT = tmp_path / "static"
    return asked


@pytest.fixture
def first_manager(monkeypatch):
    facts = {
        "LONGSTAND_FIRST_ORGANISATION": "Hollin Barn",
        "LONGSTAND_FIRST_MANAGER_NAME": "Ada Wren",
        "LONGSTAND_FIRST_MANAGER_EMAIL": "Ada@Hollin.example",
        "LONGSTAND_FIRST_MANAGER_PASSWORD": PASSWORD,
    }
    for name, value in facts.items():
        monkeypatch.setenv(name, value)
    return facts


@pytest.fixture
def taken():
    with socket.create_server(("127.0.0.1", 0)) as listener:
        yield listener.getsockname()[1]


def test_first_start_opens_the_installation_from_the_environment(db, no_children, first_manager):
    call_command("serve", port=unused_port())
    membership = Membership.objects.get()
    assert (membership.person.email, membership.role) == ("ada@hollin.example", Role.MANAGER)
    assert membership.organisation.name == "Hollin Barn"
    assert membership.person.check_password(PASSWORD)
    assert no_children, "it did not go on to serve"


def test_first_start_brings_the_generic_climates_with_twelve_months_each(db, no_children, first_manager):
    call_command("serve", port=unused_port())
    generic = Climate.objects.filter(organisation=None)
    assert generic.exists()
    assert {climate.months.count() for climate in generic} == {12}


@pytest.mark.parametrize(
    ("only", "children"),
    [("web", ["web server"]), ("worker", ["background worker"]), (None, ["web server", "background worker"])],
)
def test_a_machine_serves_pages_or_does_jobs_or_both(db, no_children, first_manager, only, children):
    call_command("serve", port=unused_port(), only=only)
    assert [list(asked) for asked in no_children] == [children]
    assert Person.objects.exists() == (only != "worker"), "a worker asks nobody for the first manager"


def test_a_worker_alone_needs_no_port(db, no_children, taken):
    call_command("serve", port=taken, only="worker")
    assert no_children


def stop_after_births(births):
    """Tell the supervisor to stop once a worker was started twice, however slow the machine is."""

    def stop():
        try:
            wait_until(lambda: births.exists() and births.read_text().count("born") >= 2, 120, "two births")
        finally:
            os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=stop, daemon=True).start()


def test_a_worker_alone_that_dies_is_started_again(tmp_path):
    births = tmp_path / "births"
    worker = [*PYTHON, f"open({str(births)!r}, 'a').write('born ')"]
    supervisor = serving.Supervisor(None, worker, lambda _text: None)
    stop_after_births(births)
    supervisor.run(lambda: None)
    assert births.read_text().count("born") >= 2


@pytest.fixture
def prepared(db, no_children, first_manager):
    call_command("serve", port=unused_port())
    return dict(SharedKey.objects.values_list("name", "fingerprint"))


def test_a_machine_with_another_secret_is_refused_and_told_what_to_copy(prepared, settings):
    settings.SECRET_KEY = "of another machine" * 5
    with pytest.raises(
        CommandError, match="secret is not that of the installation: set LONGSTAND_SECRET_KEY"
    ):
        call_command("serve", port=unused_port())
    call_command("serve", port=unused_port(), keys_changed=True)
    assert dict(SharedKey.objects.values_list("name", "fingerprint"))["secret"] != prepared["secret"]
    call_command("serve", port=unused_port())


def test_a_machine_without_the_signing_key_is_refused_and_makes_none_of_its_own(prepared, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    with pytest.raises(CommandError, match=r"copy the file signing-key.pem from another machine"):
        call_command("serve", port=unused_port())
    assert not (tmp_path / "signing-key.pem").exists()


def test_a_machine_with_another_signing_key_is_refused(prepared, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    installation_key()
    with pytest.raises(CommandError, match="not the key with which the installation signs"):
        call_command("serve", port=unused_port())
    call_command("serve", port=unused_port(), keys_changed=True)
    assert dict(SharedKey.objects.values_list("name", "fingerprint"))["signing"] != prepared["signing"]


def test_no_key_stands_in_the_database(prepared, settings):
    pem = (settings.DATA_DIR / "signing-key.pem").read_text()
    assert prepared.keys() == {"secret", "signing"}
    assert not {settings.SECRET_KEY, pem} & set(prepared.values())


def test_machines_that_start_at_once_prepare_one_after_the_other(tmp_path):
    """Each writes when it begins and when it is done; no two stand between the other's words."""
    script = (
        "import django, sys, time; django.setup()\n"
        "from collection.host.locks import preparing\n"
        "with preparing(), open(sys.argv[1], 'a', buffering=1) as said:\n"
        "    said.write('in '); time.sleep(0.2); said.write('out ')\n"
    )
    written = tmp_path / "said"
    environment = os.environ | {
        "LONGSTAND_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "collection.settings",
    }
    started = [
        subprocess.Popen([*PYTHON, script, written], cwd=settings.BASE_DIR, env=environment)  # noqa: S603 - ours
        for _ in range(3)
    ]
    assert [process.wait(60) for process in started] == [0, 0, 0]
    assert written.read_text() == "in out " * 3


def test_a_second_start_changes_nothing(db, no_children, first_manager):
    call_command("serve", port=unused_port())
    climates = Climate.objects.count()
    call_command("serve", port=unused_port())
    assert (Person.objects.count(), Climate.objects.count()) == (1, climates)


def test_without_a_terminal_or_variables_it_says_what_to_do(db, no_children, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO())
    with pytest.raises(CommandError, match="LONGSTAND_FIRST_MANAGER_EMAIL"):
        call_command("serve", port=unused_port())
    assert not no_children


@pytest.mark.parametrize(
    ("variable", "value", "message"),
    [
        ("LONGSTAND_FIRST_MANAGER_EMAIL", "ada", "email: Enter a valid email"),
        ("LONGSTAND_FIRST_MANAGER_PASSWORD", "short", "password: This password is too short"),
        ("LONGSTAND_FIRST_ORGANISATION", "x" * 121, "name: "),
    ],
)
def test_a_bad_first_manager_is_refused_by_field_and_nothing_is_stored(
    db, no_children, first_manager, monkeypatch, variable, value, message
):
    monkeypatch.setenv(variable, value)
    with pytest.raises(CommandError, match=message):
        call_command("serve", port=unused_port())
    assert not Person.objects.exists()


def test_answers_at_the_terminal_are_asked_again_until_the_passwords_agree(db, no_children, monkeypatch):
    answers = iter(["Hollin Barn", "Ada Wren", "ada@hollin.example"] * 2)
    passwords = iter([PASSWORD, "something else", PASSWORD, PASSWORD])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda _question: next(answers))
    monkeypatch.setattr("getpass.getpass", lambda _question: next(passwords))
    call_command("serve", port=unused_port())
    assert Person.objects.get().email == "ada@hollin.example"


def test_a_taken_port_is_named(db, no_children, taken):
    with pytest.raises(CommandError, match=f"Port {taken} .* is taken"):
        call_command("serve", port=taken)


def test_an_address_that_this_machine_has_not_is_named(db, no_children):
    with pytest.raises(CommandError, match=r"--host no.such.host.invalid: .* no such address"):
        call_command("serve", host="no.such.host.invalid", port=8000)


def test_a_port_that_cannot_be_is_named(db, no_children):
    with pytest.raises(CommandError, match="--port 70000: give a number from 1 to 65535"):
        call_command("serve", port=70000)


def test_the_demo_takes_the_next_free_port(taken):
    assert serving.free_port("127.0.0.1", taken) > taken


def test_the_demo_refuses_production(tmp_path):
    done = manage(tmp_path, "demo", LONGSTAND_MODE="production", LONGSTAND_HOSTS="barn.example")
    assert done.returncode != 0
    assert "does not run with LONGSTAND_MODE=production" in done.stderr
    assert not (tmp_path / "demo.sqlite3").exists()


def test_fresh_does_not_delete_a_database_that_is_not_the_demos(tmp_path):
    file = tmp_path / "demo.sqlite3"
    with sqlite3.connect(file) as database:
        database.execute("CREATE TABLE ours (precious TEXT)")
    database.close()
    done = manage(tmp_path, "demo", "--fresh")
    assert done.returncode != 0
    assert "is not the demo barn's database" in done.stderr
    with sqlite3.connect(file) as database:
        assert database.execute("SELECT count(*) FROM ours").fetchone() == (0,)
    database.close()


def test_a_dead_worker_is_started_again_and_a_signal_stops_both(tmp_path):
    births = tmp_path / "births"
    web = [*PYTHON, "import time; time.sleep(60)"]
    worker = [*PYTHON, f"open({str(births)!r}, 'a').write('born ')"]
    messages = []
    supervisor = serving.Supervisor(web, worker, messages.append)
    stop_after_births(births)
    supervisor.run(lambda: None)
    assert births.read_text().count("born") >= 2
    assert "background worker ended; starting it again" in messages[0]
    assert all(child.returncode is not None for child in supervisor.children.values())


def test_a_web_server_that_cannot_start_ends_everything_and_says_so():
    supervisor = serving.Supervisor([*PYTHON, "exit(3)"], [*PYTHON, "import time; time.sleep(60)"], print)
    with pytest.raises(CommandError, match="web server ended"):
        supervisor.run(lambda: None)
    assert supervisor.children["background worker"].returncode is not None


SLOW = "import socket, time; time.sleep(2); s = socket.create_server(('127.0.0.1', {})); time.sleep(60)"


def test_a_web_server_that_takes_its_time_is_announced_once_and_only_when_it_answers():
    port, announced, began = unused_port(), [], time.monotonic()

    def started():
        announced.append(time.monotonic() - began)
        threading.Timer(1.5, os.kill, (os.getpid(), signal.SIGTERM)).start()

    serving.Supervisor([*PYTHON, SLOW.format(port)], None, print).run(started, ("127.0.0.1", port))
    assert len(announced) == 1
    assert announced[0] > 2


@contextmanager
def running(folder, *arguments, **environment):
    """manage.py in a process of its own, with its data in a folder and its words in a file there."""
    port = unused_port()
    with (folder / "log").open("w") as log:
        process = subprocess.Popen(  # noqa: S603 - our own command line
            [sys.executable, settings.BASE_DIR / "manage.py", *arguments, "--port", str(port)],
            env=os.environ | {"LONGSTAND_DATA": str(folder), "LONGSTAND_DATABASE": ""} | environment,
            stdout=log,
            stderr=log,
            stdin=subprocess.DEVNULL,
        )
        try:
            assert wait_for(port), (folder / "log").read_text()
            yield port
            process.send_signal(signal.SIGTERM)
            assert process.wait(300) == 0, (folder / "log").read_text()
            assert serving.port_is_free("127.0.0.1", port)
            assert "Traceback" not in (folder / "log").read_text()
        finally:
            process.kill()
            process.wait()


def ask(database, query):
    """The first value of a query of a database file."""
    with sqlite3.connect(database, timeout=20) as connection:
        (value,) = connection.execute(query).fetchone()
    connection.close()
    return value


HEARTBEATS = "SELECT count(*) FROM django_q_task WHERE func = 'collection.tasks.heartbeat' AND success"


def test_serve_answers_with_pages_and_its_worker_takes_jobs_and_sigterm_ends_both(tmp_path, first_manager):
    with running(tmp_path, "serve") as port:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=20) as answer:
            assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
            assert b"password" in answer.read()
        wait_until(lambda: ask(tmp_path / "longstand.sqlite3", HEARTBEATS), 300, "the first heartbeat")


def test_the_demo_started_again_starts_again_and_touches_no_other_database(built_demo, tmp_path):
    shutil.copytree(built_demo, tmp_path, dirs_exist_ok=True)
    theirs, demo = tmp_path / "theirs.sqlite3", tmp_path / "demo.sqlite3"
    environment = {"LONGSTAND_DATABASE": f"sqlite:///{theirs}"}
    with sqlite3.connect(demo) as database:
        database.execute("PRAGMA user_version = 1904")  # a mark on the file of before
    database.close()
    entries = []
    for arguments in (["demo", "--fresh"], ["demo"]):
        with running(tmp_path, *arguments, **environment):
            entries.append(ask(demo, "SELECT count(*) FROM collection_entry"))
            assert ask(demo, "SELECT count(*) FROM collection_organisation") == 1
            assert ask(demo, "PRAGMA user_version") == 0, "it was not built afresh"
    assert entries[0] == entries[1] > 2000
    assert not theirs.exists()
    assert not (tmp_path / "longstand.sqlite3").exists()


def test_the_first_manager_may_use_the_pages_of_a_manager(db, client_as):
    person = open_installation(
        organisation="Hollin Barn", name="Ada Wren", email="ada@hollin.example", password=PASSWORD
    )
    assert person.memberships.get().role == Role.MANAGER
    assert [client_as(person).get(f"/{page}/").status_code for page in ("due", "places", "system")] == [
        200
    ] * 3
