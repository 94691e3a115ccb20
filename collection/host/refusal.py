"""Why a file that somebody sent is not taken, in words for whoever sent it."""


class Refused(ValueError):
    """The file is not taken; the text says why, and what to send instead."""
