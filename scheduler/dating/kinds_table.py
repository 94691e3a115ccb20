"""The dating table: what may be found on a car or among its papers.

Hard: physical or logical. Soft: a legal date or somebody's claim. The dates of laws are marked with
how well they are known; a person may always enter the papers themselves instead.
"""

from datetime import date

from scheduler.dating.events import Event, Side
from scheduler.dating.kinds import Dated, EvidenceKind, lower, upper
from scheduler.vocabulary.cited import memory, practice, published
from scheduler.vocabulary.errors import BadInput

R, E, M, A = Event.ROAD_USE, Event.ENGINE_RUN, Event.MOVEMENT, Event.ATTENDED
DRIVEN = ("driven_there", "Is it known to have been driven there, not trailered?")
WORKS = ("instrument_works", "Does the odometer work, and is it the car's own?")
WORN = ("worn", "Is the tread worn?")
TRIANGLE = ("triangle", "Is there a small triangle after three digits?")
UNBROKEN = ("unbroken", "Do two or more photographs show it in the same spot, with no gap of doubt?")
IN_ORDER = ("in_order", "Do the layers lie in the order of their dates?")
UK_TAX = practice("UK rule as told by the trade: no declaration needed if untaxed since before 31 Jan 1998")
UK_TEST = practice("UK online test records begin about 2005-06")
TYRE_CODES = practice("tyre date codes: four digits from 2000, three before")
BATTERY_CODES = practice("battery makers' date codes: month letter and year digit")
TITLE = published("49 CFR 580.5 and 580.17: odometer statement on transfer, old cars exempt")

_ROWS: tuple[EvidenceKind, ...] = (
    EvidenceKind(
        "inspection_pass",
        "Inspection or test certificate (pass or fail)",
        (lower(A, hard=True), lower(R, hard=False, needs="driven_there")),
        "hard for attended, soft for road use",
        "It may have come on a trailer; a failed test counts the same.",
        questions=(DRIVEN,),
    ),
    EvidenceKind(
        "odometer_now",
        "Odometer as it stands now",
        (),
        "hard if the instrument works: equal to a dated reading means no road use since",
        "Broken cable, swapped instrument, five digits rolled over; distance tells order, never time.",
        questions=(WORKS,),
    ),
    EvidenceKind(
        "odometer_reading",
        "Odometer at a dated reading (invoice, statement, transfer)",
        (lower(A, hard=True),),
        "hard for attended; bounds road use together with the odometer now",
        "Old cars are exempt from transfer statements: no statement proves nothing.",
        TITLE,
    ),
    EvidenceKind(
        "cover_starts",
        "Inspection, registration or insurance: start date",
        (lower(A, hard=False),),
        "soft",
        "Cover is bought for cars that never leave the garage.",
    ),
    EvidenceKind(
        "cover_ends",
        "Inspection, registration or insurance: expiry date",
        (upper(R, hard=False),),
        "soft",
        "Used illegally, off the road, or on trade plates.",
    ),
    EvidenceKind(
        "licence_disc",
        "Licence disc or plate sticker",
        (upper(R, hard=False),),
        "soft, end of the month shown",
        "Discs and stickers move between cars; UK paper discs ended in "
        "October 2014 (from memory, unverified).",
        dated=Dated.MONTH_SHOWN,
    ),
    EvidenceKind(
        "off_road_notice",
        "Official off-road declaration from this date",
        (upper(R, hard=False),),
        "soft",
        "Renewed yearly at first, later without end (from memory, unverified); outings happen.",
        UK_TAX,
    ),
    EvidenceKind(
        "no_tax_no_notice",
        "UK: neither tax nor off-road declaration on record",
        (upper(R, hard=False),),
        "soft",
        "Only for a car that was in the UK all along.",
        UK_TAX,
        Dated.FIXED,
        fixed=date(1998, 1, 31),
    ),
    EvidenceKind(
        "no_online_test",
        "UK: no test on the online record",
        (upper(R, hard=False),),
        "soft",
        "Exempt by age, Northern Ireland, imports.",
        UK_TEST,
        Dated.FIXED,
        fixed=date(2006, 12, 31),
    ),
    EvidenceKind(
        "service_sticker_done",
        "Service sticker: done on",
        (lower(A, hard=True),),
        "hard for attended",
        "Many stickers show the next due date: read which it is.",
        practice("garage stickers"),
    ),
    EvidenceKind(
        "service_sticker_due",
        "Service sticker: next due on",
        (lower(A, hard=False),),
        "soft: done about a year before",
        "The interval is assumed to be a year (our own choice).",
        practice("garage stickers"),
        Dated.NEXT_DUE,
    ),
    EvidenceKind(
        "receipt",
        "Fuel, toll or parking receipt",
        (lower(R, hard=False),),
        "soft",
        "It may belong to another car.",
    ),
    EvidenceKind(
        "tyre_code",
        "Tyre date code",
        (lower(A, hard=True), lower(R, hard=False, needs="worn")),
        "hard for attended (somebody fitted it); road use only if worn",
        "Only the youngest tyre counts; a worn tyre may come from another car; three digits leave the "
        "decade open.",
        TYRE_CODES,
        Dated.TYRE_CODE,
        (WORN, TRIANGLE),
    ),
    EvidenceKind(
        "battery_made",
        "Battery date code",
        (lower(A, hard=True),),
        "hard for attended",
        "Made is not fitted; dry-charged stock is old when sold; one year digit leaves the decade open; "
        "some makers skip the letter I.",
        BATTERY_CODES,
        Dated.BATTERY_CODE,
    ),
    EvidenceKind(
        "battery_fitted",
        "Battery fitted on (receipt, label)",
        (lower(A, hard=False),),
        "soft for attended",
        "A battery fitted for a failed start proves no run.",
        BATTERY_CODES,
    ),
    EvidenceKind(
        "dated_part",
        "Another dated part (glass, hose, filter, plug)",
        (lower(A, hard=True),),
        "hard for attended",
        "Stock may lie for years before it is fitted.",
    ),
    EvidenceKind(
        "first_registered",
        "First registered or built",
        (lower(A, hard=True), lower(R, hard=False)),
        "hard for attended",
        "A re-registered or rebuilt car carries a later date.",
    ),
    EvidenceKind(
        "paper_under_tyre",
        "Paper under a tyre",
        (lower(M, hard=True),),
        "hard for movement",
        "The car rolled on after the paper was printed, by any amount of time.",
    ),
    EvidenceKind(
        "paper_in_cabin",
        "Dated paper in the cabin",
        (lower(A, hard=True),),
        "hard for attended",
        "Somebody sat there; nobody need have driven.",
    ),
    EvidenceKind(
        "stacked_items",
        "Dated things stacked in front: the bottom layer",
        (upper(M, hard=False, needs="in_order"),),
        "soft for movement, if laid as issued",
        "A single thing says nothing; stacks are moved.",
        questions=(IN_ORDER,),
    ),
    EvidenceKind(
        "tree_rings",
        "Tree or vine that traps it, rings counted",
        (upper(M, hard=True),),
        "hard for movement",
        "Have a specialist count; one ring is left off, because this year's is not whole.",
        dated=Dated.RINGS,
    ),
    EvidenceKind(
        "photographs",
        "Dated photographs or aerial views, same spot: the earliest",
        (upper(M, hard=False, needs="unbroken"),),
        "soft for movement",
        "Gaps between the photographs.",
        questions=(UNBROKEN,),
    ),
    EvidenceKind(
        "storage_invoice",
        "Storage invoice or tenancy: start",
        (upper(R, hard=False), upper(M, hard=False)),
        "soft",
        "Cars in store have outings.",
    ),
    EvidenceKind(
        "fuel_state",
        "Look and smell of the fuel",
        (),
        "order of age only, never a bound",
        "Sharp and clear under about 3 months; sour or dull 3 to 12; varnish, brown or gum over about a "
        "year. The fuel's age is not the day of the last run.",
        practice("fuel trade"),
        Dated.NEVER,
    ),
    EvidenceKind(
        "fuel_ethanol",
        "Ethanol found in the fuel: local start of sale",
        (lower(A, hard=False),),
        "soft for attended",
        "Earlier special fuels also held ethanol; UK E10 from September 2021.",
        published("UK E10 petrol introduced in September 2021"),
    ),
    EvidenceKind(
        "fuel_leaded",
        "Leaded fuel found",
        (),
        "no bound: it was bought before lead ended there",
        "UK until the end of 1999, US 1995 (both from memory, unverified); special fuels, top-ups; a run on "
        "old fuel is still a run.",
        memory("end of leaded petrol"),
        Dated.NEVER,
    ),
    EvidenceKind(
        "brake_fluid_water",
        "Water in the brake fluid",
        (),
        "weak: years since the fluid was changed",
        "Says nothing of use.",
        practice("brake trade"),
        Dated.NEVER,
    ),
    EvidenceKind(
        "standing_marks",
        "Flat spots, rust ring in the drums, seized brakes",
        (),
        "confirms standing, gives no date",
        "Months in the damp look like years in the dry.",
        practice("workshops"),
        Dated.NEVER,
    ),
    EvidenceKind(
        "statement",
        "Somebody's statement",
        (),
        "soft on both sides",
        "Write who said it, when, and how they know.",
        stated=(Side.NOT_BEFORE, Side.NOT_AFTER),
    ),
    EvidenceKind(
        "own_record",
        "Our own care log or run log",
        (),
        "hard: not before the day logged",
        "A logged event need not be the last one.",
        stated=(Side.NOT_BEFORE,),
        stated_hard=True,
    ),
)

EVIDENCE_KINDS: dict[str, EvidenceKind] = {row.name: row for row in _ROWS}


def kind_named(name: str) -> EvidenceKind:
    """The row called ``name``; BadInput lists the choices."""
    if name not in EVIDENCE_KINDS:
        raise BadInput("kind", f"{name!r} is none of {', '.join(EVIDENCE_KINDS)}")
    return EVIDENCE_KINDS[name]
