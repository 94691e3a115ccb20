"""What every test may use."""

import pytest
from django.conf import settings
from django.test import override_settings

PLAIN = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}


@pytest.fixture(autouse=True, scope="session")
def plain_static_files(tmp_path_factory):
    """Pages name their static files as they lie in the source: no test waits for collectstatic."""
    storages = settings.STORAGES | {"staticfiles": PLAIN}
    with override_settings(STORAGES=storages, STATIC_ROOT=tmp_path_factory.mktemp("static")):
        yield
