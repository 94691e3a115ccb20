"""The entries at the head of every page, and the page of what is set up once.

Who may open a page is asked of its view, so that it is decided in one place.
"""

from dataclasses import dataclass
from functools import cache

from django.urls import resolve, reverse

from collection.permissions import OPERATE, OWN, Access


@dataclass(frozen=True)
class Link:
    """A page by the name of its address; ``about`` is its line where pages are listed."""

    name: str
    title: str
    about: str = ""


@dataclass(frozen=True)
class Task:
    """An entry: its own page first, then those beside it. ``rooms`` begin the addresses that belong to it."""

    title: str
    pages: tuple[Link, ...]
    rooms: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The address of its own page."""
        return self.pages[0].name


@dataclass(frozen=True)
class Group:
    """Pages of one subject."""

    title: str
    links: tuple[Link, ...]


TASKS = (
    Task(
        "Round",
        (
            Link("worksheet", "Round"),
            Link("worksheet_scan", "Scan a label"),
            Link("from_paper", "Enter from paper"),
            Link("labels", "Labels"),
        ),
        ("worksheet", "week/from-paper", "labels"),
    ),
    Task(
        "Plan",
        (
            Link("week", "Week"),
            Link("calendar", "Coming weeks"),
            Link("floor_plan", "Floor plan"),
            Link("air", "Air"),
        ),
        ("week", "calendar", "floor-plan", "air"),
    ),
    Task(
        "History",
        (
            Link("histories", "Histories"),
            Link("compare", "Side by side"),
            Link("handovers", "Handed over"),
            Link("trust", "What the record proves"),
        ),
        ("histories", "cars/compare", "handovers", "trust"),
    ),
    Task("Help", (Link("help", "Help"),), ("help",)),
    Task("Setup", (Link("setup", "Setup"),)),
    Task(
        "Collection",
        (
            Link("collection", "Cars"),
            Link("due", "What is due"),
            Link("timeline", "Timeline"),
            Link("whatif", "What if"),
            Link("cars", "Records"),
        ),
        ("collection", "due", "timeline", "what-if", "cars", "find"),
    ),
)
ORDER = ("Collection", "Round", "Plan", "History", "Setup", "Help")

SETUP = (
    Group(
        "Cars",
        (
            Link("start_cars", "Several new cars", "A line each: make, model, year, last driven."),
            Link("car_new", "New car", "Owner, make, model and how it is kept are enough to begin."),
            Link(
                "spreadsheets", "Import and export", "Cars and care logs from tables; everything out again."
            ),
            Link("car_arrive", "Receive a car", "A car that another keeper hands over, with its record."),
            Link("cars", "Records", "What is still missing in each car's record."),
        ),
    ),
    Group(
        "Places and air",
        (
            Link("places", "Places", "Sites, buildings and bays; who works there, and with what."),
            Link("site_new", "New site", "Its name, time zone and climate."),
            Link("climate_new", "New climate", "Twelve months of temperature and humidity."),
            Link("loggers", "Loggers", "Measured air of a place, volts of a battery."),
            Link("sensors", "Sensors", "What measures by itself, and when it was last heard."),
            Link("sensor_new", "New sensor", "Its name, where it stands; its token is shown once."),
            Link("private_showings", "Who asked for keys", "Each time that keys and alarms were shown."),
        ),
    ),
    Group(
        "Rules and prices",
        (
            Link("limits", "Intervals and limits", "From when something counts as due."),
            Link("own_rules", "Own rules", "What is decided for single cars and kinds of car."),
            Link("prices", "Prices", "What an hour, a litre and a part cost."),
        ),
    ),
    Group(
        "People",
        (
            Link("people", "People", "Members, owners, open invitations."),
            Link("member_new", "Invite somebody", "Who signs in, and as what."),
            Link("owner_new", "New owner", "Whose cars stand here."),
        ),
    ),
    Group(
        "You",
        (
            Link("me", "You", "Name, units, password, what is kept about you."),
            Link("reminders", "Calendar and mail", "What falls due, in your own calendar or on Mondays."),
            Link("mfa_index", "Second factor and passkeys", "A second lock on your sign-in."),
            Link("usersessions_list", "Where you are signed in", "End a session that is not yours."),
        ),
    ),
    Group(
        "Programmes",
        (
            Link("tokens", "Tokens", "A programme reads or writes in your name."),
            Link("webhooks", "Webhooks", "Addresses that are told when dates change."),
            Link("api_docs", "The API", "Every operation, with examples."),
        ),
    ),
    Group(
        "System",
        (
            Link("system", "System", "When dates were worked out, and what went wrong."),
            Link("installation", "Installation", "Version, backups, health."),
            Link("operators", "Operators", "Who runs this installation."),
            Link("organisations", "Organisations", "The barns of this installation."),
            Link("sign_ins", "Sign-ins", "Everybody who signs in here."),
        ),
    ),
)


@cache
def needed(name: str) -> str:
    """What the view at the address asks of whoever opens it."""
    capability: str = getattr(resolve(reverse(name)).func, "capability", OWN)
    return capability


def opens(access: Access, name: str) -> bool:
    """Whether this person may open the page."""
    capability = needed(name)
    if capability == OPERATE:
        return access.person.is_operator
    return capability == OWN or access.may(capability)


def tasks_of(access: Access) -> list[Task]:
    """The entries that this person may open, in their order."""
    by_title = {task.title: task for task in TASKS}
    return [by_title[title] for title in ORDER if opens(access, by_title[title].name)]


def setup_of(access: Access) -> list[Group]:
    """What this person may set up."""
    groups = [
        Group(group.title, tuple(link for link in group.links if opens(access, link.name))) for group in SETUP
    ]
    return [group for group in groups if group.links]


def task_at(path: str) -> Task:
    """The entry to which an address belongs: Setup where none names it."""
    path = path.strip("/")
    if path.startswith("cars/") and path.split("/")[2:3] in (["history"], ["shares"]):
        return next(task for task in TASKS if task.title == "History")
    for task in TASKS:
        if any(path == room or path.startswith(f"{room}/") for room in task.rooms):
            return task
    return next(task for task in TASKS if task.title == "Setup")
