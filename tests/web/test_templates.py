"""Templates are read by people too."""

from django.conf import settings

LONGEST = 160


def test_no_template_line_is_too_long_to_read():
    pages = sorted(settings.BASE_DIR.glob("templates/**/*.html"))
    assert len(pages) > 100
    lines = ((path, n, line) for path in pages for n, line in enumerate(path.read_text().splitlines(), 1))
    assert [f"{path.name}:{n}" for path, n, line in lines if len(line) > LONGEST] == []


def test_no_tag_is_broken_over_two_lines():
    """What is broken so would stand on the page as it is written."""
    pages = settings.BASE_DIR.glob("templates/**/*.html")
    lines = ((path, n, line) for path in pages for n, line in enumerate(path.read_text().splitlines(), 1))
    pairs = (("{{", "}}"), ("{%", "%}"), ("{#", "#}"))
    broken = [
        f"{path.name}:{n}" for path, n, line in lines for a, b in pairs if line.count(a) > line.count(b)
    ]
    assert broken == []
