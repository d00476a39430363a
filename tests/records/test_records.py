"""What all records share: all faults at once, nothing changed, what was typed kept, nothing that crashes."""

import copy
import pickle
import tomllib
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from planner.records import BadInput, Problem, Profile, Record, Trailer, Truck, nearest, problems_of, read_record
from planner.records.field_paths import dotted, field_at, keys_at
from planner.records.fields import Altitude, Temperature

Data = dict[str, Any]
Faults = Callable[[type, Data], list[str]]


def test_all_problems_of_a_file_are_told_at_once(truck: Data, faults: Faults) -> None:
    truck["whelbase"] = truck.pop("wheelbase")
    truck["front"]["motion_ratio"] = True
    truck["front"]["unsprung_weight"] = "5000 lb"
    truck["front"]["bag"]["height"][2] = "5 inn"
    truck["front"]["bag"]["least_pressure"] = "120 psi"
    truck["hitches"][0]["height"] = "5000 in"
    truck["hitches"][1]["name"] = "receiver"
    truck["gvwr"] = "30000 lb"
    del truck["rear"]["gawr"], truck["schema"]
    assert [line.split(":")[0] for line in faults(Truck, truck)] == [
        "schema",
        "front.motion_ratio",
        "front.bag.height[2]",
        "front.bag.least_pressure",  # a rule within a table that has another fault
        "rear.gawr",
        "hitches[0].height",
        "whelbase",  # and no second problem for the wheelbase it stands for
        "front.unsprung_weight",  # a rule between two tables, one of them with faults
        "gcwr",
        "hitches[1].name",  # a rule within a list, one of its items with a fault
    ]


def test_rules_run_beside_an_unknown_key(truck: Data, faults: Faults) -> None:
    truck["front"]["colour"] = "red"
    truck["gcwr"] = "1000 lb"
    lines = faults(Truck, truck)
    assert len(lines) == 2
    assert lines[0].startswith('front.colour: unknown key "colour": keys allowed here: suspension, track, ')
    assert lines[1].startswith("gcwr: ")


def test_a_rule_uses_defaults_and_properties_of_a_faulty_record(truck: Data, faults: Faults) -> None:
    truck["wheelbase"] = "long"
    truck["gvwr"] = "7000 lb"
    del truck["front"]["bag"]  # then steel_rate and steel_load, at their defaults, carry nothing
    assert [line.split(":")[0] for line in faults(Truck, truck)] == [
        "wheelbase",
        "front.steel_rate",
        "front.steel_load",
        "kerb",
    ]


def test_tables_of_the_wrong_kind_do_not_stop_the_rest(truck: Data, faults: Faults) -> None:
    truck |= {"front": 5, "hitches": [truck["hitches"][0], 7], "gcwr": "1000 lb"}
    assert [line.split(":")[0] for line in faults(Truck, truck)] == ["front", "hitches[1]", "gcwr"]


def test_records_inside_python_data_count_as_sound(truck: Data) -> None:
    sound = read_record(Truck, truck, "x.toml")
    with pytest.raises(ValidationError) as caught:
        sound.replaced(gvwr="7000 lb", hitches=(sound.hitches[0], {}))
    fields = [problem.field for problem in problems_of(caught.value, Truck, "x")]
    assert fields == [
        "hitches[1].name",
        "hitches[1].coupling",
        "hitches[1].x",
        "hitches[1].height",
        "hitches[1].tongue_rating",
        "hitches[1].trailer_rating",
        "kerb",
    ]


def test_a_changed_record_is_checked_again(truck: Data) -> None:
    sound = read_record(Truck, truck, "x.toml")
    assert sound.replaced(name="Other").name == "Other"
    assert sound.replaced() == sound
    with pytest.raises(ValidationError, match="must be >= gvwr"):
        sound.replaced(gcwr="1 lb")


@pytest.mark.parametrize(("cls", "fixture"), [(Truck, "truck"), (Trailer, "trailer"), (Profile, "profile")])
def test_what_was_typed_is_what_is_written(cls: type[Record], fixture: str, request: pytest.FixtureRequest) -> None:
    data = request.getfixturevalue(fixture)
    record = read_record(cls, data, "x.toml")
    assert record.as_file() == data
    assert cls.model_validate_json(record.model_dump_json(by_alias=True)) == record
    assert cls.model_validate(record) is record


def test_tables_come_last_as_toml_asks(truck: Data) -> None:
    written = list(read_record(Truck, truck, "x.toml").as_file().items())
    tables = [isinstance(value, dict) or key == "hitches" for key, value in written]
    assert tables == sorted(tables)
    assert written[0] == ("schema", 1)


def test_records_cannot_be_changed_and_can_be_copied(truck: Data) -> None:
    record = read_record(Truck, truck, "x.toml")
    with pytest.raises(ValidationError, match="frozen"):
        record.wheelbase = record.gvwr
    for twin in (copy.deepcopy(record), pickle.loads(pickle.dumps(record))):  # noqa: S301  # our own bytes
        assert twin == record
        assert hash(twin) == hash(record)
        assert twin.as_file() == record.as_file()


def test_a_file_that_is_no_table_is_one_problem() -> None:
    with pytest.raises(BadInput) as caught:
        read_record(Truck, [1, 2], "x.toml")
    assert str(caught.value) == 'x.toml: must be a table, got a list of 2: write fields such as name = "..."'
    with pytest.raises(ValidationError):
        Truck.model_validate(5)


def test_problems_can_be_pickled_and_raised_again() -> None:
    problem = Problem("x.toml", "gvwr", '"5"', "must be so", "do this")
    twin = pickle.loads(pickle.dumps(BadInput([problem])))  # noqa: S301  # our own bytes
    assert twin.problems == (problem,)
    assert str(twin) == 'x.toml: gvwr: must be so, got "5": do this'


def test_keys_that_are_no_text_are_told(truck: Data, faults: Faults) -> None:
    truck[5] = 1  # type: ignore[index]  # TOML has no such key; Python data may
    assert any("5" in line for line in faults(Truck, truck))


def test_hostile_keys_are_shown_harmless(truck: Data, faults: Faults) -> None:
    truck["a\x1b[2J\u202e"] = 1
    truck["k" * 10_000] = 1
    lines = faults(Truck, truck)
    assert all(line.isprintable() and len(line) < 400 for line in lines)


def test_the_nearest_name_overlooks_case_and_dashes() -> None:
    assert nearest("Wheel-Base", ["wheelbase", "track"]) == "wheelbase"
    assert nearest("front left", ["front_left", "front_right"]) == "front_left"
    assert nearest("xyz", ["wheelbase"]) is None


def test_places_are_written_as_people_do() -> None:
    assert dotted(("front", "bag", "height", 2)) == "front.bag.height[2]"
    assert dotted(()) == ""
    assert field_at(Truck, ("front", "nothing", "more")) is None
    assert keys_at(Truck, ("front", "nothing", "more")) == []


@given(st.data())
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_value_anywhere_is_read_or_told(truck: Data, trailer: Data, profile: Data, data: st.DataObject) -> None:
    cls, sound = data.draw(st.sampled_from([(Truck, truck), (Trailer, trailer), (Profile, profile)]))
    broken = copy.deepcopy(sound)
    anything = st.recursive(
        st.none()
        | st.booleans()
        | st.integers()
        | st.floats()
        | st.text(max_size=20)
        | st.sampled_from(["5 in", "5 lb"]),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
        max_leaves=5,
    )
    for _ in range(data.draw(st.integers(1, 4))):
        place: Any = broken
        while True:
            key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
            if isinstance(place[key], dict | list) and place[key] and data.draw(st.booleans()):
                place = place[key]
                continue
            if isinstance(place, dict) and data.draw(st.booleans()):
                del place[key]
            if isinstance(place, dict) and data.draw(st.booleans()):
                key = data.draw(st.text(max_size=9))
            if isinstance(place, dict) or key < len(place):
                place[key] = data.draw(anything)
            break
    try:
        outcome = cls.model_validate(read_record(cls, broken, "x.toml").as_file()).name
    except BadInput as bad:
        outcome = " ".join(f"{problem.line()}{len(problem.line()) // 600 * chr(0)}" for problem in bad.problems)
    assert outcome.isprintable()


@given(st.dictionaries(st.text(max_size=12), st.text(max_size=12), max_size=6))
def test_any_toml_table_is_told(table: Data) -> None:
    for cls in (Truck, Trailer, Profile):
        with pytest.raises(BadInput):
            read_record(cls, table, "x.toml")


def test_a_toml_file_of_another_kind_is_told(faults: Faults) -> None:
    lines = faults(Truck, tomllib.loads('schema = 1\nname = "Band mill"\ncoupling = "ball"'))
    assert lines[0] == 'wheelbase: is required: add wheelbase = "158 in"'
    assert len(lines) == 7


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("20 K", Temperature, 'must be 213.15 K to 333.15 K, got "20 K": check the number and its unit'),
        ("-61 degC", Temperature, 'must be -60 degC to 60 degC, got "-61 degC": '),
        ("9001 m", Altitude, 'must be -500 m to 9000 m, got "9001 m": '),
        ("-600 m", Altitude, 'must be -500 m to 9000 m, got "-600 m": '),
    ],
)
def test_air_that_no_truck_meets_is_refused(text: str, kind: Any, told: str) -> None:
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(text)
    assert told in str(caught.value)


def test_air_at_the_ends_of_what_is_met_is_read() -> None:
    for text in ("-60 degC", "60 degC", "140 degF"):
        assert TypeAdapter(Temperature).validate_python(text).text == text
    for text in ("-500 m", "9000 m"):
        assert TypeAdapter(Altitude).validate_python(text).text == text
