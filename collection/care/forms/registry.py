"""Which form logs which kind, and how the kinds are grouped on the page that offers them.

A kind without a form of its own takes the fields of its row.
"""

from collection.care.forms.base import CareForm
from collection.care.forms.inspection import InspectedForm
from collection.care.forms.moves import MovedForm
from collection.care.forms.own_duties import OwnDutyForm
from collection.care.forms.recommissioning import WAKING_FORMS
from collection.care.forms.tags import TagClosedForm, TagOpenedForm
from collection.care.forms.tank_and_fluids import FluidChangedForm, FuelAddedForm
from collection.care.forms.words import NotDoneForm, NoteForm
from scheduler.vocabulary.care import CARE

_OWN: dict[str, type[CareForm]] = {
    form.kind: form
    for form in (
        FuelAddedForm,
        FluidChangedForm,
        MovedForm,
        InspectedForm,
        TagOpenedForm,
        TagClosedForm,
        NotDoneForm,
        OwnDutyForm,
        NoteForm,
    )
}


def _form_of(kind: str) -> type[CareForm]:
    return _OWN.get(kind) or type("CareForm", (CareForm,), {"kind": kind})


KIND_FORMS: dict[str, type[CareForm]] = {row.code: _form_of(row.code) for row in CARE if row.topic}
_TOPICS = dict.fromkeys(row.topic for row in CARE if row.topic)
TOPICS: tuple[tuple[str, tuple[type[CareForm], ...]], ...] = tuple(
    (topic, tuple(KIND_FORMS[row.code] for row in CARE if row.topic == topic)) for topic in _TOPICS
)
# Forms of recommissioning are reached on its pages; any entry is corrected by the form of its kind.
CORRECT_FORMS: dict[str, type[CareForm]] = {**KIND_FORMS, **WAKING_FORMS}
