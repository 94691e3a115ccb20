"""Lines of a log: JSON for machines, text for people; each knows the request or job that it belongs to."""

import json
import logging
import traceback
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from collection.web.logs.paths import shown_path

# what the event at hand belongs to: a request's or a job's own identifier
current: ContextVar[str] = ContextVar("current", default="")
FACTS = "facts"  # the attribute of a record that holds its fields


def facts(**fields: Any) -> dict[str, dict[str, Any]]:
    """Fields for ``extra=``; what is None is left out."""
    return {FACTS: {name: value for name, value in fields.items() if value is not None}}


class JsonLine(logging.Formatter):
    """An event as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """Time in UTC, level, who speaks, what happened, then the event's own fields."""
        line = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "event": _event(record),
        }
        if current.get():
            line["id"] = current.get()
        line |= getattr(record, FACTS, {})
        if record.exc_info:
            line["error"] = "\n".join(_without_values(record.exc_info))
        return json.dumps(line, default=str, ensure_ascii=False)


class TextLine(logging.Formatter):
    """An event as one line to read, with what went wrong below it."""

    def format(self, record: logging.LogRecord) -> str:
        """Time, level, who speaks, what happened, fields."""
        at = datetime.fromtimestamp(record.created, UTC)
        fields = " ".join(f"{name}={value}" for name, value in getattr(record, FACTS, {}).items())
        head = f"{at:%Y-%m-%d %H:%M:%S} {record.levelname} {record.name}: {_event(record)}"
        trace = _without_values(record.exc_info) if record.exc_info else []
        return "\n".join([f"{head} {fields}".rstrip(), *trace])


def _event(record: logging.LogRecord) -> str:
    """What happened; where it quotes an error, without the lines in which a database quotes the row."""
    return "\n".join(line for line in record.getMessage().splitlines() if not line.startswith("DETAIL:"))


def _without_values(info: Any) -> list[str]:
    """Where it went wrong and with which error; a database's DETAIL, which quotes the row, is left out."""
    kind, error, trace = info
    if kind is None:
        return []
    frames = [line.rstrip() for line in traceback.format_tb(trace)]
    first = (str(error).splitlines() or [""])[0]
    return [*frames, f"{kind.__module__}.{kind.__qualname__}: {first}"]


class HidesAddresses(logging.Filter):
    """Django names the address in its own warnings: say the address as we say it, without tokens."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Every record passes, changed where it names an address."""
        request = getattr(record, "request", None)
        if request is not None and isinstance(record.args, tuple):
            path = shown_path(request)
            record.args = tuple(path if each == request.path else each for each in record.args)
        return True
