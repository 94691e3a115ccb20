"""What a sensor last said, in the person's units."""

from collection.models import Sensor
from collection.web.units import Edge
from scheduler.vocabulary.sensed import SENSED


def latest_values(sensor: Sensor, edge: Edge) -> list[str]:
    """Each value with its unit, tyres by their place."""
    words = []
    for row in SENSED:
        unit = edge.unit(row.unit)
        for position in row.positions or (None,):
            value = sensor.last.get(f"{row.code} {position.code}" if position else row.code)
            if value is not None:
                where = f"{position.title.lower()} " if position else ""
                words.append(f"{where}{unit.format(value, '.4g')}")
    return words
