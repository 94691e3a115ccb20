"""A logger's file is understood in a child of its own: see ``host.contained``."""

from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime

import numpy as np

from collection.host.child import Facts, Tell
from collection.host.contained import Share, read_apart
from collection.loggers.core.stream import Battery
from collection.loggers.core.understood import Understood
from collection.loggers.reading.layout import Layout
from scheduler.loggers import Hours

# policy: three years at every minute take some ten seconds and 700 MB; addresses are more than memory
SHARE = Share("loggers", at_once=1, cpu_s=240, wall_s=400.0, memory=4_000_000_000, answer=100_000_000)
COLUMNS = 2  # temperature and humidity, or volts and temperature


def understand_apart(  # a file, and all that it takes to read it; keywords only
    data: bytes,
    *,
    layout: Layout | None,
    zone: str,
    battery: Battery | None,
    now: datetime,
    tell: Callable[[str], None],
) -> Understood:
    """As ``understand``; Refused also where the file would take too much, or others are being read."""
    facts = {
        "layout": layout.as_json() if layout else None,
        "zone": zone,
        "battery": asdict(battery) if battery else None,
        "now": now.isoformat(),
    }
    answer, rows = read_apart(understand_here, data, facts, share=SHARE, tell=tell)
    table = np.frombuffer(rows).reshape(2 + 3 * COLUMNS, -1)
    mean, least, most = table[2:].reshape(3, COLUMNS, -1)
    hours = Hours(table[0].astype(np.int64), mean, least, most, table[1])
    return Understood(Layout.from_json(answer["layout"]), answer["facts"], hours)


def understand_here(data: bytes, facts: Facts, tell: Tell) -> tuple[Facts, bytes]:
    """In the child; the hours go back as one table of doubles."""
    from collection.loggers.core.understand import understand  # polars: 40 MB that no page needs

    understood = understand(
        data,
        layout=Layout.from_json(facts["layout"]) if facts["layout"] else None,
        zone=facts["zone"],
        battery=Battery(**facts["battery"]) if facts["battery"] else None,
        now=datetime.fromisoformat(facts["now"]),
        tell=tell,
    )
    hours = understood.hours
    rows = np.vstack([hours.hour, hours.covered, hours.mean, hours.least, hours.most])
    return {"layout": understood.layout.as_json(), "facts": understood.facts}, rows.tobytes()
