"""The last time of each of the five events, from the record and the care log together."""

from datetime import date

from collection.life.core.gather import gather
from collection.life.core.store import as_date
from collection.models import LastEvent, Vehicle


def last_times(vehicle: Vehicle, *, today: date) -> dict[str, date]:
    """The later of the recorded and the logged day of each event that is known at all."""
    fleet = gather([vehicle.pk], today=today).fleet
    days = {event: as_date(float(getattr(fleet, f"last_{event}")[0])) for event in LastEvent.values}
    return {event: day for event, day in days.items() if day}
