"""Hours, opening, equipment, days off, ways: what a site has to work with."""

from collections.abc import Iterable
from datetime import time
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import QueryDict

from collection.life.duties import DUTY_TITLES
from collection.models import Building, EquipmentKind, Hand, Person, Site, Weekday
from collection.web.measures import DayInput, MeasureField, NumberField, PlainForm, WholeInput
from collection.web.units import Edge

MOST_HOURS = 24
COLDEST_YARD_C, WARMEST_YARD_C = -40.0, 20.0  # policy: what may be chosen as the limit for yard work


class HoursField(NumberField):
    """Hours a day, kept as minutes; 7.5 or 7:30."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=0, max_value=MOST_HOURS, required=False, **kwargs)

    def to_python(self, value: Any) -> Any:
        """Also hours and minutes with a colon."""
        text = str(value or "").strip()
        whole, colon, rest = text.partition(":")
        if colon and whole.isdecimal() and rest.isdecimal() and int(rest) < 60:
            return int(whole) + int(rest) / 60
        return super().to_python(text)

    def clean(self, value: Any) -> Any:
        """Whole minutes."""
        typed = super().clean(value)
        return round(60 * (typed or 0))


class HandForm(PlainForm):
    """One person's usual week at the site and what they may do."""

    may = forms.MultipleChoiceField(
        label="May do",
        required=False,
        choices=list(DUTY_TITLES.items()),
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, data: QueryDict | None, *, person: Person, hand: Hand | None) -> None:
        self.person, self.hand = person, hand
        week = hand.week if hand else [0] * 7
        initial = {day.name.lower(): f"{week[day] / 60:.4g}" for day in Weekday}
        super().__init__(
            data,
            prefix=f"hand-{person.pk}",
            initial=initial | {"may": hand.may if hand else list(DUTY_TITLES)},
        )
        may = self.fields.pop("may")
        for day in Weekday:
            self.fields[day.name.lower()] = HoursField(label=day.label)
        self.fields["may"] = may

    @property
    def days(self) -> list[forms.BoundField]:
        """The seven days."""
        return [self[day.name.lower()] for day in Weekday]

    def minutes(self) -> list[int]:
        """Minutes of each day, Monday first."""
        return [self.cleaned_data[day.name.lower()] for day in Weekday]


class OpeningForm(PlainForm):
    """One weekday: from when to when work may be done; both empty is closed."""

    def __init__(self, data: QueryDict | None, *, weekday: Weekday, known: tuple[time, time] | None) -> None:
        self.weekday = weekday
        initial = {"opens": known[0], "closes": known[1]} if known else {}
        super().__init__(data, prefix=f"open-{int(weekday)}", initial=initial)
        for name, words in (("opens", "opens"), ("closes", "closes")):
            clock = forms.TimeInput(
                {"type": "time", "aria-label": f"{weekday.label} {words}"}, format="%H:%M"
            )
            self.fields[name] = forms.TimeField(label=words.capitalize(), required=False, widget=clock)

    def hours(self) -> tuple[time | None, time | None]:
        """What was typed."""
        return self.cleaned_data["opens"], self.cleaned_data["closes"]


class EquipmentForm(PlainForm):
    """How many of each kind, and the coldest day for work in the open."""

    coldest_yard_c = MeasureField(
        name="No work in the yard below",
        stored_as="°C",
        low=COLDEST_YARD_C,
        high=WARMEST_YARD_C,
        help_text="By the coldest working hour of a normal day of the climate. Empty: −5 °C, our choice.",
    )

    def __init__(self, data: QueryDict | None, *, site: Site, counts: dict[str, int], edge: Edge) -> None:
        super().__init__(data, initial={"coldest_yard_c": site.coldest_yard_c})
        limit = self.fields.pop("coldest_yard_c")
        for kind in EquipmentKind:
            self.fields[kind.name.lower()] = forms.IntegerField(
                label=kind.label,
                min_value=0,
                max_value=500,
                required=False,
                widget=WholeInput,
                initial=counts.get(kind, 0),
            )
        self.fields["coldest_yard_c"] = limit
        limit.use_units(edge, site.coldest_yard_c)  # type: ignore[attr-defined]  # a MeasureField

    def counts(self) -> dict[str, int]:
        """How many of each kind."""
        return {str(kind): self.cleaned_data[kind.name.lower()] or 0 for kind in EquipmentKind}


class HolidayForm(PlainForm):
    """A day on which the site is closed."""

    day = forms.DateField(label="Day", widget=DayInput)
    name = forms.CharField(label="Why", max_length=60)


class OtherHoursForm(PlainForm):
    """Other hours than usual on one day."""

    person = forms.ModelChoiceField(Person.objects.none(), empty_label="Choose")
    day = forms.DateField(label="Day", widget=DayInput)
    minutes = HoursField(label="Hours that day", help_text="0 or empty: away.")

    def __init__(self, data: QueryDict | None, *, people: "QuerySet[Person]") -> None:
        super().__init__(data, prefix="other")
        self.fields["person"].queryset = people  # type: ignore[attr-defined]  # a ModelChoiceField


class StormForm(PlainForm):
    """A day on which nobody works in the open."""

    day = forms.DateField(label="Day", widget=DayInput)


class WayForm(PlainForm):
    """Minutes from one building to another."""

    start = forms.ModelChoiceField(Building.objects.none(), label="From", empty_label="Choose")
    end = forms.ModelChoiceField(Building.objects.none(), label="To", empty_label="Choose")
    minutes = forms.IntegerField(label="Minutes", min_value=1, max_value=240, widget=WholeInput)

    def __init__(self, data: QueryDict | None, *, buildings: "QuerySet[Building]") -> None:
        super().__init__(data, prefix="way")
        for name in ("start", "end"):
            field = self.fields[name]
            field.queryset = buildings  # type: ignore[attr-defined]  # a ModelChoiceField
            field.label_from_instance = lambda building: building.name  # type: ignore[attr-defined]  # as above


class ChooseForm(PlainForm):
    """A day, a person, or both, in place of the plan's own choice."""

    day = forms.DateField(
        label="On this day", required=False, widget=DayInput, help_text="Empty: the plan chooses the day."
    )
    person = forms.ModelChoiceField(
        Person.objects.none(),
        label="Done by",
        required=False,
        empty_label="The plan chooses",
        help_text="Those with hours at this site.",
    )

    def __init__(self, data: QueryDict | None, *, people: Iterable[Person], initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial)
        keys = [person.pk for person in people]
        self.fields["person"].queryset = Person.objects.filter(pk__in=keys)  # type: ignore[attr-defined]  # as above
