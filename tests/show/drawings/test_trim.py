"""The drawing of a trim: its numbers, its words, one scale."""

import re

import numpy as np
import pytest

from planner.show.drawings.trim import trim_view
from tests.plans.test_trim import INCH, as_planned, reading_of, setup_of
from tests.plans.test_trim import trim as find_trim
from tests.show.reading import misplaced


def make_trim(name="mill-on-the-hill-road", off=0.7):
    """Return a trim of a demo truck whose rear left corner stands low."""
    setup = setup_of(name)
    _, sits = as_planned(setup)
    height = sits.ride_height.copy()
    height[1, 0] -= off * INCH
    return find_trim(setup, reading_of(sits.set.pressure, height))


@pytest.mark.parametrize("name", ["mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday"])
@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("off", [0.0, 0.7, -2.5])
def test_nothing_is_cut_or_overlaps(name, system, off):
    drawing = trim_view(make_trim(name, off), system)
    assert misplaced(drawing) == []
    assert "nan" not in drawing.svg


def test_every_number_to_set_is_there_in_words_and_in_large_type():
    found = make_trim()
    drawing = trim_view(found, "us")
    for pressure in found.set.ravel() / 6894.757:
        assert f">{pressure:.0f}</text>" in drawing.svg
        assert f"set {pressure:.0f} psi" in drawing.alt
    assert "rear left is" in drawing.alt
    assert "give or take" in drawing.alt


def test_heights_are_to_one_scale():
    found = make_trim()
    drawing = trim_view(found, "us")
    circles = [float(y) for y in re.findall(r'<circle cx="[\d.]+" cy="([\d.]+)"', drawing.svg)]
    lines = [float(y) for y in re.findall(r'd="M[\d.]+ ([\d.]+)L[\d.]+ \1" fill="none" stroke="#1b5e8c"', drawing.svg)]
    above = np.array(lines) - np.array(circles)
    span = above / found.off_after.ravel()
    assert np.ptp(span) < 0.02 * span.mean() + 30.0
