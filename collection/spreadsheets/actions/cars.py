"""Cars out of a table: each goes through the same actions as a car typed in."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from difflib import SequenceMatcher
from functools import partial
from itertools import islice
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.cars.actions.batteries import put_battery
from collection.cars.actions.fluids import put_fluids
from collection.cars.actions.fuel import put_fuel
from collection.cars.actions.own_duties import put_own_duty
from collection.cars.actions.rules import follow_kinds
from collection.cars.actions.tyres import put_tyres
from collection.cars.actions.vehicles import put_last_uses, put_vehicle
from collection.life.core.choices import chassis_warning
from collection.models import (
    Basis,
    Battery,
    Fluid,
    FluidKind,
    Fuel,
    LastEvent,
    LastUse,
    Organisation,
    OwnDuty,
    Owner,
    Tyre,
    TyrePosition,
    Vehicle,
)
from collection.spreadsheets.actions.findings import Beat, Findings
from collection.spreadsheets.queries import Places, likely_doubles, places_of
from collection.spreadsheets.sheets.car_fields import CAR, CARS
from collection.spreadsheets.sheets.car_rows import spread
from collection.spreadsheets.sheets.cells import shown
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import DATE
from collection.spreadsheets.sheets.headings import plate
from collection.spreadsheets.sheets.parsing import Parsed
from collection.spreadsheets.sheets.shaping import RowName
from collection.web.faults import check
from scheduler.vocabulary.own_duties import OWN_KIND

AT_ONCE = 15  # cars tried in one transaction that is then given up: others write in between
PLAIN = tuple(it.key for it in CAR if it.key not in ("name", "owner", "place", "system_volts"))
NEW, NO_BAY = "new", "none"  # answers: another owner than the one nearly called so; no bay at all
NEARLY = 0.9  # policy: one letter of ten
NO_OWNER = "say whose car it is: every car has an owner"


class _Give(Exception):
    """Ends a trial: nothing of it stays."""


@dataclass
class Barn:
    """Where the cars go: its owners and bays by their names, and what is taken already."""

    organisation: Organisation
    today: date
    may_add_owners: bool
    skip_doubles: bool
    owners: dict[str, Owner] = field(default_factory=dict)
    places: Places = field(default_factory=Places)
    here: dict[str, str] = field(default_factory=dict)  # marks of cars that are here: which car bears it
    rows: dict[str, RowName] = field(default_factory=dict)  # the same marks of cars in the table
    bays: dict[int, RowName] = field(default_factory=dict)  # bay: the row that takes it
    sole: Owner | None = None  # whose cars are all that a silent table can mean
    new_owners: set[str] = field(default_factory=set)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)  # what names of the table mean
    findings: Findings | None = None  # where somebody can be asked
    has_kinds: bool = False  # of which a car that comes in may be one


def barn_of(
    organisation: Organisation,
    today: date,
    *,
    may_add_owners: bool,
    skip_doubles: bool,
    answers: Mapping[str, Mapping[str, str]],
) -> Barn:
    """The barn as it stands now."""
    owners = {owner.name.casefold(): owner for owner in organisation.owners.all()}
    return Barn(
        organisation,
        today,
        may_add_owners,
        skip_doubles,
        owners,
        places_of(organisation),
        likely_doubles(organisation),
        sole=next(iter(owners.values())) if len(owners) == 1 else None,
        answers=answers,
        has_kinds=organisation.kind_rules.exists(),
    )


def check_cars(rows: Iterable[Parsed], barn: Barn, beat: Beat) -> Findings:
    """Store every row as the import would, in transactions that are given up."""
    findings, done, rows = Findings(), 0, iter(rows)
    barn.findings = findings
    while some := list(islice(rows, AT_ONCE)):
        try:
            with transaction.atomic():
                for row in some:
                    _try(row, barn, findings)
                raise _Give
        except _Give:
            done += len(some)
            beat(done)
        for name in barn.new_owners:
            barn.owners.pop(name, None)  # was stored in the trial only: made anew where it is wanted again
    findings.counts["new_owners"] = len(barn.new_owners)
    return findings


def _try(row: Parsed, barn: Barn, findings: Findings) -> None:
    findings.counts["rows"] += 1
    left_out = _prepare(row, barn)
    for key, text in row.notes:
        findings.note(row.number, _label(key), text)
    if left_out:
        findings.counts[left_out] += 1
        return
    for key, text in row.unknown:
        findings.ask(row.number, key, text)
    before = findings.counts["faults"]
    for key, text in row.faults:
        findings.fault(row.number, _label(key), text)
    _store(row, barn, lambda error, name: findings.refused(row.number, error, lambda key: _label(name(key))))
    if findings.counts["faults"] == before:
        findings.counts["cars"] += 1
        findings.sample(row.number, row.values)


def store_cars(rows: Iterable[Parsed], barn: Barn) -> Iterator[Vehicle]:
    """Store every row in the transaction of the caller; a fault ends it all."""
    for row in rows:
        if _prepare(row, barn):
            continue
        if row.faults:
            raise ValidationError(f"Row {row.number}: {row.faults[0][1]}.")
        made = _store(row, barn, _fail(row))
        if made:
            yield made


def _fail(row: Parsed) -> Callable[[ValidationError, Callable[[str], str]], None]:
    def fail(error: ValidationError, _name: Callable[[str], str]) -> None:
        raise ValidationError(f"Row {row.number}: {'; '.join(error.messages)}") from error

    return fail


def _prepare(row: Parsed, barn: Barn) -> str:
    """Spread what stands for several fields, look at its days; why the row is left out, if it is."""
    spread(row)
    values = row.values
    marks = [f"{of} {plate(str(values[of]))}" for of in ("registration", "chassis_number") if values.get(of)]
    name = " ".join(str(values[it]) for it in ("year", "marque", "model") if values.get(it))
    marked = bool(marks)
    marks += [f"name {name} {values.get('owner', '')}".casefold()] if not marked else []
    known = next((barn.here[mark] for mark in marks if mark in barn.here), "")
    if known:
        out = ": left out" if barn.skip_doubles else ""
        row.notes.append(("", f"is probably on the record already, as {known}{out}"))
    twin = next((barn.rows[mark] for mark in marks if mark in barn.rows), None)
    if twin is not None and marked:
        row.notes.append(("", f"is the same car as row {twin}: left out"))
    elif twin is not None:
        row.notes.append(("", f"may be the same car as row {twin}: nothing but the name tells them apart"))
    barn.rows = dict.fromkeys(marks, row.number) | barn.rows
    _look_at_days(row, barn.today)
    doubt = chassis_warning(str(values.get("chassis_number", "")), values.get("year"))
    if doubt:
        row.notes.append(("chassis_number", f"kept as it is, but look again: {doubt}"))
    return "twins" if twin is not None and marked else "left_out" if known and barn.skip_doubles else ""


def _look_at_days(row: Parsed, today: date) -> None:
    """No day of the past lies ahead, and nothing was done to a car before it was made."""
    made = row.values.get("year")
    for of in CARS.fields:
        day = row.values.get(of.key)
        if of.type != DATE or not isinstance(day, date):
            continue
        if day > today and of.key != "left_on":
            row.faults.append((of.key, f"{day:%d %b %Y} is yet to come: check the year"))
        elif isinstance(made, int) and day.year < made - 1 and made <= today.year:
            row.faults.append((of.key, f"{day:%d %b %Y} is before the car was made ({made})"))
        else:
            continue
        del row.values[of.key]


Tell = Callable[[ValidationError, Callable[[str], str]], None]


def _store(row: Parsed, barn: Barn, tell: Tell) -> Vehicle | None:
    """Store a car with all its parts; each fault is told, and what does not depend on it is tried too."""
    vehicle = Vehicle(organisation=barn.organisation)
    for key in PLAIN:
        if row.values.get(key) is not None:
            setattr(vehicle, key, row.values[key])
    if volts := row.values.get("system_volts"):
        vehicle.system_volts = int(volts)
    faults = _owner(vehicle, row, barn) | _bay(vehicle, row, barn)
    try:
        _put(vehicle, faults, barn)
        if vehicle.bay_id and not vehicle.left_on:
            barn.bays[vehicle.bay_id] = row.number
        refused = False
    except ValidationError as error:
        tell(error, str)
        refused = True
        vehicle = _stand_in(vehicle)
    for act, name in _parts(vehicle, row.values, barn.today):
        try:
            act()
        except ValidationError as error:
            tell(error, name)
            refused = True
    return None if refused else vehicle


def _put(vehicle: Vehicle, faults: dict[str, str], barn: Barn) -> None:
    """Store the car with the rules of its kind; all its faults are told together."""
    messages: dict[str, list[str]] = {}
    try:
        put_vehicle(vehicle=vehicle, today=barn.today)
    except ValidationError as error:
        messages = {{"bay": "place"}.get(key, key): texts for key, texts in error.message_dict.items()}
    messages |= {key: [text] for key, text in faults.items()}
    if messages:
        raise ValidationError(messages)
    if barn.has_kinds:
        follow_kinds(vehicle)


def _stand_in(vehicle: Vehicle) -> Vehicle:
    """A car that is stored in a trial so that the parts of one that is not can be tried."""
    owner = vehicle.organisation.owners.first() or Owner.objects.create(
        organisation=vehicle.organisation, name="–"
    )
    return Vehicle.objects.create(
        organisation=vehicle.organisation,
        owner=owner,
        marque="–",
        model="–",
        left_on=date(1900, 1, 1),
        tank_litres=vehicle.tank_litres if isinstance(vehicle.tank_litres, float) else None,
        system_volts=vehicle.system_volts,
    )


def _owner(vehicle: Vehicle, row: Parsed, barn: Barn) -> dict[str, str]:
    name = " ".join(str(row.values.get("owner") or "").split())
    meant = barn.answers.get("owner", {}).get(name)
    called = meant if meant and meant != NEW else name
    known = barn.owners.get(called.casefold()) if name else barn.sole
    if known is not None:
        vehicle.owner = known
        return {}
    if not name:
        _ask(row, barn, "fixed:owner", "")
        return {"owner": NO_OWNER}
    near = [] if meant else [owner.name for owner in barn.owners.values() if _is_near(owner.name, name)]
    if near:  # by name: one that this table adds is not on record yet
        _ask(row, barn, "owner", name, near)
        return {"owner": f"“{shown(name)}” is nearly {near[0]}: say whether they are one"}
    if not barn.may_add_owners:
        return {"owner": f"there is no owner “{shown(name)}” here: a manager adds owners under People"}
    made = Owner(organisation=barn.organisation, name=called)
    try:
        check(made, {})
    except ValidationError as error:
        return {"owner": "; ".join(error.messages)}
    made.save()
    vehicle.owner = barn.owners[called.casefold()] = made
    barn.new_owners.add(called.casefold())
    return {}


def _is_near(one: str, other: str) -> bool:
    """Names that differ by a dot, an accent or a letter: perhaps one person, perhaps two."""
    one, other = normal(one), normal(other)
    return one == other or sorted(one.split()) == sorted(other.split()) or _ratio(one, other) >= NEARLY


def _ratio(one: str, other: str) -> float:
    return SequenceMatcher(None, one, other).ratio()


def _ask(row: Parsed, barn: Barn, of: str, text: str, fits: Sequence[int | str] = ()) -> None:
    if barn.findings is not None:
        barn.findings.ask(row.number, of, text, fits)


def _bay(vehicle: Vehicle, row: Parsed, barn: Barn) -> dict[str, str]:
    place = str(row.values.get("place") or "")
    meant = barn.answers.get("place", {}).get(place, "")
    if not place or meant == NO_BAY:
        return {}
    fits = [bay for bay in barn.places.all() if str(bay.pk) == meant] if meant else barn.places.named(place)
    if not fits:
        _ask(row, barn, "place", place)
        return {"place": f"there is no bay “{shown(place)}” here: say which it is, or leave it out"}
    if len(fits) > 1:
        _ask(row, barn, "place", place, [bay.pk for bay in fits])
        return {"place": f"“{shown(place)}” may be {' or '.join(map(str, fits[:4]))}: say which"}
    vehicle.bay = fits[0]
    other = barn.bays.get(fits[0].pk)
    if other and fits[0].is_marked and not row.values.get("left_on"):
        return {"place": f"row {other} puts a car into {fits[0]} already"}
    return {}


Act = tuple[Callable[[], object], Callable[[str], str]]


def _parts(vehicle: Vehicle, values: dict[str, Any], today: date) -> Iterator[Act]:
    """What else the row says of the car, part by part, each with how its faults name its fields."""
    battery, fuel = _of(values, "battery"), _of(values, "fuel")
    if battery:
        if "volts" in battery:
            battery["volts"] = int(battery["volts"])
        yield (
            lambda: put_battery(battery=Battery(vehicle=vehicle, **battery), today=today),
            "battery.{}".format,
        )
    if fuel:
        yield lambda: put_fuel(fuel=Fuel(vehicle=vehicle, **fuel), today=today), "fuel.{}".format
    fluids = [
        Fluid(vehicle=vehicle, kind=it, **facts) for it in FluidKind.values if (facts := _of(values, it))
    ]
    if fluids:
        yield lambda: put_fluids(vehicle=vehicle, fluids=fluids, today=today), _dotted
    places = TyrePosition.values
    tyres = [Tyre(vehicle=vehicle, position=it, **facts) for it in places if (facts := _of(values, it))]
    if tyres:
        yield lambda: put_tyres(vehicle=vehicle, tyres=tyres, today=today), _dotted
    uses = _uses(vehicle, values)
    if uses:
        yield (
            lambda: put_last_uses(vehicle=vehicle, uses=uses, today=today),
            lambda key: f"last.{_dotted(key)}",
        )
    for kind, due_on in _of(values, "paper").items():
        duty = _paper(vehicle, kind, due_on)
        yield partial(put_own_duty, duty=duty, today=today), f"paper.{kind}".format


def _paper(vehicle: Vehicle, kind: str, due_on: date) -> OwnDuty:
    row = OWN_KIND[kind]
    return OwnDuty(vehicle=vehicle, kind=kind, title=row.title, interval=row.interval, due_on=due_on)


def _dotted(key: str) -> str:
    return key.replace("-", ".", 1)


def _of(values: dict[str, Any], part: str) -> dict[str, Any]:
    start = f"{part}."
    return {key[len(start) :]: value for key, value in values.items() if key.startswith(start)}


def _uses(vehicle: Vehicle, values: dict[str, Any]) -> Sequence[LastUse]:
    """When the table does not say how a date is known, it is the owner's word."""
    return [
        LastUse(
            vehicle=vehicle,
            event=event,
            on=on,
            basis=values.get(f"last.{event}.basis") or Basis.OWNER,
        )
        for event in LastEvent.values
        if (on := values.get(f"last.{event}.on")) is not None
    ]


def _label(key: str) -> str:
    known = CARS.field(key)
    return known.label if known else key.replace("_", " ").capitalize()
