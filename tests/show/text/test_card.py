"""What a card says: the planner's own numbers, and all texts fit for paper."""

from dataclasses import replace

import pytest

from planner.plans.answer import CORNERS
from planner.plans.hitching import hitch_up
from planner.plans.level import level_setup
from planner.plans.saved_state import Standing, standing
from planner.show.drawings.profile_card import draw_card
from planner.show.text.as_csv import line_of
from planner.show.text.card import LONGEST_NAME, NOT_SAVED, card_of_state, cut_text, said_text
from planner.show.text.numbers import say, sentence
from tests.show.carrying import MILL, NAMES, SAVED, SLABS, demo_card, named_card, stands
from tests.show.conftest import DEMO_PROFILES


@pytest.mark.parametrize("slug", DEMO_PROFILES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_its_numbers_are_the_planner_s(slug, system):
    card, one = demo_card(slug, system), stands(slug)
    step = float(one.setup.truck.instruments.gauge_step)
    for k in (0, 1):
        for i in (0, 1):
            p = float(one.answer.set.pressure[k, i])
            assert card.corner(k, i) == ("steel" if p != p else say(p, "pressure", system, step=step))
    if one.setup.trailer is None:
        assert card.heights == ()
        return
    plan = hitch_up(one.setup)
    assert [str(height.written) for height in card.heights] == [
        say(plan.stages[0].height, "length", system),
        say(one.answer.set.coupling_height, "length", system),
    ]


def test_all_findings_are_in_it_and_of_paper_s_two_the_rest_is_counted():
    card, found = demo_card(SLABS), stands(SLABS).findings(hitch_up(stands(SLABS).setup))
    assert [severity for severity, _ in card.findings] == [finding.level for finding in found]
    assert card.stopped
    assert len(card.stops) == 4
    assert card.stop_words == "Do not drive like this: 4 things"
    assert card.worst == card.findings[:2]
    assert card.more_words == f"and {len(found) - 2} more in the planner"
    assert not demo_card(MILL).stopped
    assert demo_card(MILL).stop_words == demo_card(MILL).more_words == ""


@pytest.mark.parametrize("slug", DEMO_PROFILES)
def test_its_stages_are_those_of_hitching_and_the_last_is_what_the_card_says(slug):
    card, setup = demo_card(slug), stands(slug).setup
    if setup.trailer is None:
        assert (card.stages, card.unhitched) == ((), None)
        return
    plan = hitch_up(setup)
    assert [one.name for one in card.stages] == ["clear", "meet", "lift", "tow"]
    for one, stage in zip(card.stages[:3], plan.stages, strict=False):
        assert str(one.height) == say(stage.height, "length", "us")
        assert bool(one.remark) != stage.reachable
    assert card.stages[-1].rows == card.rows
    assert card.stages[-1].height == card.heights[-1].written
    alone = level_setup(setup.without_trailer())
    step = float(setup.truck.instruments.gauge_step)
    assert str(card.unhitched.rows[1][0]) == say(float(alone.set.pressure[1, 0]), "pressure", "us", step=step)


def test_trimmed_pressures_are_those_of_the_road_at_every_place():
    one = stands(MILL)
    profile = one.profile.replaced(pressures=dict.fromkeys(CORNERS, "50 psi"))
    card = card_of_state(standing(profile, one.setup.truck, one.setup.trailer), "us", saved=SAVED)
    assert str(card.rows[0][0]) == str(card.stages[-1].rows[0][0]) == "50 psi"
    assert card.status == "Saved 2026-05-04, out of date: re-level."
    assert ("front left", "50 psi", demo_card(MILL).corner(0, 0)) in card.stale


def test_it_says_when_it_was_saved_or_that_it_was_not():
    one = stands(MILL)
    assert card_of_state(one, "us", saved=SAVED).status == NOT_SAVED
    levelled = zip(CORNERS, one.answer.set.pressure.ravel(), strict=True)
    profile = one.profile.replaced(pressures={corner: f"{value:.0f} Pa" for corner, value in levelled})
    saved = Standing(profile, one.setup, one.answer, True)
    assert card_of_state(saved, "us", saved=SAVED).status == "Saved 2026-05-04."
    assert card_of_state(saved, "us").status == "As saved."


def test_where_the_dip_does_not_reach_it_tells_of_the_jack():
    one = stands(MILL)
    low = one.setup.trailer.replaced(parked_height="14 in")
    card = card_of_state(replace(one, setup=replace(one.setup, trailer=low)), "us")
    up = say(hitch_up(replace(one.setup, trailer=low)).jack_up, "length", "us")
    assert card.remark == f"Put the trailer's jack up by {up} to back under."
    assert demo_card(MILL).remark == ""


def test_a_plate_that_does_not_come_up_to_the_trailer_says_so():
    one = stands("logs-on-the-gooseneck")
    setup = replace(
        one.setup,
        hitch=one.setup.hitch.replaced(coupling="fifth_wheel"),
        trailer=one.setup.trailer.replaced(coupling="fifth_wheel", parked_height="60 in"),
    )
    card = card_of_state(replace(one, setup=setup), "us")
    assert card.part == "plate"
    assert card.remark == "Put the trailer's jack down by 16.5 in to back under."


@pytest.mark.parametrize("name", NAMES)
def test_hostile_names_are_one_short_line(name):
    card = named_card(name)
    for words in (card.name, card.outfit):
        assert words.strip()
        assert words.isprintable() or "\u200d" in words
        assert len(words) <= 2 * LONGEST_NAME + 6
    assert len(said_text(card).encode()) < 260


def test_a_long_name_ends_in_an_ellipsis():
    assert cut_text("x" * 500) == "x" * (LONGEST_NAME - 1) + "…"
    assert cut_text("Mill") == "Mill"


def test_the_code_s_text_is_a_few_plain_lines():
    card = demo_card(MILL)
    assert said_text(card).splitlines() == [
        "Mill on the hill road",
        f"front: left {card.corner(0, 0)}, right {card.corner(0, 1)}",
        f"rear: left {card.corner(1, 0)}, right {card.corner(1, 1)}",
        f"ball: back under {card.heights[0].written}, tow {card.heights[1].written}",
        NOT_SAVED,
    ]
    assert "STOP: see the planner" in said_text(demo_card(SLABS))


def test_list_card_alone_and_table_tell_the_same_findings_of_a_profile():
    one = stands("weekly-mill-run")
    found = one.findings(one.way())
    assert [finding.code for finding in found] == ["asks-for-air-rear-left"]
    (said,) = card_of_state(one, "us").findings
    assert said == (found[0].level, sentence(found[0], "us"))
    assert line_of(one, one.way()).worst.code == found[0].code
    assert "Caution: The rear left corner keeps asking" in draw_card(one, "us", found).alt
