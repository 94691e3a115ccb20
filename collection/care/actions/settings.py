"""Writing down what is set for sites and organisations: rows change here only, each save an entry of a chain.

Whoever changes a site, its climate, buildings or bays, an organisation's limits or prices does so inside
``settings_recorded``: rows and entries are stored together.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.chain import add_links, pseudonyms
from collection.care.actions.record import Edit
from collection.care.queries.clock import CLOCK_BEHIND, clock_behind_chain
from collection.care.queries.settings import named, setting_facts
from collection.chain.replay import timeline
from collection.life.settings import (
    Subject,
    Values,
    as_set,
    organisation_of,
    stands,
    subject_of,
    zone_of_settings,
)
from collection.models import Chain, Organisation, SettingEntry

FIRST_YEAR = 1885  # policy: no building has kept a car for longer


@contextmanager
def settings_recorded(things: Sequence[Subject], edit: Edit) -> Iterator[None]:
    """Change inside what is set for these; what became another value is written down, an entry for each.

    A site that is new has no key yet. ValidationError (field ``since``) where it cannot be so since that day;
    then nothing is stored.
    """
    with transaction.atomic():
        before = [_before(thing, edit) for thing in things]
        yield
        for thing, known in zip(things, before, strict=True):
            if known is None:
                open_settings(thing, edit)
            else:
                _write_changes(*known, edit)


def open_settings(thing: Subject, edit: Edit) -> None:
    """Write down all that is set as it stands; nobody says since when."""
    chain = _chain(organisation_of(thing), subject_of(thing))
    facts = {
        name: {"was": None, "now": value, "since": None}
        for name, value in stands(organisation_of(thing), chain.subject).items()
    }
    _write(chain, facts, edit, opening=True)


def _before(thing: Subject, edit: Edit) -> tuple[Chain, Values] | None:
    """The chain of what is set, and what it holds; None where the thing is new."""
    if thing.pk is None:
        return None
    Organisation.objects.select_for_update().get(pk=organisation_of(thing))  # one writer an organisation
    chain = _chain(organisation_of(thing), subject_of(thing))
    if not chain.setting_entries.exists():
        open_settings(thing, Edit(None, edit.now))
    return chain, stands(organisation_of(thing), chain.subject)


def _chain(organisation: int, subject: str) -> Chain:
    return Chain.objects.get_or_create(organisation_id=organisation, subject=subject)[0]


def _write_changes(chain: Chain, before: Values, edit: Edit) -> None:
    after = stands(chain.organisation_id or 0, chain.subject)
    changed = sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))
    if not changed:
        return
    zone = zone_of_settings(chain.organisation_id or 0)
    today = edit.now.astimezone(zone).date()
    since = edit.since or today
    if fault := _fault(since, today):
        raise ValidationError({"since": fault})
    facts: dict[str, dict[str, Any]] = {
        name: {"was": before.get(name), "now": after.get(name), "since": since.isoformat()}
        for name in changed
    }
    if edit.corrects:
        _point_back(chain, facts)
    moment = datetime.combine(since, time(), zone)
    _write(chain, facts, edit, moment=moment if since < today and not edit.corrects else None)


def _fault(since: date, today: date) -> str:
    if since > today:
        return "This is in the future: give today or an earlier day."
    if since.year < FIRST_YEAR:
        return f"This is before there were cars: give a year from {FIRST_YEAR}."
    return ""


def _point_back(chain: Chain, facts: dict[str, dict[str, Any]]) -> None:
    """Let each fact name the entry that it corrects, and hold since that one did."""
    written = [as_set(entry) for entry in chain.setting_entries.order_by("link__seq")]
    opening = next(entry for entry in reversed(written) if entry["details"]["opening"])
    for name, fact in facts.items():
        line = timeline(written, name)
        fact |= {
            "since": line[-1].since if line else None,
            "corrects": line[-1].entry if line else opening["id"],
        }


def _write(
    chain: Chain,
    facts: Mapping[str, Mapping[str, Any]],
    edit: Edit,
    *,
    opening: bool = False,
    moment: datetime | None = None,
) -> None:
    behind = clock_behind_chain(chain, edit.now)
    entry = SettingEntry(
        chain=chain,
        by=edit.by,
        done_at=moment or edit.now + behind,
        recorded_at=edit.now + behind,
        facts={**facts, **_clock(behind)},
        opening=opening,
    )
    by = pseudonyms({entry.by_id})[entry.by_id] if entry.by_id else ""
    [entry.link] = add_links(chain, [setting_facts(entry, by=by)], [None], of=named(chain))
    entry.save(force_insert=True)


def _clock(behind: timedelta) -> dict[str, int]:
    return {CLOCK_BEHIND: round(behind.total_seconds())} if behind else {}
