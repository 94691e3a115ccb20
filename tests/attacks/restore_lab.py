"""Kills a restore wherever it touches disk or database, lets the next start end it, says what stands then.

A process of its own runs it on an installation that is built anew for each round; every attempt is a child,
so that SIGKILL is the real thing.
"""

import json
import os
import random
import shutil
import signal
import sys
from pathlib import Path

import psycopg
from django.conf import settings
from django.db import connection

from collection.host.locks import PREPARING, holding
from collection.operations.backup import switch as switching
from collection.operations.backup.archive import checked
from collection.operations.backup.recover import recover
from collection.operations.backup.stage import Stage
from collection.operations.backup.switch import files_of_installation, is_known_by_content, switch
from tests.attacks.test_restore import NOW, OLD_NAME

DATA, MEDIA = Path(settings.DATA_DIR), Path(settings.MEDIA_ROOT)
WRITES = {"os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "os.truncate"}
KEYS = ("signing-key.pem", "secret-key")


class Killer:
    """Counts what this process does to disk and database, and kills it before the one that is given."""

    def __init__(self, at):
        self.at, self.count = at, 0
        sys.addaudithook(self.see)
        connection.execute_wrappers.append(self.run)

    def see(self, event, args):
        if event in WRITES or (event == "open" and isinstance(args[2], int) and args[2] & os.O_CREAT):
            self.step()

    def run(self, execute, *args):
        self.step()
        return execute(*args)

    def step(self):
        self.count += 1
        if self.count == self.at:
            os.kill(os.getpid(), signal.SIGKILL)


def in_a_child(work):
    """What the work returns, as JSON; None if its process was killed. It must not fail by itself."""
    out, into = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.write(into, json.dumps(work()).encode())
        except BaseException as error:
            os.write(into, json.dumps({"error": repr(error)}).encode())
        os._exit(0)
    os.close(into)
    with os.fdopen(out, "rb") as pipe:
        data = pipe.read()
    os.waitpid(child, 0)
    return json.loads(data) if data else None


class Lab:
    """One installation with a stage beside it, to be set up again and again."""

    def __init__(self, model, backup, stage):
        self.model, self.stage = Path(model), Stage(stage)
        self.manifest = checked(Path(backup))
        self.old_keys = {name: (self.model / "data" / name).read_bytes() for name in KEYS}
        self.new_keys = {name: (self.model / "data" / f".{stage}" / name).read_bytes() for name in KEYS}
        self.set_up()
        self.old_files = {
            str(file.relative_to(MEDIA)): is_known_by_content(file) for file in files_of_installation(MEDIA)
        }
        self.new_files = [
            name.removeprefix("media/") for name in self.manifest["members"] if name.startswith("media/")
        ]

    def set_up(self):
        for folder in {DATA, MEDIA}:
            shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(self.model / "data", DATA)
        if not MEDIA.is_relative_to(DATA):
            (DATA / "media").rename(MEDIA)
        if address := os.environ["LONGSTAND_DATABASE"]:
            server, _, name = address.rpartition("/")
            with psycopg.connect(f"{server}/postgres", autocommit=True) as admin:
                admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
                admin.execute(f"CREATE DATABASE {name} TEMPLATE {os.environ['MODEL_DATABASE']}")

    def restore(self, at=0, step=""):
        """Let it take the place; killed before the n-th touch, or before the step of a name."""

        def named(function):
            def run(journal):
                if function.__name__ == step:
                    os.kill(os.getpid(), signal.SIGKILL)
                function(journal)

            return run

        def work():
            switching.STEPS = tuple(map(named, switching.STEPS))
            if step == "finish":
                switching.finish = named(switching.finish)
            killer = Killer(at)
            with holding(PREPARING):
                switch(self.stage, self.manifest, was_empty=False, now=NOW)
            return killer.count

        return in_a_child(work)

    def end_it(self, at=0):
        """What the next start does."""

        def work():
            killer = Killer(at)
            with holding(PREPARING):
                ended = recover()
            return {"count": killer.count, "finished": ended and ended.finished}

        return in_a_child(work)

    def looked_at(self):
        """Which installation stands: "old", "new", or what is wrong with it."""

        def work():
            with connection.cursor() as cursor:
                cursor.execute("SELECT name FROM collection_organisation ORDER BY id")
                which = "old" if cursor.fetchone() == (OLD_NAME,) else "new"
            faults = list(self.faults(which))
            return {"which": which, "faults": faults}

        return in_a_child(work)

    def faults(self, which):
        keys = self.old_keys if which == "old" else self.new_keys
        for name in KEYS:
            if (DATA / name).read_bytes() != keys[name]:
                yield f"{name} is not the key of the {which} one"
        wanted = [name for name, right in self.old_files.items() if right]
        for name in wanted if which == "old" else {*self.new_files, *wanted}:
            if not (MEDIA / name).exists() or not is_known_by_content(MEDIA / name):
                yield f"{name} is gone or damaged"
        left = [path.name for folder in (DATA, MEDIA) for path in folder.glob("*restor*")]
        left += [path.name for folder in (DATA, MEDIA) for path in folder.glob(".*restor*")]
        kept = [name for name in left if "before-restore" in name and "journal" not in name]
        yield from (f"{name} was left" for name in left if which == "old" or name not in kept)
        schemas = []
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute(r"SELECT nspname FROM pg_namespace WHERE nspname LIKE 'longstand\_%%'")
                schemas = [name for (name,) in cursor.fetchall()]
            yield from (
                f"the schema {name} was left" for name in schemas if which == "old" or "before" not in name
            )
        if which == "new":
            yield from self.not_kept(schemas)

    def not_kept(self, schemas):
        """What of the old one cannot be found any more."""
        for name in KEYS:
            (file,) = DATA.glob(f"{name}.before-restore-*")
            if file.read_bytes() != self.old_keys[name]:
                yield f"{name} of before was not kept"
        (folder,) = MEDIA.glob("before-restore-*")
        for name, right in self.old_files.items():
            if not (right and name in self.new_files) and not (folder / name).exists():
                yield f"{name} was not kept"
        if connection.vendor == "postgresql" and len(schemas) != 1:
            yield "the schema of before was not kept"
        if connection.vendor == "sqlite" and not list(DATA.glob("longstand.sqlite3.before-restore-*")):
            yield "the database of before was not kept"

    def round(self, *, at=0, step="", again=0):
        """One kill, perhaps another while it is ended, then the look."""
        self.set_up()
        done = self.restore(at, step)
        ends = [self.end_it(again)] if again else []
        ends.append(self.end_it())
        return {"at": at, "step": step, "again": again, "done": done, "ends": ends, **self.looked_at()}


def main(model, backup, stage, rounds, seed):
    """A kill before each named step, then so many wherever chance will have it."""
    lab = Lab(model, backup, stage)
    lab.set_up()
    touches = lab.restore()
    names = [function.__name__ for function in switching.STEPS]
    done = [lab.round(step=name) for name in (*names, "finish")]
    chance = random.Random(seed)  # noqa: S311 - the same kills each time
    for _ in range(rounds):
        again = chance.choice((0, 0, chance.randint(1, 12)))
        done.append(lab.round(at=chance.randint(1, touches), again=again))
    return {"touches": touches, "rounds": done}
