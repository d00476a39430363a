"""Drafts that nobody wrote with the planner: whatever is in them is taken up or set aside, and never stands in the way.

The pages are checked by what they ask of the work: every field's text and fault, the answer, the file it would become.
"""

import json
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.forms import choices, profile_form, trailer_form
from planner.forms.draft import bad_fields, fault_of, text_of, to_json
from planner.forms.profile_form import PROFILE_FORM, open_profile
from planner.forms.saving import level_work
from planner.forms.trailer_form import TRAILER_FORM, open_trailer
from planner.front.session import draft_files
from planner.front.session.open_record import OpenRecord
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
    """Return the mill opened with a draft, asked what its pages ask."""
    path = draft_files.draft_path(folder, MILL)
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(content), "utf-8")
    tab = OpenRecord(PROFILE_FORM, Store(folder))
    tab.load(MILL)
    if tab.draft is not None:
        asked(tab.draft)
        tab.keep()
        tab.follow()
    return tab


def asked(work):
    for system in ("us", "metric"):
        bad_fields(work, system)
        profile_form.own_spreads(work, system)
        for key in work.typed:
            text_of(work, key, system).encode()
            fault_of(work, key, system)
    with suppress(ValueError, ArithmeticError):  # no answer, which the page says
        level_work(work)


@given(typed=TYPED)
@FUZZ
def test_whatever_is_typed_in_a_draft_is_a_field_of_the_profile_or_the_draft_is_set_aside(folder, work, typed):
    content = to_json(work) | {"typed": typed}
    tab = opened(folder, content)
    assert tab.trouble == ()
    assert tab.draft.typed == typed or (tab.draft.typed == {} and "set aside" in tab.notes[0].rule)


@given(data=st.data())
@FUZZ
def test_a_draft_with_any_of_its_parts_replaced_opens_or_is_set_aside(folder, work, data):
    tab = opened(folder, data.draw(changed(to_json(work.with_numbers(gross_weight="8000 lb")))))
    assert tab.trouble == ()
    assert tab.draft is not None


@given(typed=TYPED)
@FUZZ
def test_whatever_is_typed_in_a_trailer_s_draft_is_a_field_of_it_or_the_draft_is_set_aside(folder, store, typed):
    bench = with_trailer(folder, store, to_json(open_trailer(store, LOGS)) | {"typed": typed})
    assert bench.draft.typed == typed or (bench.draft.typed == {} and "set aside" in bench.notes[0].rule)


@given(data=st.data())
@FUZZ
def test_a_trailer_s_draft_with_any_of_its_parts_replaced_opens_or_is_set_aside(folder, store, data):
    bench = with_trailer(folder, store, data.draw(changed(to_json(open_trailer(store, LOGS)))))
    assert bench.draft is not None


def with_trailer(folder, store, content):
    """Return the logs opened with a draft, asked what the page asks."""
    bench = OpenRecord(TRAILER_FORM, store)
    path = draft_files.draft_path(bench.home, LOGS)
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(content), "utf-8")
    bench.load(LOGS)
    for system in ("us", "metric"):
        bad_fields(bench.draft, system)
        for key in bench.draft.typed:
            text_of(bench.draft, key, system).encode()
            fault_of(bench.draft, key, system)
    trailer_form.slide_place(bench.draft)
    with suppress(BadInput):
        bench.keep()
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
    tab = opened(folder, to_json(work) | {"typed": typed})
    assert tab.draft == open_profile(store, MILL)
    assert "set aside" in tab.notes[0].rule
    assert [one.suffix for one in (folder / draft_files.FOLDER).iterdir()] == [".damaged"]


@pytest.mark.parametrize(
    "what_if",
    [{"band-mill": {"name": "x"}}, {"band-mill": {"gross_weight": "lots"}}, {"slab-hauler": {"tongue_ratio": 7}}],
)
def test_a_draft_with_numbers_that_no_trailer_has_is_set_aside(folder, store, work, what_if):
    tab = opened(folder, to_json(work) | {"what_if": what_if})
    assert tab.draft == open_profile(store, MILL)
    assert "set aside" in tab.notes[0].rule


def test_a_draft_that_names_a_trailer_which_is_gone_is_kept_and_asks_for_another(folder, store, work):
    content = to_json(work)
    content["profile"]["trailer"] = "gone"
    tab = opened(folder, content)
    assert (tab.draft.profile.trailer, tab.draft.trailer, tab.notes) == ("gone", None, ())
    assert choices.fault(store, tab.draft, "trailer") is not None


def test_a_draft_that_cannot_be_set_aside_does_not_keep_the_profile_from_being_read(folder, store, work, monkeypatch):
    def refuse(*given):
        raise draft_files.StoreError("drafts", "cannot be set aside: the disk is read-only", "copy the folder")

    monkeypatch.setattr(draft_files, "set_draft_aside", refuse)
    tab = opened(folder, to_json(work) | {"typed": 3})
    assert tab.draft == open_profile(store, MILL)
    assert "is read-only" in tab.notes[0].rule
