"""What a start loads: not what only some work needs; and who looks after the processes is small."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management.base import CommandError

from collection.operations import serving

SELDOM = ("polars", "openpyxl", "icalendar", "redis", "highspy", "typst", "plotly.graph_objects", "pypdf")
LOADED = """
import django, sys
django.setup()
{more}
print(" ".join(name for name in sys.argv[1:] if name in sys.modules))
"""


def loaded(more, *names):
    told = subprocess.run(  # noqa: S603 - our own script
        [sys.executable, "-c", LOADED.format(more=more), *names],
        cwd=settings.BASE_DIR,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "collection.settings"},
        capture_output=True,
        text=True,
        check=True,
    )
    return told.stdout.split()


def test_pages_stand_ready_without_what_only_some_work_needs():
    assert loaded("from django.urls import get_resolver; get_resolver().url_patterns", *SELDOM) == []


def test_who_looks_after_the_processes_loads_neither_pages_nor_the_core():
    assert loaded("import collection.management.commands.serve", *SELDOM, "numpy", "ninja") == []


def test_the_worker_starts_without_the_checks_that_load_every_page():
    assert serving.worker_command()[-2:] == ["qcluster", "--skip-checks"]


@pytest.mark.parametrize(("code", "fault"), [(0, ""), (1, "SystemCheckError: something is wrong")])
def test_a_program_that_fails_its_checks_is_not_served(monkeypatch, code, fault):
    made = subprocess.CompletedProcess([], code, "", fault)
    monkeypatch.setattr(subprocess, "run", lambda command, **_: made if command[-1] == "check" else None)
    if code:
        with pytest.raises(CommandError, match="something is wrong"):
            serving.check_apart()
    else:
        serving.check_apart()
