"""The site's own settings with three empty pages beside its addresses, for the bench under load."""

from collection.settings import *  # noqa: F403 - the whole of them, as they are

ROOT_URLCONF = "tests.bench.load_urls"
