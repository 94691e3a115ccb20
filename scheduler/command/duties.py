"""The duties of each car, most urgent first."""

from collections.abc import Iterator

from scheduler.command import answers as a
from scheduler.command.air import assumed_air, standing_place
from scheduler.command.days import as_date, state_by
from scheduler.command.record import Record
from scheduler.command.systems import Looked
from scheduler.duties.known import known
from scheduler.duties.table import DUTIES
from scheduler.duties.windows import NOT_HELD, DutyWindow
from scheduler.vocabulary.duties import DUTY, Duty

AWAY = "the car is away"
# by the verdict on the battery
INSTEAD_OF_A_CHARGE = {
    "inspect": ("inspected", "battery_reading", "battery_fitted"),
    "replace": ("battery_reading", "battery_fitted"),
}
NO_REGIME = "How it is kept is not said: taken as stood, history unknown."


def assumed_of(record: Record) -> list[str]:
    """What was taken of the whole car because no fact says it."""
    return [*assumed_air(record), *([] if record.car.regime else [NO_REGIME])]


def duties_of(looked: Looked, row: int, battery: str) -> list[a.DutySaid]:
    """The duties of one car, by the verdict on its battery; none of a car that has left."""
    record = looked.records[row]
    if record.left_on:
        return []
    return sorted(_duties(looked, record, row, battery), key=_urgency)


def _urgency(duty: a.DutySaid) -> tuple[bool, int, str, str]:
    by = duty.by.isoformat() if duty.by else "~"  # after every day
    return duty.on_hold is not None, a.STATES.index(duty.state), by, duty.duty


def _duties(looked: Looked, record: Record, row: int, battery: str) -> Iterator[a.DutySaid]:
    one = looked.fleet.take([row])
    for duty in DUTIES:
        window, words = looked.windows[duty.name], duty.explain(one, looked.today, looked.policy)
        due, late = as_date(window.due[row]), as_date(window.late[row])
        unknown = record.is_silent or record.away or not known(one, DUTY[duty.name])[0]
        yield a.DutySaid(
            duty=duty.name,
            state=a.UNKNOWN if unknown else state_by(late or due, looked.on),
            early=as_date(window.early[row]),
            by=due,
            late=late,
            on_hold=AWAY if record.away else _hold(window, row),
            because=words.summary,
            cure=_cure(DUTY[duty.name], record, battery),
            harm=DUTY[duty.name].harm,
            assumed=list(words.assumptions),
        )


def _hold(window: DutyWindow, row: int) -> str | None:
    held = int(window.hold[row])
    return None if held == NOT_HELD else window.holds[held]


def _cure(duty: Duty, record: Record, battery: str) -> list[str]:
    """What ends the need: a charge is none where the battery asks for more; a maintainer needs power."""
    cure = duty.cure if duty.system != "battery" else INSTEAD_OF_A_CHARGE.get(battery, duty.cure)
    return [kind for kind in cure if kind != "maintainer" or standing_place(record).power is not False]
