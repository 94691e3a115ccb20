"""What the texts of Help take from where it is decided, so that it stands in one place."""

import re
from datetime import timedelta
from typing import Any, NamedTuple

from django.conf import settings

from collection.api.actions.tokens import MOST_A_MINUTE
from collection.care.attachments import MOST_BYTES, MOST_FILES, MOST_PAGES
from collection.care.attachments_apart import SHARE as PICTURES
from collection.care.checks import CLOCK_GRACE
from collection.care.pictures import MOST_PIXELS, MOST_UNPACKED
from collection.due.cells import PARTS
from collection.handover.reading import SHARE as ARCHIVES
from collection.help.mechanisms import mechanisms, scorecard, stored
from collection.help.samples import samples
from collection.history.grades import GRADES
from collection.history.queries.history import LATE_RECORDED
from collection.host.machine import MOST_WEB_PROCESSES
from collection.host.version import VERSION
from collection.life.duties import HARM_NEAR, THIS_MONTH, THIS_WEEK
from collection.loggers.core.apart import SHARE as LOGGER_FILES
from collection.loggers.queries import KEPT_DAYS
from collection.loggers.reading.lines import MOST_BYTES as LOGGER_BYTES
from collection.models.sensors import LEAST_SILENCE
from collection.operations.backup.rehearse import ROOM
from collection.people.actions.invitations import LASTS, MOST_A_DAY
from collection.people.actions.sign_ins import KEPT
from collection.people.tries import FIRST_S, FREE, LONGEST_S, in_words
from collection.permissions import SCOPES
from collection.sensors.actions.meaning import RAW, TYRE_FELL_KPA
from collection.sensors.actions.readings import OLDEST, PLACES
from collection.sensors.actions.tokens import MOST_A_MINUTE as MOST_BATCHES
from collection.sensors.door import MOST_READINGS
from collection.spreadsheets.sheets.apart import SHARE as TABLES
from collection.spreadsheets.sheets.reading import LONGEST_CELL, MOST_CELLS, MOST_CHARACTERS, MOST_ROWS
from collection.spreadsheets.sheets.reading import MOST_BYTES as SHEET_BYTES
from collection.web.door import AT_ONCE, IN_LINE
from scheduler.vocabulary.cautions import CAUTIONS, DEFER
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.positions import TYRES
from scheduler.vocabulary.regimes import REGIMES, SHELTERS
from scheduler.vocabulary.sensed import SENSED, Sensed
from scheduler.vocabulary.systems import SYSTEMS
from scheduler.vocabulary.tags import TAGS
from scheduler.vocabulary.words import WORDS

APART = (
    ("Photographs and PDFs of one entry", PICTURES),
    ("Tables", TABLES),
    ("A logger's file", LOGGER_FILES),
    ("The file of a car that was handed over", ARCHIVES),
)
VARIABLE = re.compile(r"#(LONGSTAND_\w+)=(.*)")


class Setting(NamedTuple):
    """Variables of the environment that are explained together: names with examples, and what they do."""

    variables: tuple[tuple[str, str], ...]
    text: str


def _sensed(row: Sensed) -> dict[str, Any]:
    """A quantity that sensors send, and where one stands that may."""
    where = [words for place, words in PLACES.items() if place.__name__.lower() in row.places]
    return {"code": row.code, "unit": row.unit, "low": row.low, "high": row.high, "where": ", ".join(where)}


def explained_settings(example: str) -> list[Setting]:
    """The settings as ``.env.example`` explains them: lines of comment, then what they are about."""
    explained: list[Setting] = []
    words: list[str] = []
    variables: list[tuple[str, str]] = []
    for line in [*example.splitlines(), ""]:
        if match := VARIABLE.fullmatch(line):
            variables.append((match[1], match[2]))
            continue
        if variables:
            explained.append(Setting(tuple(variables), " ".join(words)))
            variables, words = [], []
        # a comment that no variable follows is about the file
        words = [*words, line.removeprefix("#").strip()] if line else []
    return explained


def facts() -> dict[str, Any]:
    """Names that any text of Help may use; none of them tells of a reader or of a barn."""
    titles = {system.code: system.title for system in SYSTEMS}
    return {
        "duties": [(duty, titles[duty.system]) for duty in DUTIES],
        "cautions": CAUTIONS,
        "defer": DEFER,
        "tags": TAGS,
        "parts": PARTS,
        "regimes": REGIMES,
        "shelters": SHELTERS,
        "grades": GRADES,
        "harm_days": HARM_NEAR.days,
        "week_days": THIS_WEEK.days,
        "month_days": THIS_MONTH.days,
        "files_most": MOST_FILES,
        "file_mb": MOST_BYTES // 1_000_000,
        "picture_megapixels": MOST_PIXELS // 1_000_000,
        "picture_mb": MOST_UNPACKED // 1_000_000,
        "pdf_pages": MOST_PAGES,
        "late_days": LATE_RECORDED.days,
        "sheet_rows": f"{MOST_ROWS:,}",
        "sheet_mb": SHEET_BYTES // 1_000_000,
        "sheet_cells": f"{MOST_CELLS:,}",
        "sheet_characters": f"{MOST_CHARACTERS:,}",
        "cell_characters": f"{LONGEST_CELL:,}",
        "logger_mb": LOGGER_BYTES // 1_000_000,
        "logger_days": KEPT_DAYS,
        "sensed": [_sensed(row) for row in SENSED],
        "tyre_positions": ", ".join(position.code for position in TYRES),
        "sensor_batch": MOST_READINGS,
        "sensor_minute": MOST_BATCHES,
        "sensor_late": OLDEST.days,
        "sensor_raw": RAW.days,
        "sensor_silence": round(LEAST_SILENCE.total_seconds() / 3600),
        "tyre_fell_kpa": round(TYRE_FELL_KPA),
        "apart": [(words, share.at_once, share.memory / 1e9) for words, share in APART],
        "invitation_days": LASTS.days,
        "invitations_a_day": MOST_A_DAY,
        "tries": FREE + 1,
        "first_wait": in_words(FIRST_S),
        "longest_wait": in_words(LONGEST_S),
        "sign_in_days": KEPT.days,
        "requests_a_minute": MOST_A_MINUTE,
        "ahead_minutes": CLOCK_GRACE // timedelta(minutes=1),
        "at_once": AT_ONCE,
        "in_line": IN_LINE,
        "connections": AT_ONCE + 1,  # health has its own
        "web_most": MOST_WEB_PROCESSES,
        "rehearsal_room": ROOM,
        "words": WORDS,
        "scopes": [words for words, _ in SCOPES.values()],
        "samples": samples,  # called by the one page that shows them
        "settings": explained_settings((settings.BASE_DIR / ".env.example").read_text()),
        "version": VERSION,
        "mechanisms": mechanisms(),
        "scorecard": scorecard(),
        "readings_counts": stored()["readings"],
        "simulated_cars": f"{stored()['cars']:,}",
    }
