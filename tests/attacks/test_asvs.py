"""The table of security requirements in Help: complete, each once, and every test that it names is there."""

import re
from collections import Counter
from html.parser import HTMLParser

import pytest
from django.conf import settings

TABLE = settings.BASE_DIR / "templates" / "help" / "asvs.html"
# OWASP ASVS 5.0.0: how many requirements of levels 1 and 2 stand in each section, before those of level 3
SECTIONS = {
    1: (2, 9, 11, 3, 2),
    2: (3, 3, 4, 1),
    3: (0, 2, 4, 6, 5, 0, 2),
    4: (3, 1, 2, 4),
    5: (1, 3, 2, 3),
    6: (3, 12, 4, 4, 5, 3, 0, 4),
    7: (3, 4, 2, 5, 2, 2),
    8: (2, 3, 1, 1),
    9: (3, 4),
    10: (2, 2, 4, 11, 5, 2, 3),
    11: (2, 3, 3, 4, 1, 1),
    12: (3, 2, 4),
    13: (1, 5, 2, 5),
    14: (2, 4, 3),
    15: (3, 3, 7),
    16: (1, 5, 4, 3, 3),
    17: (1, 4, 2),
}


class Rows(HTMLParser):
    """Each row of the table: its numbers, its answer in bold, the tests that it names."""

    def __init__(self):
        super().__init__()
        self.rows, self.inside = [], ""

    def handle_starttag(self, tag, attrs):
        self.inside = tag
        if tag == "th" and ("scope", "row") in attrs:
            self.rows.append({"numbers": [], "answer": "", "tests": []})

    def handle_endtag(self, _tag):
        self.inside = ""

    def handle_data(self, data):
        if self.inside == "th" and self.rows and not self.rows[-1]["answer"]:
            self.rows[-1]["numbers"] += re.findall(r"\d+\.\d+\.\d+", data)
        elif self.inside == "strong":
            self.rows[-1]["answer"] = data
        elif self.inside == "code":
            self.rows[-1]["tests"].append(data)


@pytest.fixture(scope="module")
def rows():
    reader = Rows()
    reader.feed(TABLE.read_text())
    return reader.rows


def test_every_requirement_of_both_levels_is_answered_once(rows):
    asked = [
        f"{chapter}.{section}.{number}"
        for chapter, counts in SECTIONS.items()
        for section, count in enumerate(counts, 1)
        for number in range(1, count + 1)
    ]
    assert Counter(number for row in rows for number in row["numbers"]) == Counter(asked)


def test_every_test_that_it_names_is_there_and_what_is_held_by_a_test_names_one(rows):
    for row in rows:
        assert row["tests"] or row["answer"] != "Held.", row
        for name in row["tests"]:
            path, _, test = name.partition("::")
            assert f"def {test}(" in (settings.BASE_DIR / path).read_text(), name


def test_its_counts_are_those_of_its_rows(rows):
    counts = Counter()
    for row in rows:
        counts[row["answer"]] += len(row["numbers"])
    stated = [
        int(number) for number in re.findall(r"\d+", TABLE.read_text().split("<p>")[2].partition("</p>")[0])
    ]
    kinds = ("Held.", "Held, no test.", "Not, or not wholly.", "Does not apply.")
    assert stated == [sum(counts.values()), *(counts[kind] for kind in kinds)]
