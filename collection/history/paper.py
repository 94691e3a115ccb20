"""The storage history as a PDF for the archive: PDF/A-3 (ISO 19005-3), tagged for readers (PDF/UA-1).

Where the reader may have it, the exported history lies inside the PDF as an attachment, so that the
paper carries its own proof.
"""

from datetime import date
from pathlib import Path
from typing import Any

from collection.drawing.sign_pdf import sign_pdf
from collection.drawing.strips import picture
from collection.drawing.typeset import ARCHIVAL_AND_TAGGED, pdf
from collection.history.doings import Brought, Doing
from collection.history.grades import GRADES
from collection.history.outlook import OutlookLine
from collection.history.pictures import pictures
from collection.history.story import Story
from collection.host.paper_key import paper_key
from collection.web.templatetags.longstand import STATES, day, since_or_by

TEMPLATE = Path(__file__).with_name("paper.typ")


def history_pdf(story: Story, file: bytes | None) -> bytes:
    """The document; ``file`` is the exported history to be laid inside, if any."""
    shown = pictures(story)
    named = {f"picture-{number}.jpg": each.data for number, each in enumerate(shown)}
    facts = paper(story) | {
        "paper_key": paper_key().fingerprint,
        "face": next(iter(named), "") if story.photograph else "",
        "pictures": [[name, each.alt] for name, each in zip(named, shown, strict=True)],
    }
    made = pdf(TEMPLATE, facts, standards=ARCHIVAL_AND_TAGGED, file=file or b"", pictures=named)
    return sign_pdf(made, paper_key())


def paper(story: Story) -> dict[str, Any]:
    """The story as words and rows, ready to be set."""
    scope = story.scope
    return {
        "title": f"Storage history, {story.vehicle}",
        "car": str(story.vehicle),
        "date": [story.today.year, story.today.month, story.today.day],
        "lead": _lead(story),
        "period": f"From {day(story.first)} to {day(story.last)}.",
        "fault": story.fault,
        "grades": [f"{grade} {words}" for grade, words in GRADES.items()],
        "tags": [f"{tag.words}. Put on {day(tag.day)} by {tag.by}." for tag in story.tags],
        "facts": [list(fact) for fact in story.facts] + ([["Owner", story.owner]] if story.owner else []),
        "last_times": [[it.event, day(it.day), it.basis, str(it.grade)] for it in story.last_times],
        "stays": _stays(story),
        "verdict": _verdict(story),
        "kept": _kept(story),
        "kept_about": f"{story.kept_about}.",
        "limits": [[it.title, _capital(it.said), _capital(it.sure), str(it.grade)] for it in story.limits],
        "missed": [
            [day(it.since), _until(it.since, it.until), _capital(it.what), str(it.grade)]
            for it in story.missed
        ],
        "open_faults": [[day(it.day), _capital(it.words), it.by, str(it.grade)] for it in story.open_faults],
        "outlook": _outlook(story),
        "systems": _systems(story),
        "doings": _doings(story),
        "record": [
            [day(it.day), _capital("; ".join(it.changes)), it.by, it.basis or "not said", str(it.grade)]
            for it in story.record
        ],
        "seal": _seal(story),
        "whole": not (scope.first or scope.last or scope.hidden),
    }


def _lead(story: Story) -> str:
    left = story.vehicle.left_on
    end = f" until {day(left)}" if left and not story.scope.last else ""
    regime = story.vehicle.get_regime_display()
    stood = f"{regime}. As the record stood on {day(story.today)}."
    return f"Kept by {story.kept_by}{end}. {stood}{'' if story.photograph else ' No photograph to show.'}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _until(since: date, until: date | None) -> str:
    return "still" if until is None else "the same day" if until == since else day(until)


def _stays(story: Story) -> list[list[str]]:
    last = len(story.stays)
    return [
        [
            day(stay.since),
            day(stay.until) if stay.until else "today" if number == last else "not known",
            ", ".join(part for part in (_capital(stay.place), stay.under) if part),
            stay.air or "not known",
            str(stay.grade),
        ]
        for number, stay in enumerate(story.stays, 1)
    ]


def _kept(story: Story) -> list[list[str]]:
    return [
        [it.title, f"{it.asked} ×", f"{it.done} ×", f"{it.late} ×", _capital(it.words)] for it in story.kept
    ]


def _outlook(story: Story) -> dict[str, Any]:
    condition = story.condition
    if condition is None:
        return {"stood": "", "lines": [], "plan": "", "total": ""}
    lines = [
        {
            "title": line.title,
            "sound": " ".join(text for text in (line.unknown, line.sound) if text),
            "cost": line.cost,
            "parts": [[part.label, part.words, part.state, part.reasons] for part in line.parts],
            "next": _next(line),
        }
        for line in condition.lines
    ]
    return {"stood": condition.stood, "lines": lines, "plan": condition.plan, "total": condition.total}


def _next(line: OutlookLine) -> str:
    parts = [_capital(line.next), f"perhaps: {line.repairs}" if line.repairs else ""]
    return "; ".join(part for part in parts if part) or "Nothing now"


def _systems(story: Story) -> list[list[str]]:
    return [
        [system.title, line.line.title, STATES[line.line.state][0], _capital(line.when), line.summary]
        for system in story.systems
        for line in system.duties
    ]


def _doings(story: Story) -> list[dict[str, Any]]:
    return [
        {
            "gone": bool(it.gone),
            "grade": str(it.grade),
            "by": it.by,
            "title": it.title,
            "day": day(it.day),
            "late": f"written down {day(it.written_late)}, late" if it.written_late else "",
            "about": it.gone or it.instead,
            "note": it.note,
            "files": _files(it),
            "facts": "; ".join(f"{label}: {value}" for label, value in it.facts),
        }
        for it in _told_on_paper(story)
    ]


def _told_on_paper(story: Story) -> list[Doing]:
    """Every entry; what a table brought and was all taken back is one line, struck through."""
    told: list[Doing] = []
    for line in story.lines:
        if isinstance(line, Doing):
            told.append(line)
        elif line.taken_back < line.count:
            told += line.doings
        else:
            told.append(_as_one(line))
    return sorted(told, key=lambda doing: doing.day)


def _as_one(line: Brought) -> Doing:
    first = line.doings[0]
    return Doing(
        line.day,
        first.kind,
        line.words,
        (),
        "",
        line.by,
        None,
        first.grade,
        gone=f"{line.taken_back} withdrawals",
    )


def _files(doing: Doing) -> str:
    """Photographs and documents by name, or how many there are where they are not told."""
    if doing.withheld_files:
        return f"{doing.withheld_files} photographs or documents: ask whoever shared this"
    return ", ".join(f"{file.name} (SHA-256 {file.digest[:16]}…)" for file in doing.files)


def _seal(story: Story) -> dict[str, Any] | None:
    seal = story.seal
    return {"head": seal.head, "key": seal.key, "words": seal.words} if seal else None


def _verdict(story: Story) -> dict[str, Any]:
    """The first page: answers, states, strips as pictures."""
    return {
        "identity": story.identity,
        "answers": [[it.key, it.question, it.text, list(it.more)] for it in story.answers],
        "cells": [
            [cell.part.title, STATES[cell.state][0], since_or_by(cell.on, story.today) if cell.on else ""]
            for cell in story.cells
        ],
        "state_lines": story.state_lines,
        "strips": [[strip.title, strip.sentence, picture(strip)] for strip in story.years],
        "first": day(story.first),
        "last": day(story.last),
    }
