"""Signed statements by mail, to whoever is to hold them outside."""

from collections.abc import Sequence

from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from collection.chain.canonical import canonical
from collection.chain.signing import fingerprint
from collection.models import Anchor, Witness
from collection.proof.queries import statement_file
from collection.web.templatetags.longstand import day


def send(witness: Witness, anchors: Sequence[Anchor]) -> None:
    """One mail with the statements that a witness has yet to see, each as a file."""
    keys = sorted({fingerprint(anchor.statement["key"]) for anchor in anchors})
    facts = {"organisation": witness.organisation, "anchors": anchors, "keys": keys}
    newest = anchors[-1]
    message = EmailMessage(
        subject=f"{witness.organisation}: signed statement of {day(newest.at)}",
        body=render_to_string("notices/statements.txt", facts),
        to=[witness.to],
    )
    for anchor in anchors:
        name = f"statement-{anchor.number}-{anchor.at:%Y-%m-%d}.json"
        message.attach(name, canonical(statement_file(anchor)), "application/json")
    message.send()
