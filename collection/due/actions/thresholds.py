"""An organisation's own thresholds in place of our defaults."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.life.actions import recompute_after
from collection.life.core.choices import thresholds
from collection.models import Organisation, Person, Threshold


@dataclass(frozen=True)
class OwnValue:
    """A value in the threshold's own unit, and why it differs from the default."""

    value: float
    reason: str


@transaction.atomic
def save_thresholds(
    *, organisation: Organisation, own: Mapping[str, OwnValue], by: Person | None, today: date, now: datetime
) -> None:
    """Keep exactly these own values; every other threshold goes back to its default.

    ValidationError names its fields ``name-field`` (``recharge_soc-value``).
    """
    _check(own)
    with settings_recorded([organisation], Edit(by, now)):
        organisation.thresholds.exclude(name__in=own).delete()
        for name, it in own.items():
            Threshold.objects.update_or_create(
                organisation=organisation, name=name, defaults={"value": it.value, "reason": it.reason}
            )
    recompute_after("thresholds changed", organisation=organisation, today=today, now=now)


def _check(own: Mapping[str, OwnValue]) -> None:
    terms = {term.name: term for term in thresholds()}
    faults = {}
    for name, it in own.items():
        if name not in terms:
            faults[f"{name}-value"] = f"“{name}” is not one of the intervals and limits: take it out."
        elif not terms[name].low <= it.value <= terms[name].high:
            limits = f"{terms[name].low:g} to {terms[name].high:g} {terms[name].unit}"
            faults[f"{name}-value"] = f"{terms[name].label}: give a value from {limits}."
        elif not it.reason.strip():
            faults[f"{name}-reason"] = f"{terms[name].label}: say why your value differs from the default."
    if faults:
        raise ValidationError(faults)
