"""Evidence that came with a car: stored exactly as it was chained, if our own pages could write it."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError

from collection.care.queries.evidence import DAYS, EVIDENCE, TOLD, evidence_facts
from collection.handover.actions.arrived_log import authors_of, refused, uuid_of
from collection.models import Attachment, Chain, Evidence, Grade, Link, Person, Vehicle
from collection.recommission.core.standing import evidence_faults

NOT_OURS = "Evidence in it does not read as ours"


def add_evidence(vehicle: Vehicle, chain: Chain, history: Mapping[str, Any], have: int) -> None:
    """What former keepers found on the car, beyond the first ``have``; its documents are files of the log."""
    new = [entry for entry in history["entries"][have:] if entry["kind"] == EVIDENCE]
    if not new:
        return
    authors = authors_of(new, history["people"])
    seq = {link["entry"]: link["seq"] for link in history["links"]}
    links = {row.seq: row for row in chain.links.filter(entry=None)}
    files = {file.digest: file for file in Attachment.objects.filter(entry__vehicle=vehicle)}
    known = {str(pk) for pk in vehicle.evidence.values_list("pk", flat=True)}
    for facts in new:
        row = _row(facts, vehicle, authors[facts["by"]], links[seq[facts["id"]]])
        if facts["corrects"] and facts["corrects"] not in known:
            raise refused("Evidence corrects other evidence that does not stand before it")
        if facts["attachments"]:
            row.document = files.get(facts["attachments"][0]["digest"])
        _check(row, facts)
        row.save(force_insert=True)
        known.add(facts["id"])


def _row(facts: Mapping[str, Any], vehicle: Vehicle, by: Person, link: Link) -> Evidence:
    details = facts["details"]
    if not details.keys() <= {"kind", *TOLD}:
        raise refused(NOT_OURS)
    written, chained = (datetime.fromisoformat(facts[name]) for name in ("done_at", "recorded_at"))
    try:
        days = {name: date.fromisoformat(details[name]) for name in DAYS if name in details}
    except (TypeError, ValueError) as error:
        raise refused(NOT_OURS) from error
    return Evidence(
        pk=uuid_of(facts["id"]),
        vehicle=vehicle,
        link=link,
        by=by,
        note=facts["note"],
        corrects_id=uuid_of(facts["corrects"]) if facts["corrects"] else None,
        idempotency_key=facts["key"],
        recorded_at=written,
        chained_at=chained if chained != written else None,
        **{**details, **days},
    )


def _check(row: Evidence, facts: Mapping[str, Any]) -> None:
    try:
        row.clean_fields(exclude=["vehicle", "link", "by", "corrects", "document"])
        faults = [text for _, text in evidence_faults(row, [], today=row.recorded_at.date())]
    except ValidationError as fault:
        faults = fault.messages
    except (TypeError, ValueError, AttributeError):  # values of kinds that no page of ours writes
        faults = ["its values are not of their kinds"]
    if row.grade == Grade.DOCUMENT and row.document is None:
        faults = ["its document is missing"]
    if not faults and evidence_facts(row, by=facts["by"]) != facts:
        faults = ["its document or a value is not as it was chained"]
    if faults:
        raise refused(f"{NOT_OURS}: {'; '.join(faults)}")
