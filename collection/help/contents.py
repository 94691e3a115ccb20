"""The pages of Help, in the order of its contents.

A page is a row here and a text in ``templates/help/<slug>.html``: sections under ``<h2 id=…>``, no frame,
and the same for every reader, so that the search may show any part of it to anybody. Names that stand on
other pages of the site are set in ``<b>``; a test looks for each of them there.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class HelpPage:
    """One page: ``about`` is its line in the contents; ``explains`` names the addresses that lead to it."""

    slug: str
    title: str
    about: str
    explains: tuple[str, ...] = ()
    stylesheet: str = ""  # of its own, beside the one of all pages

    @property
    def template(self) -> str:
        """Where its text stands."""
        return f"help/{self.slug}.html"


CONTENTS: dict[str, tuple[HelpPage, ...]] = {
    "To begin": (
        HelpPage(
            slug="first-steps",
            title="First steps",
            about="From an empty barn to the first due list; who does what.",
            explains=("start", "start_cars", "cars", "car_new", "car_edit", "car_remove"),
        ),
        HelpPage(slug="words", title="Words", about="What the words on the pages mean."),
    ),
    "Every day": (
        HelpPage(
            slug="collection",
            title="The collection",
            about="Every car at a glance: its parts, photographs, sorting, finding.",
            explains=(
                "home",
                "collection",
                "find",
                "timeline",
                "setup",
                "car",
                "car_curves",
                "car_photographs",
                "car_shown_by",
            ),
        ),
        HelpPage(
            slug="due",
            title="What is due and why",
            about="States, windows, how sure a date is, and how to set your own limits.",
            explains=(
                "due",
                "due_as",
                "why",
                "limits",
                "limits_as",
                "car_rule",
                "own_rules",
                "kind_rule_new",
                "kind_rule",
                "own_duty_new",
                "own_duty",
                "own_duty_edit",
            ),
        ),
        HelpPage(
            slug="week",
            title="The week and its plan",
            about="Hours, equipment, the plan, what has no place in time, the floor plan.",
            explains=(
                "week",
                "week_as",
                "choose",
                "ready",
                "outing",
                "calendar",
                "calendar_as",
                "staff",
                "floor_plan",
            ),
        ),
        HelpPage(
            slug="round",
            title="The round: phone and paper",
            about="Working car by car, without a signal too; paper, labels.",
            explains=(
                "worksheet",
                "worksheet_car",
                "worksheet_bay",
                "walk",
                "worksheet_scan",
                "found",
                "seen_to",
                "worksheet_offline",
                "from_paper",
                "from_paper_car",
                "labels",
            ),
        ),
        HelpPage(
            slug="logging",
            title="Logging care",
            about="Entries, readings, photographs, warning tags, corrections.",
            explains=("log", "log_kind", "look_over", "correct", "attachment", "thumbnail"),
        ),
        HelpPage(
            slug="places",
            title="Places and their air",
            about="Sites, buildings, bays, climates, and what a building does to the weather.",
            explains=(
                "places",
                "site_new",
                "site_edit",
                "building_new",
                "building_edit",
                "arrange",
                "bay_new",
                "bay_edit",
                "climate_new",
                "climate_edit",
                "air",
            ),
        ),
        HelpPage(
            slug="loggers",
            title="Loggers",
            about="Measured air of a place, volts of a battery.",
            explains=("loggers", "logger_site", "logger_building", "car_loggers", "logger_file"),
        ),
        HelpPage(
            slug="sensors",
            title="Sensors",
            about="What measures by itself: how it sends, what is kept, what it means for a car.",
            explains=("sensors", "sensor_new", "sensor_end"),
        ),
        HelpPage(
            slug="what-if",
            title="What if, and prices",
            about="A year worked out twice: as it is, and as it would be.",
            explains=("whatif", "prices"),
        ),
        HelpPage(
            slug="reminders",
            title="Calendar and mail",
            about="What falls due, in your own calendar and by mail on Mondays.",
            explains=("reminders",),
        ),
        HelpPage(
            slug="tables",
            title="Import and export",
            about="Cars and care logs from spreadsheets; every list out again.",
            explains=("spreadsheets", "spreadsheet", "spreadsheet_columns"),
        ),
    ),
    "A car and its history": (
        HelpPage(
            slug="history",
            title="Storage history",
            about="What it says, how well each statement is known, comparison, PDF.",
            explains=("histories", "history", "compare"),
        ),
        HelpPage(
            slug="sharing",
            title="Sharing a history",
            about="A link for somebody without a sign-in.",
            explains=("shares", "shared_compare"),
        ),
        HelpPage(
            slug="proof",
            title="Proof",
            about="What the record proves, how it is checked, and what it cannot prove.",
            explains=("proof", "trust", "settings_proof", "statement", "witnesses", "countersign"),
        ),
        HelpPage(
            slug="handing-over",
            title="Handing over and receiving",
            about="A car goes to another keeper with its whole record.",
            explains=("hand_over", "handovers", "handover_receipt", "car_arrive"),
        ),
        HelpPage(
            slug="recommissioning",
            title="Recommissioning",
            about="A car that stood too long: evidence, plan, permissions, faults, report.",
            explains=(
                "recommissioning",
                "evidence_kinds",
                "evidence_new",
                "evidence_correct",
                "recommission_outlook",
                "recommission_look",
                "recommission_hazards",
                "recommission_case",
                "recommission_plan",
                "recommission_step",
                "recommission_handbook",
                "recommission_faults",
                "recommission_fault",
                "recommission_test",
                "recommission_report",
                "recommission_end",
                "worksheet_recommission",
                "worksheet_faults",
            ),
        ),
    ),
    "People": (
        HelpPage(
            slug="people",
            title="People and privacy",
            about="Roles, invitations, signing in, operators, keys and alarms, what is kept, forgetting.",
            explains=(
                "people",
                "member_new",
                "member_edit",
                "owner_new",
                "owner_edit",
                "owner_forget",
                "operators",
                "organisations",
                "sign_ins",
                "sign_in_edit",
                "person_forget",
                "car_private",
                "site_private",
                "private_showings",
                "me",
                "usersessions_list",
                "mfa_index",
                "mfa_activate_totp",
                "mfa_deactivate_totp",
                "mfa_view_recovery_codes",
                "mfa_generate_recovery_codes",
                "mfa_list_webauthn",
                "mfa_add_webauthn",
                "mfa_edit_webauthn",
                "mfa_remove_webauthn",
            ),
        ),
    ),
    "Running it": (
        HelpPage(
            slug="running",
            title="Start and set up",
            about="The first start, HTTPS, systemd, several machines.",
        ),
        HelpPage(slug="settings", title="Settings", about="Every setting, with its default."),
        HelpPage(
            slug="backup",
            title="Backup, restore, upgrade",
            about="One file each night; how it comes back; to a newer version and back.",
        ),
        HelpPage(
            slug="trouble",
            title="When things go wrong",
            about="Full disk, dead worker, wrong clock; doctor, health, logs.",
            explains=("system", "installation"),
        ),
        HelpPage(
            slug="size",
            title="How far it goes",
            about="What one machine carries, and the steps to a million cars.",
        ),
    ),
    "Programmes": (
        HelpPage(
            slug="programmes",
            title="Tokens and the API",
            about="Reading and writing by programme, in the name of a person.",
            explains=("tokens", "api_docs"),
        ),
        HelpPage(
            slug="webhooks",
            title="Webhooks",
            about="Addresses that are told when a car's dates change.",
            explains=("webhooks", "webhook"),
        ),
        HelpPage(
            slug="the-core",
            title="The core as a command",
            about="States, duties and the past of cars from plain dated facts, without a site.",
        ),
    ),
    "About": (
        HelpPage(
            slug="style",
            title="Parts of the pages",
            about="Type, states, buttons, tables, forms, strips and charts, in light, dark and on paper.",
            stylesheet="collection/parts.css",
        ),
        HelpPage(slug="cautions", title="Cautions", about="What can hurt somebody at this work."),
        HelpPage(
            slug="models",
            title="The models and how well they hold",
            about="Each curve with what was published; how often the true day lay within the dates.",
        ),
        HelpPage(
            slug="limits-of-knowledge", title="What it does not know", about="Where a date may mislead."
        ),
        HelpPage(
            slug="asvs",
            title="Security, point by point",
            about="Each requirement of the ASVS, levels 1 and 2: which test holds it, or why not.",
        ),
        HelpPage(slug="changes", title="Changes", about="What each version brought."),
        HelpPage(slug="licence", title="Licence", about="MIT."),
    ),
}
PAGES = {page.slug: page for pages in CONTENTS.values() for page in pages}
EXPLAINED_BY = {address: page for page in PAGES.values() for address in page.explains}
