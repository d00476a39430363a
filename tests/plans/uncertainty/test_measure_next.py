"""What to find out next: the cheapest that is worth it, and it keeps what it promises."""

import numpy as np
import pytest

from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.uncertainty.measure_next import AT_LEAST, MEASURED, WEIGHED, Measurement, next_measurement
from planner.plans.uncertainty.result import find_uncertainty
from planner.plans.uncertainty.spreads import GROUPS
from planner.show.text.uncertainty import measure_words
from planner.store import Store
from planner.store.folder import demo_folder

SLUGS = ("mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday")


def setup_of(slug):
    outfit = Store(demo_folder()).read_outfit(slug)
    return Setup.of(outfit.profile, outfit.truck, outfit.trailer)


def test_every_group_of_inputs_can_be_measured_somehow():
    assert set(MEASURED) == set(GROUPS)
    assert set(WEIGHED) < set(GROUPS)
    assert Measurement("tongue ratio", "weigh it", 1.0, 0.5).weighed
    assert not Measurement("gauge", "hold it against another", 1.0, 0.5).weighed


@pytest.mark.parametrize("slug", SLUGS)
def test_what_is_promised_of_a_measurement_comes_true(slug):
    """The band with a group's spreads at nought is the band that was promised, within the draws' noise."""
    setup = setup_of(slug)
    answer = level_setup(setup)
    sure = find_uncertainty(setup, answer)
    found = next_measurement(setup, answer, sure)
    assert found is not None
    assert found.now == sure.within
    assert found.then <= (1 - AT_LEAST) * found.now
    known = dict.fromkeys((key for key in GROUPS[found.group] if key in sure.spreads), 0.0)
    after = find_uncertainty(setup, answer, known, base=1024, seed=3)
    assert np.isclose(after.within, found.then, rtol=0.1), (found, after.within)
    words = measure_words(found, "us")
    assert found.group in words
    assert found.how in words


@pytest.mark.parametrize("slug", SLUGS)
def test_nothing_cheaper_would_do(slug):
    setup = setup_of(slug)
    answer = level_setup(setup)
    sure = find_uncertainty(setup, answer)
    found = next_measurement(setup, answer, sure)
    for group, (_, minutes) in MEASURED.items():
        if group in sure.shares.groups and minutes < MEASURED[found.group][1]:
            known = dict.fromkeys((key for key in GROUPS[group] if key in sure.spreads), 0.0)
            assert find_uncertainty(setup, answer, known).within > 0.85 * sure.within, group


def test_where_all_is_known_there_is_nothing_to_find_out():
    setup = setup_of(SLUGS[0])
    answer = level_setup(setup)
    known = dict.fromkeys(find_uncertainty(setup, answer, base=64).spreads, 0.0)
    assert next_measurement(setup, answer, find_uncertainty(setup, answer, known, base=64), known) is None
