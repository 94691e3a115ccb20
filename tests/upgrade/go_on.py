"""Run in a barn of version 0.2.0 that was brought forward: uses all that version left with people.

A process of its own runs it, on that barn's database; it prints one line of JSON. It knows the old version's
addresses, names of jobs and files, and as little as can be of where the code is today.
"""

import io
import json
import queue
import sys
import threading
from contextlib import redirect_stdout
from datetime import datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from multiprocessing import Value
from pathlib import Path

import time_machine
from django.apps import apps
from django.conf import settings
from django.core import mail
from django.core.management import call_command
from django.db import connection, transaction
from django.shortcuts import resolve_url
from django.test import Client
from django.test.utils import setup_test_environment
from django_q.models import OrmQ
from django_q.worker import worker

from collection.host.sealing import unseal

ADDRESSES = json.loads(Path(__file__).with_name("v0.2.0.addresses.json").read_text())
KEPT = Path(settings.DATA_DIR) / "kept"
SAID = json.loads((KEPT / "said.json").read_text())
MOST_JOBS = 60  # jobs leave jobs; more than this would be a queue that never ends


def model(name):
    return apps.get_model("collection", name)


def signed_in(email):
    client = Client(raise_request_exception=False)
    client.force_login(model("Person").objects.get(email=email))
    return client


def verified(*arguments):
    """What the verifier says, and whether it ends well."""
    out = io.StringIO()
    try:
        with redirect_stdout(out):
            call_command("verify_history", *map(str, arguments), stdout=out)
    except SystemExit as end:
        return {"sound": not end.code, "said": out.getvalue()}
    return {"sound": True, "said": out.getvalue()}


def answered(client, path, *, follow, **headers):
    """Where an address leads to and what answers there; looking changes nothing."""
    with transaction.atomic():
        answer = client.get(path, follow=follow, **headers)
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        transaction.set_rollback(True)
    chain = [path, *(url for url, _ in getattr(answer, "redirect_chain", ()))]
    kind = answer.headers.get("Content-Type", "").partition(";")[0]
    return {"status": answer.status_code, "type": kind, "led": chain[-1], "body": body}


def leads_on(client, path, before, **headers):
    """What is wrong with an address that answered so before; empty when nothing is."""
    was_redirect = before["status"] // 100 == 3
    now = answered(client, path, follow=not was_redirect, **headers)
    told = f"{path}: {before} before, now {now['status']} {now['type']} at {now['led']}"
    if was_redirect:
        return "" if now["status"] // 100 == 3 else told
    sent_away = now["led"] != path and now["led"].startswith(resolve_url(settings.LOGIN_URL))
    same = now["status"] == before["status"] and before.get("type", now["type"]) == now["type"]
    return "" if same and not sent_away else told


def brought_forward():
    """The rows as the migrations leave them, in a file of their own for the test to read."""
    call_command("migrate", verbosity=0)
    migrated = Path(settings.DATA_DIR) / "migrated.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(migrated)])
    return str(migrated)


def keys():
    """What of keys, grants and operators is there, by today's own means."""
    car, site = model("CarNotes").objects.get(), model("SiteNotes").objects.get()
    return {
        "keys_at": unseal(f"car {car.vehicle_id}", car.sealed)["keys_at"],
        "site": unseal(f"site {site.site_id}", site.sealed)["address"],
        "granted": model("KeyGrant").objects.count(),
        "operators": model("Operator").objects.count(),
    }


# programmes are given no keys any more: they are asked for on their page; operators forget, not managers
NO_MORE = {"api:read_site_private", "api:read_car_private", "member_forget"}


def addresses():
    stranger, manager = Client(raise_request_exception=False), signed_in("manager@hollin.example")
    token = {"HTTP_AUTHORIZATION": f"Bearer {SAID['api_token']}"}
    wrong = []
    for each in ADDRESSES:
        if each["name"] in NO_MORE:
            continue
        wrong.append(leads_on(stranger, each["path"], each["stranger"]))
        if each["stranger"]["status"] == 200:
            continue  # open to all: nobody sees more by signing in
        if "token" in each:
            wrong.append(leads_on(stranger, each["path"], each["token"], **token))
        else:
            wrong.append(leads_on(manager, each["path"], each["manager"]))
    return [fault for fault in wrong if fault]


def what_was_left():
    """The pages behind the secrets and the labels, as whoever holds them opens them."""
    stranger, keeper = Client(), signed_in("keeper@hollin.example")
    shared = answered(stranger, SAID["shared"], follow=True)["body"].decode()
    feed = answered(stranger, SAID["feed"], follow=True)["body"].decode()
    labels = {
        path: car in answered(keeper, path, follow=True)["body"].decode()
        for path, car in SAID["labels"].items()
    }
    return {"shared": "W12-0417" in shared, "feed": feed.count("BEGIN:VEVENT"), "labels": labels}


def phone():
    """A phone that was away during the upgrade posts what it holds to the address that it knows."""
    client, sent = signed_in("keeper@hollin.example"), SAID["phone"]
    said = []
    for _ in range(2):  # the second time its answer was lost
        answer = client.post(sent["address"], json.dumps(sent["body"]), content_type="application/json")
        said.append(
            [each["state"] for each in answer.json()["outcomes"]] if answer.status_code == 200 else []
        )
    return said


class Ledger(BaseHTTPRequestHandler):
    """Receives messages of changed dates."""

    heard: list = []  # noqa: RUF012 - of the class, since a handler lives for one request

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        self.heard.append({"headers": {k.lower(): v for k, v in self.headers.items()}, "body": body})
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_):
        """Say nothing."""


def jobs():
    """Every job that waits, done by the worker's own loop; what failed, and what the jobs did."""
    server = HTTPServer(("127.0.0.1", 0), Ledger)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    model("Webhook").objects.update(address=f"http://127.0.0.1:{server.server_port}/hook")
    done, failed = [], []
    while (row := OrmQ.objects.order_by("pk").first()) and len(done) < MOST_JOBS:
        task = row.task
        row.delete()
        given, given_back = queue.Queue(), queue.Queue()
        given.put(task)
        given.put("STOP")
        worker(given, given_back, Value("f", -1), timeout=-1)
        result = given_back.get()
        done.append(task["func"])
        if not result["success"]:
            failed.append([task["func"], str(result["result"])])
    server.shutdown()
    return {
        "done": done,
        "failed": failed,
        "heard": Ledger.heard,
        "mails": [message.to for message in mail.outbox],
        "table": model("SheetImport").objects.get().state,
        "logger_file": model("LoggerFile").objects.get().state,
        "runs": list(model("ForecastRun").objects.values_list("state", flat=True)),
        "backups": len(list(Path(settings.BACKUP_DIR).glob("*.zip"))),
    }


def proofs():
    """The file exported before, by itself and against what was kept; today's file against that one."""
    old, statements = KEPT / "proof.json", sorted(KEPT.glob("statement-*.json"))
    today = Path(settings.DATA_DIR) / "today.json"
    path = f"/cars/{SAID['rows']['car']}/history/proof/?as=file"
    today.write_bytes(answered(signed_in("manager@hollin.example"), path, follow=True)["body"])
    against = [part for file in (*statements, old) for part in ("--against", file)]
    changed = Path(settings.DATA_DIR) / "changed.json"
    changed.write_bytes(old.read_bytes().replace(b"Road salted", b"Road sanded"))
    return {
        "database": verified("--database"),
        "old": verified(old, *against[:-2]),
        "today": verified(today, *against),
        "changed": verified(changed),
    }


def main():
    """Do all of it on the day on which the old version stopped."""
    settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    setup_test_environment()
    with time_machine.travel(datetime.fromisoformat(SAID["now"]), tick=True):
        told = {
            "file": brought_forward(),
            "keys": keys(),
            "addresses": addresses(),
            "left": what_was_left(),
            "before": verified("--database"),
        }
        told |= {"phone": phone(), "jobs": jobs(), "proofs": proofs()}
    sys.stdout.write(json.dumps(told) + "\n")
