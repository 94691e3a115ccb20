"""What an action refuses, shown at the fields of the forms that were sent."""

from collections.abc import Callable, Sequence

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms import BaseForm


def saved(forms: Sequence[BaseForm], act: Callable[[], object]) -> bool:
    """Whether every form was good and the action took them; if not, each form says what to mend."""
    if any(list(map(_faulty, forms))):  # a list, so that every form tells its faults
        return False
    try:
        act()
    except ValidationError as fault:
        show(forms, fault)
        return False
    return True


def _faulty(form: BaseForm) -> bool:
    return not form.is_valid()


def show(forms: Sequence[BaseForm], fault: ValidationError) -> None:
    """Put each fault at its field (``prefix-field`` among several forms), the rest above the first form."""
    if not hasattr(fault, "error_dict"):
        forms[0].add_error(None, fault)
        return
    homes = {form.add_prefix(name): (form, name) for form in forms for name in form.fields}
    if len(forms) == 1:  # a lone form's fields are also known by their bare names
        homes |= {name: (forms[0], name) for name in forms[0].fields}
    for key, texts in fault.message_dict.items():
        form, name = homes.get(key, (forms[0], None))
        if name is None and key != NON_FIELD_ERRORS:
            texts = [f"{key.replace('_', ' ').capitalize()}: {text}" for text in texts]
        for text in texts:
            form.add_error(name, text)
