"""What whoever runs an installation needs, as a plain file to be read before a site runs.

The pages of Help are its only source. To write it anew:
``uv run manage.py shell -c "from tests.help.operate import write; write()"``
"""

import textwrap

from django.conf import settings

from collection.help.contents import CONTENTS
from collection.help.texts import blocks, body

GROUP = "Running it"
FILE = settings.BASE_DIR / "fixtures" / "deploy" / "OPERATE.txt"
WIDTH = 88
HEAD = f"""\
Running Longstand
=================

These are the pages "{GROUP}" of Help, as the site shows them under /help/. They are
written there; this file is made from them.
"""


def operate_text():
    parts = [HEAD]
    for page in CONTENTS[GROUP]:
        parts.append(f"\n\n{page.title}\n{'=' * len(page.title)}\n")
        parts += [as_text(block) for block in blocks(body(page))]
    return "\n".join(parts).rstrip() + "\n"


def as_text(block):
    match block.tag:
        case "h2":
            return f"\n{block.text}\n{'-' * len(block.text)}\n"
        case "pre":
            return textwrap.indent(block.text, "    ") + "\n"
        case "li":
            return textwrap.fill(block.text, WIDTH, initial_indent="- ", subsequent_indent="  ") + "\n"
        case "dt":
            return block.text
        case "dd":
            return textwrap.fill(block.text, WIDTH, initial_indent="    ", subsequent_indent="    ") + "\n"
    return textwrap.fill(block.text, WIDTH) + "\n"


def write():
    FILE.write_text(operate_text())
