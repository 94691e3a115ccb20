"""The API keeps to its own description: tried out by machine over every operation, right and wrong data.

How much is tried is a matter of time: LONGSTAND_API_EXAMPLES asks for more examples an operation, and
with them for every case at the limits of each field.
"""

import importlib
import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone
from functools import partial
from pathlib import Path

import pytest
from django.conf import settings

from collection.web.door import AT_ONCE
from tests.postgresql import unused_port

HERE = Path(__file__).parent
EXAMPLES = int(os.environ.get("LONGSTAND_API_EXAMPLES", "0"))
FEW = 2
HOOKS = {"SCHEMATHESIS_HOOKS": "tests.api.schemathesis_hooks", "PYTHONPATH": str(settings.BASE_DIR)}
SECONDS = 30  # policy: of the suite; each case is whole, only fewer fit on a slow machine
STARTS_WITHIN_SECONDS = 120
CLIENT = "made_client"
# nothing is formatted afterwards, and the bytes of files stay bytes
HOW_TO_MAKE = """
post_hooks: []
content_type_overrides:
  image/jpeg: application/octet-stream
  image/png: application/octet-stream
  image/webp: application/octet-stream
  application/pdf: application/octet-stream
"""


def listens(port):
    """Wait until the server takes connections."""
    deadline = time.monotonic() + STARTS_WITHIN_SECONDS
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), 5).close()
            return
        except OSError:
            assert time.monotonic() < deadline, "the server does not listen"
            time.sleep(0.2)


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """The API in a process of its own; its address and what it says of itself."""
    tmp_path, port = tmp_path_factory.mktemp("api"), unused_port()
    data = tmp_path / "data"
    environment = os.environ | {
        "LONGSTAND_DATA": str(data),
        "LONGSTAND_MODE": "local",
        "LONGSTAND_LOG": "ERROR",
        "LONGSTAND_DATABASE": "",
    }
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(  # noqa: S603 - our own command line
            [sys.executable, "-m", "tests.api.api_server", str(port)],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
        )
        try:
            line = process.stdout.readline()
            assert line, (tmp_path / "log").read_text()
            listens(port)
            yield f"http://127.0.0.1:{port}", json.loads(line)
        finally:
            process.kill()
            process.wait(30)
            process.stdout.close()
    assert "Traceback" not in (tmp_path / "log").read_text()


def send(address, token, key, body):
    """One write by a connection of its own: status and answer."""
    headers = {"Authorization": f"Bearer {token}", "Idempotency-Key": key, "Content-Type": "application/json"}
    request = urllib.request.Request(address, json.dumps(body).encode(), headers)  # noqa: S310 - our own
    with urllib.request.urlopen(request, timeout=120) as answer:  # noqa: S310 - likewise
        return answer.status, answer.read()


def test_the_same_write_many_times_at_once_is_written_once_and_answered_the_same(served):
    address, facts = served
    log = f"{address}/api/v1/cars/{facts['keys']['car_id']}/entries"
    body = {"kind": "note", "note": "sent by many at once"}
    with ThreadPoolExecutor(AT_ONCE) as many:  # more would be told to come again
        answers = list(many.map(lambda _: send(log, facts["token"], "many-at-once-1", body), range(16)))
    assert {status for status, _ in answers} == {201}
    assert len({answer for _, answer in answers}) == 1
    asked = urllib.request.Request(  # noqa: S310 - our own address
        f"{address}/api/v1/entries?kind=note&limit=500", headers={"Authorization": f"Bearer {facts['token']}"}
    )
    with urllib.request.urlopen(asked, timeout=120) as answer:  # noqa: S310 - likewise
        notes = [one["note"] for one in json.load(answer)["items"]]
    assert notes.count(body["note"]) == 1


@pytest.fixture
def client(served, tmp_path, monkeypatch):
    """A client made from the description, signed in; its package is imported by its name."""
    address, facts = served
    (tmp_path / "how.yml").write_text(HOW_TO_MAKE)
    made = subprocess.run(  # noqa: S603 - our own command line
        [
            Path(sys.executable).with_name("openapi-python-client"),
            "generate",
            "--url",
            f"{address}/api/v1/openapi.json",
            "--output-path",
            tmp_path / CLIENT,
            "--meta",
            "none",
            "--config",
            tmp_path / "how.yml",
            "--fail-on-warning",
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert made.returncode == 0, made.stdout + made.stderr
    monkeypatch.syspath_prepend(tmp_path)
    signed_in = part("client").AuthenticatedClient(
        address, facts["token"], raise_on_unexpected_status=True, timeout=120
    )
    with signed_in as open_client:
        yield open_client


def part(name):
    """A module of the client that was made."""
    return importlib.import_module(f"{CLIENT}.{name}")


def run_up(**values):
    models = part("models")
    details = models.DetailsRunUp(minutes=25, reached_temperature=True, driven=True)
    return models.SendRunUp(kind="run_up", details=details, **values)


def test_a_client_made_from_the_description_writes_reads_and_walks_pages(served, client):
    car = served[1]["keys"]["car_id"]
    done_at = datetime(2026, 5, 1, 9, 30, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    write = partial(part("api.care_log.write_entry").sync, car, client=client)

    written = write(body=run_up(done_at=done_at, note="round the lanes"), idempotency_key="by-a-client-1")
    again = write(body=run_up(done_at=done_at, note="round the lanes"), idempotency_key="by-a-client-1")
    assert (written.done_at, written.note) == (done_at, "round the lanes")
    assert again == written
    read = part("api.care_log.read_entry").sync_detailed(car, written.id, client=client)
    assert read.parsed == written
    held = part("api.care_log.read_entry").sync_detailed(
        car, written.id, client=client, if_none_match=read.headers["ETag"]
    )
    assert held.status_code == 304

    refused = write(body=run_up(done_at=datetime(2199, 1, 1, tzinfo=UTC)), idempotency_key="by-a-client-2")
    assert isinstance(refused, part("models").Problem)
    assert refused.errors[0].field == "done_at"

    listing, seen = part("api.care_log.list_entries").sync, []
    while (page := listing(client=client, car_id=car, limit=2, offset=len(seen))).items:
        seen += [entry.id for entry in page.items]
    assert len(seen) == len(set(seen)) == page.total > 2
    assert seen.count(written.id) == 1


def test_the_api_keeps_to_its_description(served, tmp_path):
    address, facts = served
    phases = "examples,coverage,fuzzing,stateful" if EXAMPLES else "examples,fuzzing,stateful"
    limit = [] if EXAMPLES else ["--max-time", str(SECONDS)]
    tried = subprocess.run(  # noqa: S603 - our own command line
        [
            Path(sys.executable).with_name("schemathesis"),
            "--config-file",
            HERE / "schemathesis.toml",
            "run",
            f"{address}/api/v1/openapi.json",
            "--header",
            f"Authorization: Bearer {facts['token']}",
            "--phases",
            phases,
            "--max-examples",
            str(EXAMPLES or FEW),
            *limit,
            "--generation-deterministic",
            "--wait-for-schema",
            str(STARTS_WITHIN_SECONDS),
            "--request-timeout",
            "60",
            "--suppress-health-check",
            "all",
            "--no-color",
        ],
        env=os.environ | HOOKS,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    print(tried.stdout[-3000:])  # noqa: T201 - how much was tried
    assert tried.returncode == 0, tried.stdout[-20_000:] + tried.stderr
    assert "Tested: 42" in tried.stdout or EXAMPLES == 0
