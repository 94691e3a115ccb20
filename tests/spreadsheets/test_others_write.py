"""While a long table comes in and goes again, others write: nobody waits for the whole of it."""

from collection.spreadsheets.actions.findings import PIECE_S, Pace, pieces_of
from tests.bench.bench_import import measure
from tests.databases import put_migrated_file

ROWS = 400
MOST_S = 2.0
SLOW = 25  # times the quickest write: on a machine so busy that even that takes long


def test_a_write_beside_an_import_waits_for_a_piece_and_not_for_the_table(tmp_path):
    put_migrated_file(tmp_path)
    steps, waits = measure(tmp_path, ROWS)
    assert {"read", "check", "import", "undo"} <= steps.keys()
    assert len(waits) > 5
    assert max(waits) < max(MOST_S, SLOW * min(waits)), (steps, sorted(waits)[-5:])


def test_pieces_grow_while_they_are_quick_and_shrink_when_they_are_not():
    pace = Pace(first=10, most=60)
    sizes = []
    for some, took in zip(
        pieces_of(range(1000), pace), (0.01, 0.01, 0.01, 0.01, 4.0, 4.0, 0.4), strict=False
    ):
        sizes.append(len(some))
        pace.took(took)
    assert sizes == [10, 20, 40, 60, 60, 6, 1]
    for _ in range(20):
        pace.took(100.0)
    assert pace.size == 1
    pace.took(PIECE_S / 2)
    assert pace.size == 2
