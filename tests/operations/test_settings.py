"""Settings: clean for deployment in production mode, and loud about a bad environment."""

import os
import subprocess
import sys
import threading

import pytest
from django.conf import settings

from collection.host import env, machine


def manage(tmp_path, *arguments, **environment):
    """manage.py in a process of its own with its own data folder and nothing else of ours set."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith(("LONGSTAND_", "DJANGO_"))}
    return subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, settings.BASE_DIR / "manage.py", *arguments],
        env=clean | {"LONGSTAND_DATA": str(tmp_path), **environment},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        stdin=subprocess.DEVNULL,
    )


PRODUCTION = {"LONGSTAND_MODE": "production", "LONGSTAND_HOSTS": "barn.example"}


def test_production_mode_passes_the_check_for_deployment(tmp_path):
    done = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING", **PRODUCTION)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout


def test_local_mode_fails_the_check_for_deployment_and_says_what_to_set(tmp_path):
    done = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode != 0
    assert "collection.W001" in done.stderr
    assert "LONGSTAND_MODE=production" in done.stderr


@pytest.mark.parametrize(
    ("environment", "message"),
    [
        ({"LONGSTAND_MODE": "prod"}, "LONGSTAND_MODE is 'prod': write one of local, production"),
        ({"LONGSTAND_MODE": "production"}, "LONGSTAND_HOSTS is empty"),
        ({"LONGSTAND_DEBUG": "maybe"}, "LONGSTAND_DEBUG is 'maybe': write 1 or 0"),
        ({**PRODUCTION, "LONGSTAND_DEBUG": "1"}, "LONGSTAND_DEBUG shows inner workings"),
        ({"LONGSTAND_WORKERS": "0"}, "LONGSTAND_WORKERS is '0': write a whole number from 1 to 64"),
        ({"LONGSTAND_WORKERS": "two"}, "LONGSTAND_WORKERS is 'two': write a whole number"),
        (
            {"LONGSTAND_QUEUE": "amqp://there"},
            "LONGSTAND_QUEUE is no Redis server: write redis://host:6379/0",
        ),
        (
            {"LONGSTAND_WEB_PROCESSES": "0"},
            "LONGSTAND_WEB_PROCESSES is '0': write a whole number from 1 to 64",
        ),
        (
            {**PRODUCTION, "LONGSTAND_PROXIES": "0"},
            "LONGSTAND_PROXIES is '0': write a whole number from 1 to 9",
        ),
        (
            {**PRODUCTION, "LONGSTAND_HSTS_PRELOAD": "1"},
            "LONGSTAND_HSTS_PRELOAD is set: set LONGSTAND_HSTS_SUBDOMAINS too",
        ),
        ({"LONGSTAND_LOG": "loud"}, "LONGSTAND_LOG is 'loud': write one of DEBUG"),
    ],
)
def test_a_bad_setting_is_named_with_its_fix(tmp_path, environment, message):
    done = manage(tmp_path, "check", **environment)
    assert done.returncode != 0
    assert message in done.stderr


@pytest.mark.parametrize(("asked", "told"), [({}, "False"), ({"LONGSTAND_HSTS_SUBDOMAINS": "1"}, "True")])
def test_browsers_are_told_of_subdomains_only_when_that_is_asked_for(tmp_path, asked, told):
    words = (
        "from collection import settings as s; print(s.SECURE_HSTS_SECONDS, s.SECURE_HSTS_INCLUDE_SUBDOMAINS)"
    )
    done = subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, "-c", words],
        env=os.environ | {"LONGSTAND_DATA": str(tmp_path)} | PRODUCTION | asked,
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["31536000", told]


@pytest.mark.parametrize(
    ("cores", "group", "expected"),
    [
        (2, {}, 2),
        (64, {}, machine.MOST_WEB_PROCESSES),
        (8, {"cpu.max": "150000 100000"}, 1),
        (8, {"cpu.max": "max 100000", "memory.max": "3000000000"}, 3),
        (8, {"memory.max": "100000000"}, 1),
    ],
)
def test_web_processes_go_by_cores_and_memory_and_by_the_limits_of_a_container(
    tmp_path, monkeypatch, cores, group, expected
):
    monkeypatch.setattr(machine.os, "sched_getaffinity", lambda _process: set(range(cores)))
    monkeypatch.setattr(machine.os, "sysconf", lambda name: {"SC_PAGE_SIZE": 4096}.get(name, 16_000_000))
    monkeypatch.setattr(machine, "CONTROL_GROUP", tmp_path)
    for name, value in group.items():
        (tmp_path / name).write_text(value)
    assert machine.web_processes() == expected


def test_a_data_folder_that_cannot_be_made_is_named(tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = manage(tmp_path, "check", LONGSTAND_DATA=str(tmp_path / "file" / "var"))
    assert done.returncode != 0
    assert "LONGSTAND_DATA: the folder" in done.stderr


def test_the_secret_is_made_once_and_is_for_its_owner_only(tmp_path):
    manage(tmp_path, "check")
    first = (tmp_path / "secret-key").read_text()
    manage(tmp_path, "check")
    assert (tmp_path / "secret-key").read_text() == first
    assert len(first) >= 64
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


def test_nobody_ever_reads_half_a_secret(tmp_path):
    """Many machines with one data folder start at once: all read the one secret that came first."""
    whole = [str(number) * 5000 for number in range(8)]
    read = []

    def start(value):
        env.keep_secret(tmp_path / "secret", value.encode())
        read.append((tmp_path / "secret").read_text())

    threads = [threading.Thread(target=start, args=[value]) for value in whole]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(read) == 8
    assert len(set(read)) == 1
    assert read[0] in whole
    assert [file.name for file in tmp_path.iterdir()] == ["secret"]


ASK = (
    "from django.conf import settings as s; q = s.Q_CLUSTER; "
    "print(q.get('orm'), q.get('redis', {}).get('host'))"
)


def test_jobs_wait_in_the_database_or_at_the_queue_that_is_named(tmp_path):
    here = manage(tmp_path, "shell", "--no-imports", "-c", ASK)
    assert here.stdout.split() == ["default", "None"]
    there = manage(tmp_path, "shell", "--no-imports", "-c", ASK, LONGSTAND_QUEUE="redis://q:6379/0")
    assert there.stdout.split() == ["None", "q"]


def test_what_a_proxy_says_is_believed_in_production_only(tmp_path):
    ask = (
        "from django.conf import settings as s; "
        "print(s.SECURE_PROXY_SSL_HEADER, s.ALLAUTH_TRUSTED_PROXY_COUNT)"
    )
    assert manage(tmp_path, "shell", "--no-imports", "-c", ask).stdout.split() == ["None", "0"]
    behind = manage(tmp_path, "shell", "--no-imports", "-c", ask, **PRODUCTION).stdout
    assert behind.strip() == "('HTTP_X_FORWARDED_PROTO', 'https') 1"


def test_every_variable_that_the_code_reads_is_explained_in_the_example():
    source = "".join(path.read_text() for path in (settings.BASE_DIR / "collection").rglob("*.py"))
    example = (settings.BASE_DIR / ".env.example").read_text()
    read = {word.split('"')[0] for word in source.split('"') if word.startswith("LONGSTAND_")}
    names = {word for word in read if word.replace("_", "").isalpha() and word.isupper()}
    assert names, "no variables found: the pattern of this test no longer fits the code"
    assert not {name for name in names if name not in example}
