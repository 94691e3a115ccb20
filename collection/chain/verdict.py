"""What the verifier says: faults, and remarks that a careful reader wants to know."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

# what each kind of fault means, in the words of the report
KINDS = {
    "file": "the file is not as it was written",
    "signature": "the file's signature is wrong",
    "edited": "an entry was edited",
    "readings": "readings were changed",
    "deleted": "something was taken out",
    "inserted": "something was put in",
    "reordered": "the order was changed",
    "link": "a link of the chain was changed",
    "anchor": "the chain does not match a signed statement",
    "backdated": "an entry claims an earlier time of recording than the statements allow",
    "witness": "the history does not match what you hold from before",
    "record": "the record is not what its entries say",
    "stamp": "a time stamp does not fit",
    "countersignature": "a countersignature does not fit",
    "attachment": "a photograph or document is not the one that came with its entry",
    "identity": "the car was called something else when its entries were chained",
    "key": "signed with another key than you expected",
}


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong; ``seq`` is the number of the entry in its chain, 0 for the whole file."""

    kind: str
    seq: int
    text: str


@dataclass
class Verdict:
    """Everything that was found; sound when no fault was."""

    faults: list[Fault] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    history: Mapping[str, Any] | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def name_of(entry: Mapping[str, Any]) -> str:
    """An entry in a few words."""
    return f"{entry['kind'].replace('_', ' ')} of {entry['done_at'][:10]}"
