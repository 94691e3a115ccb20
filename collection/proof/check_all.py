"""Whether everything recorded is as it was chained, signed and stored: each chain, statement and file."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from collection.care.queries.attachments import bytes_of
from collection.care.queries.settings import named
from collection.chain.check_series import check_series
from collection.chain.verdict import KINDS, Fault
from collection.chain.verify import name_of_subject, verify
from collection.models import Attachment, Chain, Vehicle
from collection.proof.actions import export_history, export_settings
from collection.proof.queries import lost_chains, series


@dataclass(frozen=True)
class Proof:
    """What a look at everything found."""

    cars: int
    faulty_cars: int
    faults: list[str]

    @property
    def sound(self) -> bool:
        """Whether nothing was found."""
        return not self.faults


def prove(now: datetime, witnesses: Sequence[bytes] = (), keys: Sequence[str] = ()) -> Proof:
    """Verify the chain of every car, site and organisation, and every series of statements."""
    cars = faulty = 0
    faults: list[str] = []
    for car in Vehicle.objects.select_related("organisation").order_by("pk").iterator():
        verdict = verify(export_history(car, now=now), witnesses=witnesses, keys=keys)
        cars += 1
        faulty += not verdict.sound
        faults += [told(fault, f"{car} (number {car.pk}), {car.organisation}: ") for fault in verdict.faults]
    for chain in Chain.objects.filter(vehicle=None).select_related("organisation").order_by("pk"):
        verdict = verify(export_settings(chain, now=now), witnesses=(), keys=keys)
        where = f"{name_of_subject(verdict.history or {'car': named(chain)})}, {chain.organisation}: "
        faults += [told(fault, where) for fault in verdict.faults]
    return Proof(cars, faulty, [*faults, *(told(fault) for fault in _of_statements())])


def _of_statements() -> Iterator[Fault]:
    for files in series():
        yield from check_series(files)
    for chain in lost_chains():
        yield Fault("deleted", 0, f"The chain {chain} is gone.")


def told(fault: Fault, where: str = "") -> str:
    """One fault in words."""
    return f"FAULT ({KINDS[fault.kind]}). {where}{fault.text}"


def faulty_attachments() -> list[Attachment]:
    """Attachments whose bytes are gone or are no longer those that came."""
    rows = Attachment.objects.select_related("entry__vehicle").order_by("digest", "pk")
    return [row for row in rows.iterator() if bytes_of(row) is None]
