"""All checks in their order; one that fails itself is a finding and stops no other."""

from collections.abc import Iterator
from typing import NamedTuple

from collection.life.settings import unwritten
from collection.operations.doctor import database, files, program, surroundings, work
from collection.operations.doctor.finding import Check, Finding, Look
from collection.proof.check_all import prove
from collection.proof.queries import unopened


class Named(NamedTuple):
    """A check and what it looks at."""

    title: str
    check: Check


def chains(look: Look) -> Iterator[Finding]:
    """Every chain and every statement holds; only when everything is to be read."""
    if look.deep:
        for fault in prove(look.now).faults:
            yield Finding(
                fault, "Compare with a backup (manage.py restore into another folder) and with saved proofs."
            )


def records(look: Look) -> Iterator[Finding]:
    """Every car's record stands in its chain, and so does what is set for sites and organisations."""
    for car in unopened() if look.deep else ():
        yield Finding(
            f"The record of {car} (number {car.pk}) stands in no chain.",
            "Save a part of its record once: that writes all of it down.",
        )
    for thing in unwritten() if look.deep else ():
        yield Finding(
            f"What is set for {thing} stands in no chain.",
            "Save a part of it once: that writes all of it down.",
        )


ALONE = (
    Named("Python", program.python),
    Named("Packages", program.packages),
    Named("Time zones", program.zones),
    Named("Static files", program.static_files),
    Named("Typesetting", program.typesetting),
    Named("Mode", surroundings.mode),
    Named("Hosts", surroundings.hosts),
    Named("HTTPS", surroundings.https),
    Named("Secret key", surroundings.secret),
    Named("Mail", surroundings.mail),
    Named("Folders", files.folders),
    Named("Broken-off restore", files.restore),
    Named("Key files", files.keys),
    Named("Files for their owner only", files.private),
    Named("Room on the disk", files.room),
)
REACHABLE = Named("Database", database.reachable)
FORM = Named("Form of the database", database.migrations)
# these read tables, and so need a database of the form that this version knows
WITH_DATABASE = (
    Named("Rules of the framework", surroundings.rules),
    Named("Write-ahead log", database.write_ahead),
    Named("Database file", database.whole),
    Named("Guards", database.triggers),
    Named("Signing key", files.signing),
    Named("Attachments", files.attachments),
    Named("Worker", work.worker),
    Named("Schedules", work.schedules),
    Named("Waiting jobs", work.queue),
    Named("Failed jobs", work.failures),
    Named("Forecasts", work.forecasts),
    Named("Backups", work.backups),
    Named("Rehearsed backups", work.rehearsals),
    Named("Clock", work.clock),
    Named("Chains", chains),
    Named("Records", records),
)


def examine(look: Look) -> Iterator[tuple[str, list[Finding]]]:
    """Each check with what it found, one after the other."""
    for named in ALONE:
        yield named.title, findings_of(named.check, look)
    for gate in (REACHABLE, FORM):
        findings = findings_of(gate.check, look)
        yield gate.title, findings
        if findings:
            return
    for named in WITH_DATABASE:
        yield named.title, findings_of(named.check, look)


def findings_of(check: Check, look: Look) -> list[Finding]:
    """What a check finds; what it stumbles over counts as found."""
    try:
        return list(check(look))
    except Exception as error:  # a check must not keep the others from being made
        first = (str(error).splitlines() or [""])[0]
        return [Finding(f"This could not be looked at: {type(error).__name__}: {first}", "Report it.")]
