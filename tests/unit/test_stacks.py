from itertools import combinations_with_replacement

import numpy as np
import pytest

from slabwright.slab.stacks import stack_heights


@pytest.mark.parametrize(
    ("kinds", "most"),
    [([1.0], 3), ([0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0], 4), ([0.3, 0.7, 25.4], 5), ([1 / 3, 0.127], 4)],
)
def test_heights_and_fewest_pieces_equal_every_stack_counted_out(kinds: list[float], most: int) -> None:
    fewest: dict[float, int] = {0.0: 0}
    for count in range(1, most + 1):
        for stack in combinations_with_replacement(kinds, count):
            fewest.setdefault(round(sum(round(piece, 4) for piece in stack), 4), count)
    table = stack_heights(kinds, most)
    assert table.heights == pytest.approx(sorted(fewest), abs=1e-9)
    assert table.pieces.tolist() == [fewest[key] for key in sorted(fewest)]
    for index in range(len(table)):
        parts = table.parts(index)
        assert len(parts) == table.pieces[index]
        assert sum(parts) == pytest.approx(table.heights[index], abs=2e-4 * most)
        assert set(parts) <= set(kinds)
        assert list(parts) == sorted(parts, reverse=True)


def test_floor_never_lifts_the_wood_and_nearest_is_nearest() -> None:
    table = stack_heights([0.4, 3.0, 7.0], 3)
    room = np.array([-1.0, 0.0, 0.39, 0.4, 5.0, 100.0])
    floor = table.heights[table.floor(room)]
    assert floor.tolist() == pytest.approx([0.0, 0.0, 0.0, 0.4, 3.8, 21.0])
    for value, index in zip(room, table.nearest(room), strict=True):
        assert abs(table.heights[index] - value) == np.abs(table.heights - value).min()


def test_one_shim_one_piece() -> None:
    table = stack_heights([2.0], 1)
    assert table.heights.tolist() == [0.0, 2.0]
    assert table.nearest(np.array([0.9, 1.1])).tolist() == [0, 1]
