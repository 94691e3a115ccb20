"""The child that reads what strangers send takes no more than its share, whatever the file makes it do."""

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from threading import Thread

import pytest
from django.conf import settings

from collection.host.contained import Busy, Share, TooMuch, read_apart
from tests.attacks import hostile_work as work

SHARE = Share("attacks", at_once=2, cpu_s=1, wall_s=60.0, memory=300_000_000, answer=5_000_000)


@pytest.fixture(autouse=True)
def own_places(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def read(act, data=b"", share=SHARE, **facts):
    return read_apart(act, data, facts, share=share)


def test_what_goes_in_comes_back_and_no_secret_goes_along(monkeypatch):
    monkeypatch.setenv("LONGSTAND_SECRET_KEY", "secret")
    heard = []
    echoed, data = read_apart(work.echo, b"\0x" * 99, {"a": [1, "漢"]}, share=SHARE, tell=heard.append)
    assert (echoed, data, heard) == ({"facts": {"a": [1, "漢"]}, "key": None}, b"\0x" * 99, ["at work"])


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (work.spin, "more than 1 seconds of work"),
        (work.swell, "more than 300 MB of memory"),
        (work.chatter, "more than is kept of one, 5 MB"),
        (work.crash, "damaged"),
    ],
)
def test_what_was_too_much_is_told(act, words):
    with pytest.raises(TooMuch, match=words):
        read(act)


def test_a_child_that_only_waits_is_ended_by_the_clock():
    began = time.monotonic()
    with pytest.raises(TooMuch, match="of work"):
        read(work.sleep, share=replace(SHARE, wall_s=1.0))
    assert time.monotonic() - began < 300


def test_nothing_is_written_by_it(tmp_path):
    with pytest.raises((TooMuch, RuntimeError)):
        read(work.write, path=str(tmp_path / "x"))
    assert not (tmp_path / "x").exists() or not (tmp_path / "x").stat().st_size


def test_a_fault_of_ours_is_no_refusal():
    with pytest.raises(RuntimeError, match="KeyError"):
        read(work.write)


def test_a_third_waits_and_is_told_to_come_again():
    heard = []

    def hold():
        with pytest.raises(TooMuch):
            read_apart(work.sleep, b"", {}, share=replace(SHARE, wall_s=8.0), tell=heard.append)

    threads = [Thread(target=hold) for _ in range(2)]
    for thread in threads:
        thread.start()
    while len(heard) < 2:
        time.sleep(0.05)
    with pytest.raises(Busy, match="in a minute"):
        read(work.echo, share=replace(SHARE, wait_s=0.1))
    for thread in threads:
        thread.join()
    assert read(work.echo, b"x")[1] == b"x", "its place is given back"


PARENT = """
import django
django.setup()
from collection.host.contained import Share, read_apart
from tests.attacks import hostile_work as work
share = Share("orphans", at_once=1, cpu_s=60, wall_s=600.0, memory=300_000_000, answer=1000)
read_apart(work.sleep, b"", {}, share=share, tell=lambda words: print(words, flush=True))
"""


def is_alive(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:  # a zombie is dead
            return file.read().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.mark.skipif(sys.platform != "linux", reason="the kernel's own signal")
def test_a_child_ends_with_its_parent(tmp_path):
    named = {"DJANGO_SETTINGS_MODULE": "collection.settings", "LONGSTAND_DATA": str(tmp_path)}
    parent = subprocess.Popen(  # noqa: S603 - ourselves
        [sys.executable, "-c", PARENT],
        stdout=subprocess.PIPE,
        cwd=settings.BASE_DIR,
        env=os.environ | named,
    )
    child = int(parent.stdout.readline())
    assert is_alive(child)
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    parent.stdout.close()
    until = time.monotonic() + 60
    while is_alive(child) and time.monotonic() < until:
        time.sleep(0.05)
    assert not is_alive(child)
