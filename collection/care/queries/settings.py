"""What is set for a site or an organisation in the form in which it is chained."""

from collection.chain.links import Facts, saved_facts
from collection.life.settings import OF_ORGANISATION, OF_SITE, as_set
from collection.models import Chain, SettingEntry, Site


def setting_facts(entry: SettingEntry, *, by: str) -> Facts:
    """An entry of what is set in the form of every entry of a chain; ``by`` is its author's pseudonym."""
    return as_set(entry) | saved_facts(entry, by=by)


def named(chain: Chain) -> Facts:
    """Of what a chain of settings is; a site that is gone keeps the name that it had last."""
    if chain.subject == OF_ORGANISATION:
        return {"of": OF_ORGANISATION, "name": str(chain.organisation)}
    site = Site.objects.filter(pk=int(chain.subject.removeprefix(OF_SITE))).first()
    last = None if site else chain.links.order_by("-seq").first()
    return {"of": chain.subject, "name": site.name if site else last.car["name"] if last else ""}
