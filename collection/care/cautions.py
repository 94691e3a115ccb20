"""Which cautions stand at a step: those of its kind of entry, or closer to the work where that is known."""

from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.cautions import CAUTION, DEFER, Caution
from scheduler.vocabulary.duties import DUTY

__all__ = ["DEFER", "Caution", "cautions_for"]


def cautions_for(kind: str, duty: str = "") -> tuple[Caution, ...]:
    """The cautions of a kind of entry, or of the duty that it answers."""
    row = DUTY[duty] if duty in DUTY else KIND.get(kind)
    return tuple(CAUTION[code] for code in row.cautions) if row else ()
