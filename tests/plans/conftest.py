"""Setups of the demo, and random ones."""

from pathlib import Path

import pytest

from planner.plans.setup import Setup
from planner.store import Store
from tests.published.conftest import make_trailer as make_trailer  # fixtures for the tests here
from tests.published.conftest import make_truck as make_truck

DEMO = Path(__file__).parents[2] / "profiles"


@pytest.fixture
def demo():
    """Return a function from a demo profile's slug to its setup."""

    def setup(slug):
        outfit = Store(DEMO).read_outfit(slug)
        return Setup.of(outfit.profile, outfit.truck, outfit.trailer)

    return setup
