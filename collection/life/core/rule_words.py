"""What was decided of a duty of a car, as its due line says it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from collection.models import CarRule
from collection.models.rules import DutyRule
from scheduler.duties.own_rules import NOT_BEFORE, NOT_FOR, OWN_INTERVAL, PUT_OFF
from scheduler.vocabulary.intervals import NEVER

LONGEST = {"limit": 120, "hold": 200}  # of the columns of DutyRow


@dataclass(frozen=True)
class RuleWords:
    """The rules of some cars by car and duty; what no rule speaks of is said in the core's words."""

    rules: dict[tuple[int, str], CarRule]

    def limit(self, car: int, duty: str, words: str) -> str:
        """What sets a date, with what was decided and why where that is it."""
        rule = self.rules.get((car, duty))
        if rule is None or words not in (OWN_INTERVAL, NOT_BEFORE, NOT_FOR):
            return words
        return _fit(f"{decided(rule)}: {rule.reason}", "limit")

    def hold(self, car: int, duty: str, words: str) -> str:
        """What holds a duty, until when and why where it was put off."""
        rule = self.rules.get((car, duty))
        if rule is None or rule.put_off_until is None or words != PUT_OFF:
            return words
        return _fit(f"{PUT_OFF} until {_day(rule.put_off_until)}: {rule.put_off_reason}", "hold")


def rule_words(cars: Collection[int]) -> RuleWords:
    """The words of these cars' rules."""
    return RuleWords(
        {(rule.vehicle_id, rule.duty): rule for rule in CarRule.objects.filter(vehicle__in=cars)}
    )


def decided(rule: DutyRule) -> str:
    """Interval and first day in words, without the reason."""
    parts = []
    if rule.interval:
        parts.append("not for this car" if rule.interval == NEVER else f"every {rule.interval}")
    if rule.not_before:
        parts.append(f"not before {_day(rule.not_before)}")
    return ", ".join(parts)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _fit(text: str, column: str) -> str:
    """A long reason is cut where the column ends; the rule itself holds all of it."""
    longest = LONGEST[column]
    return text if len(text) <= longest else f"{text[: longest - 1]}…"
