"""What each test sends to its database, so that PostgreSQL is asked no statement twice for nothing.

The kind of a statement is its text without the number of values, limits and savepoints; one that the
database refused is a kind of its own, and so is each place that locks rows: SQLite's text is silent on it.
"""

import hashlib
import heapq
import json
import re
import sys
from contextlib import contextmanager
from functools import lru_cache, wraps

from django.db import DatabaseError, connection
from django.db.models import QuerySet

SHORTER = (
    (re.compile(r"(ROLLBACK TO SAVEPOINT|RELEASE SAVEPOINT|SAVEPOINT|EXPLAIN) .*", re.DOTALL), r"\1"),
    (re.compile(r"\(%s(?:, %s)*\)"), "(values)"),
    (re.compile(r"(?:\(values\), ?)+\(values\)"), "(values)"),
    (re.compile(r"(?:WHEN \S+ THEN %s ?)+"), "WHEN "),
    (re.compile(r"\b(LIMIT|OFFSET) \d+"), r"\1"),
)
SMALL = 30  # statements: what a test costs before it sends any


@lru_cache(maxsize=50_000)
def kind_of(sql):
    """A short name of the kind of a statement."""
    for long, short in SHORTER:
        sql = long.sub(short, sql)
    return hashlib.blake2s(sql.encode(), digest_size=8).hexdigest()


class Sent:
    """The kinds of statements of one test, and how many statements it sent."""

    def __init__(self):
        self.kinds, self.count = set(), 0

    def __call__(self, execute, sql, params, many, context):
        kind = kind_of(str(sql))
        self.count += 1
        try:
            answer = execute(sql, params, many, context)
        except DatabaseError as error:
            kind = kind_of(f"{kind} {type(error).__name__}")
            raise
        finally:
            self.kinds.add(kind)
        return answer

    def locks(self, place):
        self.kinds.add(kind_of(f"locks rows at {place}"))


@contextmanager
def noted(file, test):
    """Write down, at the end of the file, what a test sends while the block lasts."""
    sent, plain = Sent(), QuerySet.select_for_update

    @wraps(plain)
    def locking(queryset, *arguments, **options):
        frame = sys._getframe(1)
        while "/django/" in frame.f_code.co_filename:
            frame = frame.f_back
        sent.locks(f"{frame.f_code.co_filename}:{frame.f_lineno}")
        return plain(queryset, *arguments, **options)

    QuerySet.select_for_update = locking
    try:
        with connection.execute_wrapper(sent):
            yield
    finally:
        QuerySet.select_for_update = plain
    if sent.count:
        with file.open("a") as lines:
            lines.write(json.dumps([test, sent.count, sorted(sent.kinds)]) + "\n")


def statements_in(folder):
    """Where the workers of a run note what tests send, a file each."""
    (folder / "statements").mkdir(exist_ok=True)
    return folder / "statements"


def gathered(folder, file):
    """Whether anything is noted by now: put into one file, but for a line that is still being written."""
    whole = [each.read_text().rpartition("\n")[0] for each in sorted(statements_in(folder).iterdir())]
    file.write_text("\n".join(filter(None, whole)))
    return any(whole)


def read(file):
    """By test: how many statements it sent, and their kinds."""
    lines = map(json.loads, file.read_text().splitlines())
    return {test: (count, frozenset(kinds)) for test, count, kinds in lines}


def cover(sent, covered):
    """Of these tests a few that send, with what is covered already, every kind that all of them send.

    Who sends most new kinds for its length comes first, until none has a new one.
    """
    covered, chosen = set(covered), set()

    def worth(test):
        count, kinds = sent[test]
        return -len(kinds - covered) / (count + SMALL), test

    waiting = [worth(test) for test in sent]
    heapq.heapify(waiting)
    while waiting:
        before, test = heapq.heappop(waiting)
        now, _ = worth(test)
        if now == 0:
            continue
        if now > before:  # others sent some of it meanwhile
            heapq.heappush(waiting, (now, test))
            continue
        chosen.add(test)
        covered |= sent[test][1]
    return chosen
