"""What stops a file from being read, in words for the person who sent it."""

from collection.host.refusal import Refused


class UnreadableFile(Refused):
    """The file cannot be read; the text says what is wrong, at which line, and what to do."""
