"""Drafts that nobody wrote with the planner: whatever is in them is taken up or set aside, and never stands in the way.

The pages are checked by what they ask of the work: every field's text and fault, the answer, the file it would become.
"""

import json
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.forms import profile_form
from planner.forms import trailer_form as garage_edit
from planner.forms.profile_draft import draft_of, open_work
from planner.forms.saving import level_work
from planner.forms.trailer_draft import draft_of as trailer_draft
from planner.forms.trailer_draft import open_trailer
from planner.front.session import draft_files
from planner.front.session import tab as keeping
from planner.front.session import trailer_tab as garage
from planner.records import BadInput
from planner.store import Store

MILL, LOGS = "mill-on-the-hill-road", "log-deck"
TEXTS = st.one_of(
    st.text(st.characters(), max_size=20),
    st.sampled_from(["5 lb", "1e308 lb", "-3 in", "50 %", "9" * 5000, "\ud800", "\x00", "../../etc/passwd", "_new"]),
)
LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**300, max_value=10**310),
    st.floats(),
    TEXTS,
)
JSON = st.recursive(
    LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
)
PLACES = st.sampled_from(["0", "1", "99", "-1", "x", "", "٣", "1" * 5000, "00"])
KEYS = st.one_of(
    st.builds("cargo.{}.{}".format, PLACES, st.sampled_from(["weight", "name", "x", "z", "", "x.y"])),
    st.builds("deck.{}.{}".format, PLACES, st.sampled_from(["weight", "name", "ahead", "z", ""])),
    st.sampled_from(
        ["weight", "tongue", "left", "truck", "trailer", "hitch", "deck", "cargo", "stance", "gvwr", "typical"]
    ),
    st.sampled_from(["bed.weight", "bed.z", "stance.front", "stance.z", "hitching.z", "added.weight", "added.z"]),
    st.sampled_from(["whatif.item", "map.x", "spread.weight", "spread.z", "weighed.z", "saving.fate", "slide.item"]),
    st.sampled_from(["slide.ratio", "axle_count", "schema_version", "model_config", "tongue_share"]),
    st.text(max_size=10),
)
TYPED = st.dictionaries(KEYS, TEXTS, max_size=4)
FUZZ = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@st.composite
def changed(draw, content):
    """Return a draft with one of its parts, or a part of one, replaced."""
    new = json.loads(json.dumps(content))
    part = draw(st.sampled_from(sorted(new)))
    inner = new[part]
    if isinstance(inner, dict) and inner and draw(st.booleans()):
        inner[draw(st.sampled_from(sorted(inner)) | st.text(max_size=6))] = draw(JSON)
    else:
        new[part] = draw(JSON)
    return new


def opened(folder, content):
    """Return a tab that has opened the mill with a draft, and has asked of it what its pages ask."""
    path = draft_files.draft_path(folder, MILL)
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(content), "utf-8")
    tab = keeping.Tab(Store(folder), "us")
    keeping.load_draft(tab, MILL)
    if tab.work is not None:
        asked(tab.work)
        keeping.keep_draft(tab, tab.work)
        keeping.follow_disk(tab, tab.work)
    return tab


def asked(work):
    for system in ("us", "metric"):
        profile_form.bad_fields(work, system)
        profile_form.own_spreads(work, system)
        for key in work.typed:
            profile_form.text_of(work, key, system).encode()
            profile_form.fault_of(work, key, system)
    with suppress(ValueError, ArithmeticError):  # no answer, which the page says
        level_work(work)


@given(typed=TYPED)
@FUZZ
def test_whatever_is_typed_in_a_draft_is_a_field_of_the_profile_or_the_draft_is_set_aside(folder, work, typed):
    content = draft_of(work) | {"typed": typed}
    tab = opened(folder, content)
    assert tab.trouble == ()
    assert tab.work.typed == typed or (tab.work.typed == {} and "set aside" in tab.problems[0].rule)


@given(data=st.data())
@FUZZ
def test_a_draft_with_any_of_its_parts_replaced_opens_or_is_set_aside(folder, work, data):
    tab = opened(folder, data.draw(changed(draft_of(work.with_numbers(gross_weight="8000 lb")))))
    assert tab.trouble == ()
    assert tab.work is not None


@given(typed=TYPED)
@FUZZ
def test_whatever_is_typed_in_a_trailer_s_draft_is_a_field_of_it_or_the_draft_is_set_aside(folder, store, typed):
    bench = with_trailer(folder, store, trailer_draft(open_trailer(store, LOGS)) | {"typed": typed})
    assert bench.work.typed == typed or (bench.work.typed == {} and "set aside" in bench.trouble[0].rule)


@given(data=st.data())
@FUZZ
def test_a_trailer_s_draft_with_any_of_its_parts_replaced_opens_or_is_set_aside(folder, store, data):
    bench = with_trailer(folder, store, data.draw(changed(trailer_draft(open_trailer(store, LOGS)))))
    assert bench.work is not None


def with_trailer(folder, store, content):
    """Return a bench that has opened the logs with a draft, and has asked of it what the page asks."""
    path = draft_files.draft_path(garage.home(store), LOGS)
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(content), "utf-8")
    bench = garage.Bench()
    garage.load_draft(bench, store, LOGS)
    for system in ("us", "metric"):
        garage_edit.bad_fields(bench.work, system)
        for key in bench.work.typed:
            garage_edit.text_of(bench.work, key, system).encode()
            garage_edit.fault_of(bench.work, key, system)
    garage_edit.slide_place(bench.work)
    with suppress(BadInput):
        garage.keep_draft(bench, store)
    return bench


@pytest.mark.parametrize(
    "typed",
    [
        {"cargo.99.weight": "5 lb"},
        {"cargo.-1.x": "5 in"},
        {"cargo.0.depth": "5 in"},
        {"whatif.item": "7"},
        {"stance.up": "5 in"},
        {"left": "\ud800"},
        {"left": 5},
        [],
    ],
)
def test_a_draft_with_a_text_for_no_field_is_set_aside_and_leaves_the_profile_as_saved(folder, store, work, typed):
    tab = opened(folder, draft_of(work) | {"typed": typed})
    assert tab.work == open_work(store, MILL)
    assert "set aside" in tab.problems[0].rule
    assert [one.suffix for one in (folder / draft_files.FOLDER).iterdir()] == [".damaged"]


@pytest.mark.parametrize(
    "what_if",
    [{"band-mill": {"name": "x"}}, {"band-mill": {"gross_weight": "lots"}}, {"slab-hauler": {"tongue_ratio": 7}}],
)
def test_a_draft_with_numbers_that_no_trailer_has_is_set_aside(folder, store, work, what_if):
    tab = opened(folder, draft_of(work) | {"what_if": what_if})
    assert tab.work == open_work(store, MILL)
    assert "set aside" in tab.problems[0].rule


def test_a_draft_that_names_a_trailer_which_is_gone_is_set_aside_where_the_profile_itself_is_sound(folder, store, work):
    content = draft_of(work)
    content["profile"]["trailer"] = "gone"
    tab = opened(folder, content)
    assert tab.work == open_work(store, MILL)
    assert "set aside" in tab.problems[0].rule


def test_a_draft_that_cannot_be_set_aside_does_not_keep_the_profile_from_being_read(folder, store, work, monkeypatch):
    def refuse(*given):
        raise draft_files.StoreError("drafts", "cannot be set aside: the disk can only be read", "copy the folder")

    monkeypatch.setattr(draft_files, "set_draft_aside", refuse)
    tab = opened(folder, draft_of(work) | {"typed": 3})
    assert tab.work == open_work(store, MILL)
    assert "can only be read" in tab.problems[0].rule
