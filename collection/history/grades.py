"""How well each statement of a history is known, from 1 (best) to 4.

The grades follow the order in which a buyer weighs evidence: a document of the time by somebody
without an interest, the keeper's own record with a reading or photo, what somebody says, and what
is only worked out (common practice).
"""

from collection.history.queries.history import recorded_late
from collection.models import Basis, Entry

GRADES = {
    1: "document made at the time by a third party",
    2: "record made at the time, with a reading or photo",
    3: "statement: made later, or at the time without a reading or photo",
    4: "inference: worked out from the record, the place's air and published rates",
}
DOCUMENT, RECORD, STATEMENT, INFERENCE = GRADES
OF_BASIS = {
    Basis.DOCUMENT: DOCUMENT,
    Basis.CARE_LOG: STATEMENT,
    Basis.OWNER: STATEMENT,
    Basis.INFERRED: INFERENCE,
}


def grade_of(entry: Entry) -> int:
    """An entry's grade; it must come with its readings and attachments."""
    measured = isinstance(entry.details.get("value"), int | float)  # at a step of recommissioning
    seen = measured or bool(entry.readings.all()) or bool(entry.attachments.all())
    return RECORD if seen and not recorded_late(entry) else STATEMENT
