"""A fleet as one page: self-contained, names as they were typed, no more than a browser shows."""

import re

import pytest

from planner.errors import Refusal
from planner.plans.fleet import judge_fleet
from planner.show.paper.fleet_page import MOST_PAIRS, fleet_page, refuse_long
from tests.plans.any_fleet import some_trailers, some_trucks


def test_it_holds_every_pair_and_nothing_from_outside():
    trucks, trailers = some_trucks(3), some_trailers(4)
    trucks[0] = trucks[0].replaced(name="<b>Big & old</b>")
    page = fleet_page(judge_fleet(trucks, trailers), "us")
    assert len(re.findall(r"<td class=", page)) == 12
    assert len(re.findall(r"<li class=", page)) == 12
    assert "&lt;b&gt;Big &amp; old&lt;/b&gt;" in page
    assert not re.search(r"<script|src=|href=|url\(|@import", page)
    assert "default-src 'none'" in page


def test_more_than_a_browser_shows_is_refused_before_it_is_made():
    refuse_long(MOST_PAIRS)
    with pytest.raises(Refusal, match=r"write a \.csv or \.parquet"):
        refuse_long(MOST_PAIRS + 1)
