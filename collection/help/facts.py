"""What the texts of Help take from where it is decided, so that it stands in one place."""

import re
from typing import Any, NamedTuple

from django.conf import settings

from collection.api.actions.tokens import MOST_A_MINUTE
from collection.care.attachments import MOST_BYTES, MOST_FILES
from collection.history.grades import GRADES
from collection.host.version import VERSION
from collection.life.duties import SOON_DAYS
from collection.loggers.queries import KEPT_DAYS
from collection.loggers.reading.lines import MOST_BYTES as LOGGER_BYTES
from collection.permissions import SCOPES
from collection.spreadsheets.sheets.reading import MOST_BYTES as SHEET_BYTES
from collection.spreadsheets.sheets.reading import MOST_ROWS
from collection.web.door import AT_ONCE, IN_LINE
from scheduler.vocabulary.cautions import CAUTIONS, DEFER
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.regimes import REGIMES, SHELTERS
from scheduler.vocabulary.systems import SYSTEMS
from scheduler.vocabulary.tags import TAGS

VARIABLE = re.compile(r"#(LONGSTAND_\w+)=(.*)")


class Setting(NamedTuple):
    """Variables of the environment that are explained together: names with examples, and what they do."""

    variables: tuple[tuple[str, str], ...]
    text: str


def explained_settings(example: str) -> list[Setting]:
    """The settings as ``.env.example`` explains them: lines of comment, then what they are about."""
    explained: list[Setting] = []
    words: list[str] = []
    variables: list[tuple[str, str]] = []
    for line in [*example.splitlines(), ""]:
        if found := VARIABLE.fullmatch(line):
            variables.append((found[1], found[2]))
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
        "regimes": REGIMES,
        "shelters": SHELTERS,
        "grades": GRADES,
        "soon_days": SOON_DAYS,
        "files_most": MOST_FILES,
        "file_mb": MOST_BYTES // 1_000_000,
        "sheet_rows": f"{MOST_ROWS:,}",
        "sheet_mb": SHEET_BYTES // 1_000_000,
        "logger_mb": LOGGER_BYTES // 1_000_000,
        "logger_days": KEPT_DAYS,
        "requests_a_minute": MOST_A_MINUTE,
        "at_once": AT_ONCE,
        "in_line": IN_LINE,
        "scopes": [words for words, _ in SCOPES.values()],
        "settings": explained_settings((settings.BASE_DIR / ".env.example").read_text()),
        "version": VERSION,
    }
