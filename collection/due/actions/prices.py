"""What things cost an organisation, in place of our defaults."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.due.core.prices import terms
from collection.models import Organisation, Rate
from collection.web.faults import check


@transaction.atomic
def save_rates(*, organisation: Organisation, own: Mapping[str, float], money: str, edit: Edit) -> None:
    """Keep exactly these rates as own; every other goes back to its default."""
    known, faults = {term.name: term for term in terms()}, {}
    for name, value in own.items():
        if name not in known:
            faults[name] = f"“{name}” is not one of the prices: take it out."
        elif not known[name].low <= value <= known[name].high:
            limits = f"{known[name].low:g} to {known[name].high:g}"
            faults[name] = f"{known[name].label}: give a value from {limits}."
    if faults:
        raise ValidationError(faults)
    organisation.money = money.strip()
    check(organisation, {})
    with settings_recorded([organisation], edit):
        organisation.save(update_fields=["money"])
        organisation.rates.exclude(name__in=own).delete()
        for name, value in own.items():
            Rate.objects.update_or_create(organisation=organisation, name=name, defaults={"value": value})
