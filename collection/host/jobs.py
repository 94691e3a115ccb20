"""The queue of background jobs: it wakes workers and may lose a job; what must be done stands in tables.

In the database a job is taken by comparing and setting its lock time, so by one cluster; one that is not
acknowledged comes back after ``JOB_RETRY_S``. Redis gives each job once and forgets it. Neither is relied on.
"""

import logging

from django_q.brokers import get_broker
from django_q.tasks import async_task

log = logging.getLogger(__name__)


def leave(func: str, *args: object, **options: object) -> None:
    """Leave a job to the workers. A queue that is away loses the job and no more: it is left again later."""
    try:
        async_task(func, *args, **options)
    except Exception:
        log.exception("the queue took no job: %s%s", func, args)


def waiting() -> int | None:
    """How many jobs no worker has taken yet; None where the queue does not answer."""
    from redis import RedisError  # a client that only an installation with a Redis server needs

    try:
        return int(get_broker().queue_size())
    except RedisError:
        return None
