"""The barn of the collection's tests, for tests of what goes wrong."""

from tests.collection.conftest import (  # noqa: F401 - fixtures
    barn,
    bays,
    car,
    client_as,
    foreign_car,
    keeper,
    manager,
    neighbour_car,
    other_barn,
    outsider,
    owner,
    viewer,
)
from tests.collection.test_permissions import people, rows  # noqa: F401 - fixtures
