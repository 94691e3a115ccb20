"""What is decided of one duty in place of our models: its interval, its first day, whether it waits."""

from typing import Any

from django import forms

from collection.models import KindRule, Regime
from collection.models.rules import DutyRule
from collection.web.measures import DayInput, Groups, PlainForm, WholeInput
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.intervals import DAYS, NEVER, read_interval, write_interval

OWN = "own"
HOW = [("", "As worked out"), (OWN, "At an interval of its own"), (NEVER, "Never: not for this car")]


class IntervalFields(PlainForm):
    """A form with an interval: a number and a unit of the calendar; ``GROUPS`` are its headings."""

    number = forms.IntegerField(label="Every", required=False, min_value=1, widget=WholeInput)
    unit = forms.ChoiceField(
        label="Unit of the interval", choices=[(unit, f"{unit}s") for unit in DAYS], initial="month"
    )

    GROUPS: Groups = ()

    def __init__(self, *args: Any, interval: str, initial: dict[str, Any], **kwargs: Any) -> None:
        if interval not in ("", NEVER):
            number, unit = read_interval(interval)
            initial = initial | {"number": number, "unit": unit}
        super().__init__(*args, initial=initial, **kwargs)

    @property
    def groups(self) -> list[tuple[str, list[Any]]]:
        """Its fields under their headings."""
        return [(title, [self[name] for name in names]) for title, names in self.GROUPS]

    def interval(self) -> str:
        """What was typed, in the form in which it is kept; empty where nothing was, or it is at fault."""
        number, unit = self.cleaned_data.get("number"), self.cleaned_data.get("unit")
        if number is None or not unit:
            return ""
        try:
            return write_interval(number, unit)
        except BadInput as fault:
            self.add_error("number", str(fault).partition(": ")[2].capitalize() + ".")
            return ""


class RuleForm(IntervalFields):
    """Of one duty; everything empty is our models' word."""

    how = forms.ChoiceField(label="How often", choices=HOW, required=False)
    not_before = forms.DateField(
        label="Not before",
        required=False,
        widget=DayInput,
        help_text="No date of it is earlier than this day.",
    )
    reason = forms.CharField(
        label="Reason",
        required=False,
        max_length=200,
        help_text="Such as “handbook: 24 months”. It stays in the history.",
    )
    put_off_until = forms.DateField(
        label="Put off until",
        required=False,
        widget=DayInput,
        help_text="On hold until that day; then its own date counts again.",
    )
    put_off_reason = forms.CharField(label="Why it waits", required=False, max_length=200)

    GROUPS: Groups = (
        ("Interval", ("how", "number", "unit", "not_before", "reason")),
        ("Only this once", ("put_off_until", "put_off_reason")),
    )

    def __init__(self, *args: Any, rule: DutyRule, **kwargs: Any) -> None:
        self.rule = rule
        names = ("not_before", "reason", "put_off_until", "put_off_reason")
        initial = {name: getattr(rule, name) for name in names}
        initial["how"] = NEVER if rule.interval == NEVER else OWN if rule.interval else ""
        super().__init__(*args, interval=rule.interval, initial=initial, **kwargs)

    def clean(self) -> dict[str, Any]:
        """The interval in the form in which it is kept."""
        sent: dict[str, Any] = super().clean() or self.cleaned_data
        how = sent.get("how")
        if how == OWN and sent.get("number") is None and "number" not in self.errors:
            self.add_error("number", "Give a number, such as 24.")
        sent["interval"] = NEVER if how == NEVER else self.interval() if how == OWN else ""
        return sent

    def fill(self) -> None:
        """Write what was typed into the rule."""
        for name in ("interval", "not_before", "reason", "put_off_until", "put_off_reason"):
            setattr(self.rule, name, self.cleaned_data[name])


class KindRuleForm(RuleForm):
    """For a kind of car: those to which all that is filled in applies."""

    duty = forms.ChoiceField(label="Duty", choices=[(duty.code, duty.title) for duty in DUTIES])
    marque = forms.CharField(label="Make", required=False, max_length=60)
    model = forms.CharField(label="Model", required=False, max_length=60)
    regime = forms.ChoiceField(label="Kept", required=False, choices=[("", "Any way"), *Regime.choices])

    GROUPS: Groups = (("Which cars", ("marque", "model", "regime")), ("What", ("duty",)), *RuleForm.GROUPS)

    def __init__(self, *args: Any, rule: KindRule, **kwargs: Any) -> None:
        super().__init__(*args, rule=rule, **kwargs)
        for name in ("duty", "marque", "model", "regime"):
            self.fields[name].initial = getattr(rule, name)

    def clean(self) -> dict[str, Any]:
        """As of every rule, and a kind is named."""
        sent = super().clean()
        if not any(sent.get(name) for name in ("marque", "model", "regime")):
            self.add_error("marque", "Say which cars: a make, a model, or how they are kept.")
        return sent

    def fill(self) -> None:
        """Write its kind into it too."""
        super().fill()
        for name in ("duty", "marque", "model", "regime"):
            setattr(self.rule, name, self.cleaned_data[name].strip())
