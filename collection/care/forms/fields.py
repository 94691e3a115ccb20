"""The fields that a kind of care asks for, each with the limits of its row; and the field for files."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.utils.text import capfirst

from collection.care.attachments import JPEG, MOST_BYTES, MOST_FILES, PDF
from collection.care.rules import ASKS, LIMITS, REST, TEMPERATURE
from collection.web.measures import NOT_KNOWN, MeasureField
from scheduler.vocabulary.details import Along, Choice, Detail, Flag, Number, Reading, Row, Text, Words
from scheduler.vocabulary.quantities import QUANTITY


def fields_of(kind: str) -> dict[str, forms.Field]:
    """The fields that a kind of care asks for, by the name of the detail or reading that each becomes."""
    return {name: field for ask in ASKS[kind] for name, field in _fields(ask)}


def _fields(ask: Detail | Reading | Along) -> Iterator[tuple[str, forms.Field]]:
    if isinstance(ask, Reading):
        yield from _readings(ask)
    elif isinstance(ask, Along):
        yield ask.key, _number({TEMPERATURE.key: TEMPERATURE, REST.key: REST}[ask.key], ask.asked)
    elif ask.in_form and not isinstance(ask, Row | Words):  # these are chosen in a form of their own
        yield ask.key, _detail(ask)


def _readings(ask: Reading) -> Iterator[tuple[str, forms.Field]]:
    if not ask.in_form:
        return
    row, rule = QUANTITY[ask.quantity], LIMITS[ask.quantity]
    given: Any = {"quantity": row.code, "read_in": row.read_in, "help_text": ask.help}
    titles = {position.code: position.title for position in row.positions}
    for code in ask.positions or titles:
        label = (ask.asked or row.position_title).format(titles[code])
        yield f"{row.code}_{code}", _number(rule, label, position=code, **given)
    if not titles:
        yield row.code, _number(rule, ask.asked, **given)


def _number(rule: Number, label: str, **kwargs: Any) -> MeasureField:
    return MeasureField(
        name=label or rule.label,
        stored_as=rule.unit,
        low=rule.low,
        high=rule.high,
        required=rule.required,
        widget=forms.NumberInput,  # a phone without a signal checks what is typed
        **kwargs,
    )


def _detail(ask: Detail) -> forms.Field:
    shown: Any = {"label": ask.asked or ask.label, "help_text": ask.help}
    match ask:
        case Number():
            return _number(ask, ask.asked, help_text=ask.help)
        case Flag():
            return forms.BooleanField(required=False, **shown)  # a person ticks it, nobody else
        case Choice():
            pairs = [(code, capfirst(words)) for code, words in ask.choices]
            return forms.ChoiceField(
                required=ask.required,
                choices=pairs if ask.required else [("", NOT_KNOWN), *pairs],
                widget=forms.RadioSelect if ask.required else None,
                **shown,
            )
        case Text():
            return forms.CharField(required=ask.required, max_length=ask.limit, **shown)
    raise TypeError(f"{ask.key} needs a form of its own")


class FilesInput(forms.ClearableFileInput):
    """The phone's camera roll and files; several at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Photographs and documents that go with an entry; what is in them is checked by the form."""

    widget = FilesInput

    def __init__(self) -> None:
        text = f"JPEG, PNG, WebP or PDF, at most {MOST_FILES}, each up to {MOST_BYTES / 1e6:.0f} MB."
        limits = {
            "data-most": MOST_FILES,
            "data-bytes": MOST_BYTES,
        }  # for the phone, which checks before it keeps
        accept = {"accept": f"{JPEG},image/png,image/webp,{PDF}"} | limits
        super().__init__(
            label="Photographs and documents", required=False, help_text=text, widget=FilesInput(accept)
        )

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """Each file by Django's own checks; none is an empty list."""
        sent = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(one, initial) for one in sent if one]
