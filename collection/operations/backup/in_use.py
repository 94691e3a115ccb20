"""Somebody has the database open that is to be replaced."""


class InUse(Exception):
    """The site or a worker still runs."""

    def __str__(self) -> str:
        return "The database is in use: stop the site first (serve, and every worker), then restore again."
