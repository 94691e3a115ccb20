"""The barn of the collection's tests, for tests of what goes wrong."""

from tests.people.test_permissions import people, rows  # noqa: F401 - fixtures
