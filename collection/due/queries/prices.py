"""What things cost an organisation."""

from collection.models import Organisation, Rate


def own_rates(organisation: Organisation | int) -> dict[str, float]:
    """The organisation's own rates by name; the rest keep their defaults."""
    return dict(Rate.objects.filter(organisation=organisation).values_list("name", "value"))
