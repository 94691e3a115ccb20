"""What every test may use."""

import pytest
from django.conf import settings
from django.test import override_settings

PLAIN = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}


QUICK_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True, scope="session")
def quick_settings(tmp_path_factory):
    """No test waits for collectstatic (pages name static files as they lie in the source) or for
    a password hash that is slow on purpose.
    """
    storages = settings.STORAGES | {"staticfiles": PLAIN}
    with override_settings(
        STORAGES=storages,
        PASSWORD_HASHERS=QUICK_HASHERS,
        STATIC_ROOT=tmp_path_factory.mktemp("static"),
        MEDIA_ROOT=tmp_path_factory.mktemp("media"),
        DATA_DIR=tmp_path_factory.mktemp("data"),  # where signing makes its key
    ):
        yield
