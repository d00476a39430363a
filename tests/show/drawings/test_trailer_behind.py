import pytest

from planner.plans.trailer_deck import deck_plan
from planner.show.drawings.trailer_behind import trailer_behind
from tests.show.conftest import make_trailer
from tests.show.reading import misplaced, words


@pytest.mark.parametrize("share", [0.5, 0.2, 0.8])
def test_each_side_says_what_it_carries_and_its_tyre_against_its_rating(share):
    plan = deck_plan(make_trailer(left_share=share))
    drawing = trailer_behind(plan, "us")
    assert misplaced(drawing) == []
    left, right = (round(2 * one / 4.4482216, -1) for one in plan.side_load)  # N to lbf; two axles
    said = words(drawing)
    for side in (left, right):
        assert any(abs(float(one.split()[0].replace(",", "")) - side) < 10 for one in said if one.endswith(" lb"))
    assert ("■" in " ".join(said)) == (share != 0.5)  # of 2,540 lb


def test_units_and_dark_paper():
    assert "kg" in trailer_behind(deck_plan(make_trailer()), "metric").alt
