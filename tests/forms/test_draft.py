"""A record that no page knows, with a record and a list of things in it: a list of keys is all that its form needs."""

import json
from typing import Annotated, Literal

import pytest
from pydantic import Field

from planner.errors import ConflictError
from planner.forms.draft import (
    NEW,
    Form,
    bad_fields,
    enter_text,
    fault_of,
    field_of,
    from_json,
    open_draft,
    step_field,
    text_of,
    to_json,
    value_of,
    with_added,
    without_row,
)
from planner.forms.own_values import is_typical
from planner.front.session.open_record import OpenRecord
from planner.records import BadInput, Record
from planner.records.base import rule
from planner.records.fields import Count, Length, Name, Share, Step, Weight, default
from planner.records.file_header import Described
from planner.store import Store
from planner.store.kinds import Kind
from planner.units.quantity import Refusal, read


class Winch(Record):
    pull: Annotated[Weight, Field(title="Pull", description="On the first layer"), Step(100.0, 50.0)]
    height: Length = default("3 ft", "length")


class Sling(Record):
    name: Annotated[Name, Field(title="Name")]
    weight: Annotated[Weight, Field(title="Lifts")]
    spare: Length | None = None


class Crane(Described):
    reach: Annotated[Length, Field(title="Reach")]
    least: Length
    lift: Annotated[Share, Step(5.0, 5.0)] = 0.5
    axles: Annotated[Count, Field(ge=1, le=4)] = 2
    make: Literal["lattice", "box"] = "box"
    winch: Winch | None = None
    slings: tuple[Sling, ...] = ()

    @rule
    def _reaches(self):
        if self.least > self.reach:
            yield ("reach",) if self.winch is None else ("winch",), Refusal("must reach", "less", "give more")


CRANE = Kind("crane", "cranes", Crane)
FORM = Form(
    CRANE,
    lambda: Crane(name="New crane", reach="20 ft", least="5 ft", typical=("reach",)),
    {"slings": "added.sling"},
)


@pytest.fixture
def cranes(tmp_path):
    store = Store(tmp_path, (CRANE,))
    winch = Winch(pull="3000 lb", height="4 ft")
    store.write(Crane(name="Yard crane", reach="18 ft", least="6 ft", winch=winch, typical=("reach", "winch.pull")))
    return store


@pytest.fixture
def draft(cranes):
    return open_draft(FORM, cranes, "yard-crane")


@pytest.fixture
def tabs(cranes):
    """The crane, open in two tabs."""
    found = OpenRecord(FORM, cranes), OpenRecord(FORM, cranes)
    for one in found:
        one.visit("yard-crane")
    return found


def added(draft, name="Long", weight="2 t"):
    for key, text in (("name", name), ("weight", weight)):
        draft = enter_text(draft, f"added.sling.{key}", text, "us")
    return with_added(draft, "slings", "us")


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("reach", "19", read("19 in", "length")),
        ("lift", "40 %", 0.4),
        ("axles", "3", 3),
        ("make", "lattice", "lattice"),
        ("winch.pull", "3500", read("3500 lb", "weight")),
        ("winch.height", "1 m", read("1 m", "length")),
    ],
)
def test_every_sort_of_field_is_read_as_the_record_has_it(draft, key, text, value):
    new = enter_text(enter_text(draft, "least", "1 in", "us"), key, text, "us")
    assert value_of(new, key) == value
    assert new.typed == {}
    assert new.changed


def test_what_a_field_is_called_and_how_it_steps_is_found_at_the_record(draft):
    pull = field_of(draft, "winch.pull")
    assert (pull.kind, pull.dimension, pull.label, pull.help) == ("quantity", "weight", "Pull", "On the first layer")
    assert text_of(step_field(draft, "winch.pull", True, "us"), "winch.pull", "us") == "3100 lb"
    assert text_of(step_field(draft, "lift", False, "us"), "lift", "us") == "45 %"
    assert field_of(draft, "make").kind == "choice"
    assert field_of(draft, "added.sling.weight").label == "Lifts"
    assert field_of(draft, "added.sling.spare").optional


def test_what_the_owner_gives_is_typical_no_more(draft):
    assert is_typical(draft, "winch.pull")
    new = enter_text(draft, "winch.pull", "3500 lb", "us")
    assert new.record.typical == ("reach",)


def test_texts_that_fit_together_only_wait_for_each_other(draft):
    one = enter_text(draft, "least", "30 ft", "us")
    assert one.record == draft.record
    assert fault_of(one, "least", "us").rule == "must reach"
    assert bad_fields(one, "us") == ["least"]
    both = enter_text(one, "reach", "31 ft", "us")
    assert (both.typed, both.record.least) == ({}, read("30 ft", "length"))


def test_a_record_that_is_not_there_comes_to_be_with_what_it_needs(cranes):
    new = open_draft(FORM, cranes, NEW)
    half = enter_text(new, "winch.height", "2 ft", "us")
    assert half.record.winch is None
    assert fault_of(half, "winch.height", "us").rule == "is required"
    whole = enter_text(half, "winch.pull", "900 lb", "us")
    assert whole.record.winch == Winch(pull="900 lb", height="2 ft")
    assert whole.typed == {}


def test_things_are_added_changed_and_taken_out_of_a_list(draft):
    two = added(added(draft), "Short", "1 t")
    marked = enter_text(two, "slings.1.weight", "much", "us")
    assert enter_text(two, "slings.0.spare", "", "us").record == two.record
    assert enter_text(two, "slings.0.weight", "3 t", "us").record.slings[0].weight.text == "3 t"
    less = without_row(marked, "slings", 0, "us")
    assert [one.name for one in less.record.slings] == ["Short"]
    assert less.typed == {"slings.0.weight": "much"}
    with pytest.raises(Refusal, match="expected a weight"):
        with_added(enter_text(draft, "added.sling.name", "Thin", "us"), "slings", "us")


def test_a_draft_comes_back_from_its_file(cranes, draft):
    new = enter_text(enter_text(added(draft), "winch.pull", "heavy", "us"), "added.sling.name", "Next", "us")
    assert from_json(FORM, cranes, "yard-crane", json.loads(json.dumps(to_json(new)))) == new


NO_FIELDS = ["depth", "slings.7.name", "slings", "winch", "winch.depth", "added.sling.x", "typical"]


@pytest.mark.parametrize("key", NO_FIELDS)
def test_a_text_for_no_field_makes_no_draft(cranes, draft, key):
    with pytest.raises(ValueError, match=r"field|none of its|not typed"):
        from_json(FORM, cranes, "yard-crane", to_json(draft) | {"typed": {key: "1"}})


# In tabs


def test_what_another_tab_kept_meanwhile_is_neither_written_over_nor_taken_away(cranes, tabs):
    one, other = tabs
    one.draft = enter_text(one.work, "reach", "19 ft", "us")
    one.keep()
    other.draft = enter_text(other.work, "reach", "20 ft", "us")  # in a run that began before
    other.keep()
    assert other.clash is not None
    one.follow()
    assert (one.clash, one.work.record.reach.text) == (None, "19 ft")


def test_a_record_is_kept_saved_and_named_anew(cranes, tabs):
    record, _ = tabs
    record.draft = enter_text(added(record.work), "reach", "19 ft", "us")
    record.keep()
    again = OpenRecord(FORM, cranes)
    again.visit("Yard crane")  # by its name
    assert again.work == record.work
    assert record.save(None, "us") == "Yard crane is saved."
    record.keep()
    assert not list((cranes.folder / "cranes/drafts").iterdir())
    assert cranes.read(CRANE, "yard-crane").reach.text == "19 ft"
    with pytest.raises(BadInput, match="a crane needs a name"):
        record.save(" ", "us")
    record.save("Other crane", "us")
    assert (record.work.slug, record.asked) == ("other-crane", "other-crane")
    record.draft = enter_text(record.work, "reach", "far", "us")
    with pytest.raises(BadInput, match="cannot be used as typed"):
        record.save(None, "us")


def test_a_tab_follows_another_or_asks(tabs):
    one, other = tabs
    one.draft = enter_text(one.work, "reach", "19 ft", "us")
    one.keep()
    other.follow()
    assert other.work == one.work
    other.draft = enter_text(other.work, "reach", "21 ft", "us")
    other.keep()
    one.draft = enter_text(one.work, "reach", "22 ft", "us")
    one.follow()
    assert "This crane is being changed in another tab" in one.clash.said
    one.keep_mine()
    one.keep()
    other.follow()
    assert other.work.record.reach.text == "22 ft"


@pytest.mark.parametrize(("keep", "reach"), [(True, "22 ft"), (False, "30 ft")])
def test_a_record_saved_elsewhere_is_not_written_over_unasked(cranes, tabs, keep, reach):
    record, _ = tabs
    record.draft = enter_text(record.work, "reach", "22 ft", "us")
    record.keep()
    cranes.write(cranes.read(CRANE, "yard-crane").replaced(reach="30 ft"), "yard-crane")
    with pytest.raises(BadInput, match="the crane was changed in another tab"):
        record.save(None, "us")
    assert "is now" in record.clash.said
    record.keep_mine() if keep else record.take_theirs()
    assert record.clash is None
    record.save(None, "us")
    assert cranes.read(CRANE, "yard-crane").reach.text == reach


def test_a_change_in_the_moment_of_saving_is_refused(cranes, draft):
    cranes.write(draft.record.replaced(reach="30 ft"), "yard-crane")
    with pytest.raises(ConflictError, match="reach"):
        FORM.save(cranes, enter_text(draft, "reach", "22 ft", "us"), None)


def test_what_is_discarded_can_be_had_back(tabs):
    record, _ = tabs
    before = record.draft = enter_text(record.work, "reach", "22 ft", "us")
    record.keep()
    generation = record.generation
    record.discard()
    assert not record.work.changed
    record.replace_draft(before)
    assert record.work.record.reach.text == "22 ft"
    assert record.generation > generation  # so that the fields show it


def test_what_clashes_is_found_again_after_another_was_open(cranes, tabs):
    record, _ = tabs
    cranes.write(cranes.read(CRANE, "yard-crane").replaced(name="Far crane"), None)
    record.draft = enter_text(record.work, "reach", "22 ft", "us")
    cranes.write(cranes.read(CRANE, "yard-crane").replaced(reach="30 ft"), "yard-crane")
    record.follow()
    record.visit("far-crane")
    record.visit("yard-crane")
    assert record.work.record.reach.text == "22 ft"
    assert record.clash is not None
