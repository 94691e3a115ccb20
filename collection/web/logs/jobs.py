"""One line a background job: which, whether it went well, how long it took."""

import logging
from typing import Any

from django_q.signals import post_execute_in_worker, pre_execute

from collection.web.logs.lines import current, facts

log = logging.getLogger("longstand.jobs")

QUIET = {"collection.tasks.heartbeat"}


def begun(sender: object, func: object, task: dict[str, Any], **_: Any) -> None:  # noqa: ARG001 - Django's
    """Whatever the job writes carries its identifier."""
    current.set(str(task["id"]))


def done(sender: object, func: object, task: dict[str, Any], **_: Any) -> None:  # noqa: ARG001 - Django's
    """Write the job down; what it was given or gave back is not told."""
    name = task["func"] if isinstance(task["func"], str) else getattr(task["func"], "__qualname__", "?")
    well = bool(task.get("success"))
    quiet = well and name in QUIET
    ended = task.get("stopped")  # a job that failed where it was asked for has no end
    ms = round((ended - task["started"]).total_seconds() * 1000) if ended else None
    log.log(
        logging.DEBUG if quiet else logging.INFO if well else logging.ERROR,
        "job",
        extra=facts(job=name, success=well, ms=ms),
    )


def listen() -> None:
    """Hear of every job that a worker of ours takes."""
    pre_execute.connect(begun, dispatch_uid="longstand jobs")
    post_execute_in_worker.connect(done, dispatch_uid="longstand jobs")
