"""Cards of the demo, and cards with names that people, or strangers, may have typed."""

from dataclasses import replace
from datetime import date
from functools import cache

from planner.plans.saved_state import Standing, standing
from planner.show.text.card import card_of_state
from planner.store import Store
from tests.show.drawings.test_top_view import HOSTILE

from .conftest import DEMO, DEMO_PROFILES

SAVED = date(2026, 5, 4)
MILL, SLABS = "mill-on-the-hill-road", "slabs-on-friday"
NAMES = [
    *HOSTILE,
    "**bold** [link](http://stranger.example/x.png) ![x](http://stranger.example/y.png)",
    "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "x" * 10_000,
    "مقطورة الخشب",
    "👩‍🚒🪵😀",
    "a\u0301\u0301\u0301\u0301\u0301\u0301",
]


@cache
def stands(slug):
    outfit = Store(DEMO).read_outfit(slug)
    return standing(outfit.profile, outfit.truck, outfit.trailer)


def demo_card(slug, system="us"):
    return card_of_state(stands(slug), system, saved=SAVED)


def demo_cards(system="us"):
    return [demo_card(slug, system) for slug in DEMO_PROFILES]


def named_card(name):
    """Return a card whose profile and truck have a name that no record would take."""
    one = stands(MILL)
    setup = replace(one.setup, truck=one.setup.truck.model_copy(update={"name": name}))
    return card_of_state(
        Standing(one.profile.model_copy(update={"name": name}), setup, one.answer, True), "us", saved=SAVED
    )
