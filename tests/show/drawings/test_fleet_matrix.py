"""The matrix of a fleet: every look has its shape, its rows stand in the order asked for, words say the same."""

import re

import pytest

from planner.plans.fleet import judge_fleet
from planner.show.drawings.fleet_matrix import WORDS, fleet_matrix, look_of
from tests.plans.any_fleet import some_trailers, some_trucks


@pytest.fixture(scope="module")
def yard():
    """Return 12 trucks with 8 trailers."""
    return judge_fleet(some_trucks(12), some_trailers(8), heaviest=False)


def test_each_pair_has_a_field_of_its_look_and_all_looks_are_in_the_key(yard):
    svg, looks = fleet_matrix(yard, range(12), range(8)).svg, [look_of(yard, i, j) for i in range(12) for j in range(8)]
    assert set(looks) == set(WORDS)
    for look, words in WORDS.items():
        assert len(re.findall(rf'class="{look}"', svg)) == looks.count(look) + 1  # and that of the key
        assert words in svg


def test_trucks_and_trailers_stand_in_the_order_given(yard):
    found = fleet_matrix(yard, [5, 2], [3])
    names = [yard.trucks[5].name, yard.trucks[2].name, yard.trailers[3].name]
    places = [found.svg.index(f">{name[:8]}", found.svg.index("</desc>")) for name in names]
    assert places == sorted(places)
    assert found.alt.startswith(f"{names[0]} takes ")
