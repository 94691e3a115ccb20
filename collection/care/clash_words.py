"""What two people are told who finished one task at once."""

from collection.models import Clash, Person
from collection.web.templatetags.longstand import moment


def describe_clash(person: Person, clash: Clash) -> str:
    """The clash in words for one of the two; the other's entry is named, times in the zone in force."""
    entry = clash.entry
    what = f"{entry.get_kind_display()} of {entry.vehicle}"
    when = moment(entry.recorded_at)
    if entry.by_id == clash.by_id:
        return f"{what}: you had logged it already, {when}. One entry stands; the second was not logged."
    if person.pk == clash.by_id:
        return f"{what}: {entry.by} had logged it, {when}, before yours came. One entry stands: theirs."
    return f"{what}: {clash.by} also sent it, {moment(clash.at)}. One entry stands: yours of {when}."
