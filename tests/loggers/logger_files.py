"""Files of loggers for tests, written as loggers write them."""

from datetime import UTC, datetime, timedelta

import numpy as np

BEGIN = datetime(2025, 1, 1, tzinfo=UTC)


def air(hour):
    """A year's air in °C and %, of hours since 1970."""
    day = hour / 24.0
    warm = (
        9.0 - 8.0 * np.cos(2 * np.pi * (day - 20.0) / 365.25) + 4.0 * np.cos(2 * np.pi * (hour - 15.0) / 24.0)
    )
    return warm, 75.0 - 1.5 * (warm - 9.0)


def air_csv(begin=BEGIN, days=365, step_min=60, warmer_c=0.0, heading="Date Time,Temp (°C),RH (%)"):
    """A file of air in UTC."""
    count = days * 1440 // step_min
    moments = [begin + timedelta(minutes=step_min * i) for i in range(count)]
    hour = np.array([moment.timestamp() / 3600.0 for moment in moments])
    warm, damp = air(hour)
    rows = (
        f"{m:%Y-%m-%d %H:%M:%S}Z,{w + warmer_c:.2f},{d:.1f}"
        for m, w, d in zip(moments, warm, damp, strict=True)
    )
    return "\n".join([heading, *rows, ""]).encode()


def volts_csv(begin=BEGIN, days=120, step_min=10, start_v=12.75, a_day_v=0.004, charges=(), falls=()):
    """A file of volts in UTC: a slow fall, ``charges`` (day, hours), ``falls`` (day, volts)."""
    count = days * 1440 // step_min
    day = np.arange(count) * step_min / 1440.0
    volts = np.full(count, start_v) - a_day_v * day
    for at, by in falls:
        volts -= by * np.clip((day - at) / 0.5, 0.0, 1.0)
    for at, hours in charges:
        on = (day >= at) & (day < at + hours / 24.0)
        after = day >= at + hours / 24.0
        volts[after] += start_v - volts[after][0] if after.any() else 0.0
        volts[after] += 0.35 * np.exp(-(day[after] - at - hours / 24.0) * 24.0 / 3.0)
        volts[on] = 14.3
    moments = (begin + timedelta(minutes=step_min * i) for i in range(count))
    rows = (f"{m:%Y-%m-%dT%H:%M:%S}Z;{v:.3f}" for m, v in zip(moments, volts, strict=True))
    return "\n".join(["Time;Battery (V)", *rows, ""]).encode()
