"""Our own thresholds: every one may be changed by the organisation, none is a standard."""

from dataclasses import dataclass, field, fields


@dataclass(frozen=True)
class PolicyTerm:
    """What one threshold means, why its default is what it is, and what may be typed."""

    name: str
    label: str
    unit: str
    default: float
    low: float
    high: float
    reason: str


def _term(label: str, unit: str, default: float, low: float, high: float, reason: str) -> float:  # noqa: PLR0913
    return field(
        default=default,
        metadata={"label": label, "unit": unit, "low": low, "high": high, "reason": reason},
    )  # type: ignore[no-any-return]  # dataclasses.field is typed as its default


@dataclass(frozen=True)
class Policy:
    """The thresholds that a duty compares its curves with."""

    recharge_soc: float = _term(
        "Recharge at state of charge", "1", 0.75, 0.5, 0.95,
        "75 % is the freshening level of the US Army's storage manual (TM 5-3820-256-24-4: SG 1.225)",
    )  # fmt: skip
    sulphation_soc: float = _term(
        "Sulphation harm below", "1", 0.50, 0.2, 0.8,
        "standing below half charge is the trade's line for hard sulphate (common practice)",
    )  # fmt: skip
    freeze_margin_k: float = _term(
        "Margin above electrolyte freezing", "K", 5.0, 0.0, 15.0,
        "long-stood batteries stratify and the weak top layer freezes first (design choice)",
    )  # fmt: skip


def terms() -> tuple[PolicyTerm, ...]:
    """All thresholds with their meaning, for the page where an organisation changes them."""
    return tuple(
        PolicyTerm(name=f.name, default=f.default, **f.metadata) for f in fields(Policy)
    )
