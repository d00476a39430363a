"""What is beside the answer: where the truck sits if it was aired empty, found when it is asked for."""

from dataclasses import replace

from planner.forms.saving import setup_of
from planner.front.level import answer
from planner.front.level.answer import Shown
from planner.plans.level import Shut, level_setup, settle_setup


def shown(work):
    setup = setup_of(work)
    return Shown(work, setup, level_setup(setup), stale=False)


def test_before_is_the_empty_truck_aired_and_shut_then_loaded(work):
    setup = setup_of(work)
    empty = setup.without_trailer().without_cargo()
    assert shown(work).before == settle_setup(empty, {}, later=setup, shut=Shut()).stance


def test_nothing_put_on_has_no_before(work):
    alone = work.with_profile(trailer=None, hitch=None, cargo=())
    assert shown(replace(alone, trailer=None)).before is None


def test_before_is_not_found_until_it_is_asked_for_and_then_once(work, monkeypatch):
    asked = []
    settle = answer.settle_setup
    monkeypatch.setattr(answer, "settle_setup", lambda *args, **given: asked.append(1) or settle(*args, **given))
    found = shown(work)
    assert not asked
    assert found.before is found.before
    assert asked == [1]


def test_an_empty_truck_without_a_rest_leaves_the_answer_standing(work, monkeypatch):
    def no_rest(*_, **__):
        raise ArithmeticError("no rest")

    monkeypatch.setattr(answer, "settle_setup", no_rest)
    assert shown(work).before is None
