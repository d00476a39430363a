"""However much is wrong with a file, no more than fifty problems are told of, and finding them is bounded work."""

import pytest

from planner.errors import MOST_TOLD
from planner.records import BadInput, Profile, Truck, field_paths, file_header, problems, read_record
from planner.records.fields import MOST_THINGS
from planner.units import quantity

PROFILE = {"schema": 1, "name": "Lot", "truck": "flatbed"}
CARGO = {"name": "Saw", "weight": "9 kg", "x": "80 in"}
READING = {"at": "2026-05-04T07:30:00", "rear_left": {"pressure": "42 psi"}}
MOST = 4_990  # items that a list of a file may have


def problems_in(cls, data):
    """Return what is wrong with the table of a file."""
    with pytest.raises(BadInput) as caught:
        read_record(cls, data, "lot.toml")
    return caught.value.problems


@pytest.fixture
def suggestions(monkeypatch):
    """How often the nearest name is looked for, the dearest part of a message."""
    calls = []
    real = field_paths.nearest

    def nearest(word, options):
        calls.append(word)
        return real(word, options)

    for module in (file_header, problems):
        monkeypatch.setattr(module, "nearest", nearest)
    return calls


BAD = {
    "unknown keys": PROFILE | {f"truckk{i}": 1 for i in range(MOST)},
    "cargo without anything": PROFILE | {"cargo": [{}] * MOST},
    "cargo with unknown keys": PROFILE | {"cargo": [CARGO | {"wieght": 1, "nmae": 2}] * MOST},
    "cargo of no unit": PROFILE | {"cargo": [CARGO | {"weight": "9"}] * MOST},
    "cargo that is none": PROFILE | {"cargo": [1] * MOST},
    "readings without a corner": PROFILE | {"readings": [{"at": "2026-05-04T07:30:00"}] * MOST},
    "readings with bad corners": PROFILE | {"readings": [READING | {"rear_left": {"presure": 1}}] * MOST},
}


@pytest.mark.parametrize("data", BAD.values(), ids=BAD)
def test_fifty_problems_are_told_and_that_there_are_more(data, suggestions):
    found = problems_in(Profile, data)
    assert len(found) == MOST_TOLD + 1
    assert len(set(found)) == len(found)
    assert "more problem" in found[-1].rule
    assert found[-1].remedy == "fix those above first, then check again"
    assert len(suggestions) <= 2 * MOST_TOLD


def test_what_is_known_is_counted_and_what_was_not_looked_at_is_said():
    *_, last = problems_in(Profile, BAD["unknown keys"])
    assert last.line() == f"lot.toml: has {MOST - MOST_TOLD:,} more problems: fix those above first, then check again"
    *_, last = problems_in(Profile, BAD["cargo of no unit"])
    assert last.rule == "has 1 more problem; the rest was not checked"


def test_up_to_fifty_all_are_told_with_the_rules_between_fields():
    data = PROFILE | {"trailer": "arch", "cargo": [CARGO | {"weight": "9"}] * (MOST_TOLD - 1)}
    found = problems_in(Profile, data)
    assert len(found) == MOST_TOLD
    assert found[-1].field == "hitch"  # a rule of the whole record, held on what is sound of it


def test_once_there_are_enough_the_rest_is_not_read(monkeypatch):
    read = []

    def counted(text, dimension):
        read.append(text)
        return reader(text, dimension)

    reader = quantity.read
    monkeypatch.setattr(quantity, "read", counted)
    problems_in(Profile, PROFILE | {"cargo": [CARGO | {"weight": f"{i}"} for i in range(MOST)]})
    assert len(read) < 10 * MOST_TOLD


def test_a_large_profile_that_is_sound_is_read_whole():
    many = {"cargo": [CARGO] * MOST_THINGS, "readings": [READING] * MOST}
    assert len(read_record(Profile, PROFILE | many, "lot.toml").readings) == MOST


@pytest.mark.parametrize(
    "added",
    [
        {"typical": [f"front.tyres.rat{i}" for i in range(MOST)]},
        {"spread": {f"front.tyres.rt{i}": 1 for i in range(MOST)}},
        {"spread": {f"t{i}": {"a": {"b": {"c": 1, "d": 2}}} for i in range(MOST)}},
    ],
    ids=["typical", "spread", "spread in tables"],
)
def test_paths_that_name_no_field_are_looked_for_fifty_times(truck, added, suggestions):
    found = problems_in(Truck, truck | added)
    assert len(found) == MOST_TOLD + 1
    assert found[-1].rule == "has 1 more problem; the rest was not checked"
    assert len(suggestions) <= 2 * MOST_TOLD


def test_a_faulty_record_inside_others_is_read_once(truck, monkeypatch):
    """Not once for each level above it: a chart of 4,900 points three levels deep was read seven times."""
    read = []

    def counted(text, dimension):
        read.append(text)
        return reader(text, dimension)

    reader = quantity.read
    monkeypatch.setattr(quantity, "read", counted)
    truck["front"]["bag"]["height"] = [f"{i} kg" for i in range(3)]
    problems_in(Truck, truck)
    assert read.count("0 kg") <= 2
