"""What things cost an organisation."""

from collection.models import Organisation


def own_rates(organisation: Organisation) -> dict[str, float]:
    """The organisation's own rates by name; the rest keep their defaults."""
    return dict(organisation.rates.values_list("name", "value"))
