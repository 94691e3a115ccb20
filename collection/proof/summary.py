"""What a reader may compare with the exported file: how far the chain goes, its head, the key."""

from dataclasses import dataclass
from datetime import datetime

from collection.chain.signing import fingerprint, public_key
from collection.host.installation_key import installation_key
from collection.models import Chain, Vehicle
from collection.proof.queries import newest_statement, witnessed_since
from collection.web.templatetags.longstand import day


@dataclass(frozen=True)
class ProofSummary:
    """The chain's length and head, when and how far a statement covered it, since when it is witnessed."""

    entries: int
    head: str
    stated_at: datetime | None
    stated_to: int
    key: str
    witnessed: datetime | None = None  # since when somebody outside has seen it

    @property
    def brief(self) -> str:
        """The same in a few words, for whoever looks at much else."""
        entries = "1 entry" if self.entries == 1 else f"{self.entries:,} entries"
        if self.stated_at is None:
            return f"Chain of {entries}, not signed yet"
        to = "to its end" if self.stated_to == self.entries else f"to entry {self.stated_to:,}"
        return f"Chain of {entries}, signed {to} on {day(self.stated_at)}"

    @property
    def words(self) -> str:
        """What covers what."""
        entries = "1 entry" if self.entries == 1 else f"{self.entries} entries"
        stated = (
            f"A signed statement of {day(self.stated_at)} covers it up to entry {self.stated_to}."
            if self.stated_at
            else "No signed statement covers it yet."
        )
        return f"The log is a chain of {entries} in which each covers all before it. {stated}"


def summarise_proof(vehicle: Vehicle) -> ProofSummary | None:
    """The seal of a car's chain; none where nothing is chained yet."""
    chain = Chain.objects.filter(vehicle=vehicle).first()
    last = chain.links.order_by("-seq").first() if chain else None
    if chain is None or last is None:
        return None
    stated_at, stated_to = newest_statement(chain)
    key = fingerprint(public_key(installation_key()))
    return ProofSummary(last.seq, last.digest, stated_at, stated_to, key, witnessed_since(vehicle))
