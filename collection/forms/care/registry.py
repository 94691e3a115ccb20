"""Which form logs which kind, and how the kinds are grouped on the page that offers them."""

from collection.forms.care.base import CareForm
from collection.forms.care.battery import BatteryReadingForm, ChargeForm, MaintainerForm
from collection.forms.care.engine import RunUpForm
from collection.forms.care.fluids import FluidChangedForm, FluidReadingForm
from collection.forms.care.fuel import FuelAddedForm, FuelDrainedForm, StabiliserForm
from collection.forms.care.inspection import InspectedForm
from collection.forms.care.moves import MovedForm
from collection.forms.care.tags import TagClosedForm, TagOpenedForm
from collection.forms.care.tyres import TyrePressuresForm
from collection.forms.care.waking import WAKING_FORMS
from collection.forms.care.words import NotDoneForm, NoteForm

TOPICS: tuple[tuple[str, tuple[type[CareForm], ...]], ...] = (
    ("Battery", (ChargeForm, BatteryReadingForm, MaintainerForm)),
    ("Engine and moving", (RunUpForm, MovedForm)),
    ("Fuel", (StabiliserForm, FuelAddedForm, FuelDrainedForm)),
    ("Fluids", (FluidChangedForm, FluidReadingForm)),
    ("Round the car", (InspectedForm, TyrePressuresForm)),
    ("Tags", (TagOpenedForm, TagClosedForm)),
    ("In words", (NoteForm, NotDoneForm)),
)
KIND_FORMS: dict[str, type[CareForm]] = {form.kind: form for _, forms in TOPICS for form in forms}
# Forms of the waking pages are reached there; any entry is corrected by the form of its kind.
CORRECT_FORMS: dict[str, type[CareForm]] = {**KIND_FORMS, **WAKING_FORMS}
