"""Examples in messages are made for the field and the file at hand."""

from itertools import chain

import pytest

from planner.records import BadInput, Profile, Slip, Trailer, Truck, read_record
from planner.records.examples import EXAMPLES, RELATED, example_of
from planner.records.field_paths import dimension_of, fields, nested
from planner.units.quantity import read


def _records(cls, seen=None):
    """Yield a record and all records in it."""
    seen = set() if seen is None else seen
    if cls not in seen:
        seen.add(cls)
        yield cls
        for _, info in fields(cls):
            inner = nested(info.annotation)[0]
            yield from _records(inner, seen) if inner else ()


RECORDS = {cls.__name__: cls for cls in chain(*map(_records, (Truck, Trailer, Profile, Slip)))}
QUANTITIES = [
    (name, key, dimension_of(info))
    for name, cls in RECORDS.items()
    for key, info in fields(cls)
    if dimension_of(info) is not None
]


@pytest.mark.parametrize(("name", "key", "dimension"), QUANTITIES, ids=[f"{q[0]}.{q[1]}" for q in QUANTITIES])
def test_each_quantity_has_an_example_of_its_own_in_both_systems(name, key, dimension):
    us, metric = (read(example_of(RECORDS[name], key, system), dimension) for system in ("us", "metric"))
    assert metric == pytest.approx(us, rel=0.5)  # a gauge goes in steps of 1 psi or 0.1 bar


def test_examples_are_of_fields_that_there_are():
    for table in (EXAMPLES, RELATED):
        for name, examples in table.items():
            assert set(examples) <= {key for key, _ in fields(RECORDS[name])}


def test_the_examples_of_a_truck_make_a_truck():
    def table(cls, **more):
        given = {key: (example_of(cls, key), dimension_of(info)) for key, info in fields(cls) if info.is_required()}
        return {key: text if kind else float(text) for key, (text, kind) in given.items() if text} | more

    tyres = table(RECORDS["Tyres"], per_side=1)
    limits = {key: example_of(RECORDS["Bag"], key) for key in ("least_pressure", "greatest_pressure")}
    bag = table(RECORDS["Bag"], height=["3 in", "6 in", "8 in"], area=["56 in**2", "48 in**2", "39 in**2"], **limits)
    axle = table(RECORDS["Axle"], suspension="solid", spring_spacing="40 in", tyres=tyres, bag=bag)
    hitch = table(RECORDS["Hitch"], name="receiver", coupling="ball", ball_diameter="2.3125 in")
    truck = table(Truck, schema=1, name="Any", kerb=table(RECORDS["Kerb"]), front=axle, rear=axle, hitches=[hitch])
    assert read_record(Truck, truck, "x.toml").gcwr > 0


@pytest.mark.parametrize(
    ("place", "key", "expected"),
    [
        ("", "gcwr", 'add gcwr = "26000 lb"'),
        ("", "gvwr", 'add gvwr = "11000 lb"'),
        ("kerb", "rear_axle", 'add rear_axle = "3000 lb"'),
        ("front", "ride_height", 'add ride_height = "20 in"'),
        ("front.bag", "height", 'add height = ["6 in", ...]'),
        ("hitches.0", "x", 'add x = "-52 in"'),
        ("hitches.0", "tongue_rating", 'add tongue_rating = "1200 lb"'),
        ("front", "motion_ratio", "add motion_ratio = 1.0"),
    ],
)
def test_what_is_missing_is_shown_as_it_may_be(truck, faults, place, key, expected):
    table = truck
    for part in place.split(".") if place else []:
        table = table[int(part)] if part.isdigit() else table[part]
    del table[key]
    assert expected in faults(Truck, truck)[0]


def test_a_heavy_truck_in_metric_units_gets_an_example_of_its_kind(truck, faults):
    del truck["gcwr"]
    truck |= {"gvwr": "15 t", "wheelbase": "5 m"}
    assert 'add gcwr = "34 t"' in faults(Truck, truck)[0]
    truck |= {"gcwr": "34 t"}
    del truck["wheelbase"]
    assert 'add wheelbase = "4000 mm"' in faults(Truck, truck)[0]


def test_a_text_that_is_no_quantity_gets_the_field_s_example(truck):
    truck["hitches"][0]["x"] = "behind"
    truck["front"]["ride_height"] = "4.3 bar"
    with pytest.raises(BadInput) as caught:
        read_record(Truck, truck, "x.toml")
    assert [one.rule for one in caught.value.problems] == [
        'expected a length such as "510 mm"',
        'expected a length such as "-52 in"',
    ]
