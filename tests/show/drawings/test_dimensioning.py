"""Labels that make room for each other."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from planner.show.drawings.dimensioning import spread


@given(st.lists(st.floats(0, 400), max_size=12), st.floats(1, 30))
def test_labels_keep_their_distance_their_order_and_their_bounds(wanted, pitch):
    high = 400.0
    places = spread(wanted, pitch, 0.0, high)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    rising = [places[i] for i in order]
    assert all(later - earlier >= pitch - 1e-6 for earlier, later in pairwise(rising))
    if wanted and pitch * (len(wanted) - 1) <= high:
        assert rising[0] >= -1e-6
        assert rising[-1] <= high + 1e-6


def test_labels_with_room_stay_where_they_are_wanted():
    assert spread([300.0, 100.0, 200.0], 50.0, 0.0, 400.0) == [300.0, 100.0, 200.0]


def test_labels_without_room_run_over_the_end():
    assert spread([10.0, 10.0, 10.0], 50.0, 0.0, 60.0) == [0.0, 50.0, 100.0]
