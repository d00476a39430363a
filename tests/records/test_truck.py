"""Trucks: a sound one is read, and each rule says what is wrong, where, and what to do."""

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from planner.records import Bag, Truck, read_record

Data = dict[str, Any]
Faults = Callable[[type, Data], list[str]]


def test_the_example_of_the_contract_is_read(truck: Data) -> None:
    got = read_record(Truck, truck, "x.toml")
    assert got.wheelbase == pytest.approx(4.0132)
    assert got.kerb_weight == pytest.approx(7300 * 0.45359237)
    assert got.front.bag is not None
    assert got.front.bag.areas[0] == pytest.approx(56 * 0.0254**2)
    assert got.rear.bag is None
    assert got.rear.plumbing == "separate"
    assert got.rear.anti_roll_rate == 0
    assert got.instruments.gauge_step.text == "1 psi"
    assert got.instruments.tape_error.text == "0.125 in"
    assert got.hitch("receiver").y == 0
    assert got.air is not None
    assert got.air.valve_critical_ratio == 0.3
    assert got.spread["front.tyres.rate"] == pytest.approx(300 * 175.126835)
    assert got.spread["kerb.left_share"] == 0.01


def test_springs_resist_roll_by_half_their_spacing_or_half_the_track(truck: Data) -> None:
    truck["rear"] |= {"suspension": "independent"}
    got = read_record(Truck, truck, "x.toml")
    assert got.front.half_spacing == pytest.approx(20 * 0.0254)
    assert got.rear.half_spacing == pytest.approx(34 * 0.0254)


def test_a_truck_needs_neither_hitch_nor_air_nor_bags(truck: Data) -> None:
    for key in ("hitches", "air", "typical", "spread"):
        del truck[key]
    del truck["front"]["bag"]
    truck["front"] |= {"steel_rate": "900 lbf/in", "steel_load": "1900 lbf"}
    got = read_record(Truck, truck, "x.toml")
    assert got.hitches == ()
    assert got.air is None


def test_a_chart_may_be_loads_at_a_pressure(truck: Data) -> None:
    bag = truck["front"]["bag"]
    del bag["area"]
    bag |= {"load": [f"{area}00 lbf" for area in (56, 55, 52, 48, 44, 39)], "load_at": "100 psi"}
    areas = Bag.model_validate(bag).areas
    assert areas[0] == pytest.approx(56 * 0.0254**2)


def test_volumes_that_agree_with_the_areas_are_taken(truck: Data) -> None:
    # By trapezoids from 310 in**3 at 6 in: 310 - 159 at 3 in, then 55.5, 53.5, 50, 46 and 41.5 more.
    truck["front"]["bag"]["volumes"] = [f"{v} in**3" for v in (151, 206.5, 260, 310, 356, 397.5)]
    assert read_record(Truck, truck, "x.toml").front.bag.volumes[0].text == "151 in**3"


BROKEN = [
    ("kerb", {"left_share": 1.1}, "kerb.left_share: must be <= 1, got 1.1: check the number and its unit"),
    ("kerb", {"left_share": True}, "kerb.left_share: must be a plain number, got true: "),
    ("kerb", {"left_share": "0.5"}, 'kerb.left_share: must be a plain number, got "0.5": '),
    ("kerb", {"left_share": float("nan")}, "kerb.left_share: must be a number up to a million, got nan: "),
    ("kerb", {"front_axle": 4300}, 'kerb.front_axle: expected a weight such as "4300 lb", got 4300 without a unit: '),
    (
        "kerb",
        {"front_axle": "4600 lb", "rear_axle": "7000 lb"},
        'kerb: kerb axles together must be <= gvwr ("11500 lb"), got 11600 lb together',
    ),
    ("", {"wheelbase": "158 psi"}, 'wheelbase: expected a length such as "158 in", got "158 psi" (a pressure): '),
    ("", {"wheelbase": "0.1 in"}, 'wheelbase: must be >= 19.685 in, got "0.1 in": '),
    ("", {"wheelbase": "-3 in"}, 'wheelbase: must be > 0, got "-3 in": '),
    (
        "",
        {"gvwr": "12000 lb", "gcwr": "11800 lb"},
        'gcwr: must be >= gvwr ("12000 lb"), got "11800 lb": check both on the labels',
    ),
    (
        "",
        {"gvwr": "14000 lb"},
        'gvwr: must be <= front and rear gawr added (13050 lb), got "14000 lb": check all three on the door label',
    ),
    (
        "kerb",
        {"front_axle": "6200 lb"},
        'front.gawr: must be >= the kerb weight on that axle ("6200 lb"), got "6000 lb"',
    ),
    (
        "front",
        {"steel_rate": "300 lbf/in", "steel_load": "1600 lbf"},
        'got the front bags would need 5 psi, least is "10 psi": steel_load ("1600 lbf") is too high, 1360 lbf ',
    ),
    ("front", {"steel_rate": "300 lbf/in", "steel_load": "1900 lbf"}, "the front bags would need -1.25 psi, least is "),
    ("front.bag", {"least_pressure": "45 psi"}, "front.bag.least_pressure: the truck must be able to stand at kerb "),
    (
        "front.bag",
        {"greatest_pressure": "30 psi"},
        'got the front bags would need 38.3333 psi, greatest is "30 psi": check area, fitted_height and motion_ratio',
    ),
    ("front.bag", {"load_rating": "1500 lbf"}, 'got 1840 lbf on each of the front bags, rated "1500 lbf": check the '),
    (
        "hitches.0",
        {"x": "52 in"},
        'hitches[0].x: a ball coupling must be behind the rear axle, <= 0 from it forward, got "52 in": write "-52 in"',
    ),
    ("hitches.0", {"x": "52 in", "coupling": "pintle"}, "hitches[0].x: a pintle coupling must be behind the rear axle"),
    ("hitches.1", {"x": "160 in"}, 'hitches[1].x: must be < wheelbase ("158 in"), from the rear axle forward, got'),
    ("", {"schema": 2}, "schema: must be 1, got 2: "),
    ("", {"schema": True}, "schema: must be 1, got true: "),
    ("", {"name": ""}, 'name: must be 1 to 120 characters long, got "": '),
    ("", {"name": "x" * 121}, "name: must be 1 to 120 characters long, got "),
    ("", {"name": "a\u202eb"}, 'name: must be printable text, got "a\\u202eb": '),
    ("", {"name": 5}, "name: must be text, got 5: "),
    ("", {"kerb": 5}, "kerb: must be a table, got 5: write it as a table, [kerb], with its fields"),
    ("", {"hitches": {}}, "hitches: must be a list, got a table: "),
    ("front", {"suspension": "sold"}, 'front.suspension: must be "solid" or "independent", got "sold": did you mean'),
    ("front", {"plumbing": 7}, 'front.plumbing: must be "separate" or "joined", got 7: write one of these'),
    ("front", {"spring_spacing": "76 in"}, "front.spring_spacing: must be <= 1.1 of the track (75.35 in), got"),
    ("front", {"motion_ratio": 0}, "front.motion_ratio: must be >= 0.1, got 0: "),
    ("front", {"unsprung_weight": "4300 lb"}, "front.unsprung_weight: must be < the kerb weight on that axle"),
    ("rear", {"steel_rate": "0 lbf/in"}, 'rear.steel_rate: must be > 0 on an axle without bags, got "0 lbf/in": '),
    ("rear", {"steel_load": "0 lbf"}, 'rear.steel_load: must be > 0 on an axle without bags, got "0 lbf": '),
    (
        "rear",
        {"steel_rate": "120 lbf/in", "steel_load": "100 lbf"},
        "with which it sags 8.33333 in: each spring there ",
    ),
    (
        "rear",
        {"steel_load": "9000 lbf"},
        "with which it stands up 13.1667 in: each spring there carries 1100 lbf at kerb",
    ),
    ("front.tyres", {"per_side": 1.0}, "front.tyres.per_side: must be a whole number, got 1: "),
    ("front.tyres", {"per_side": True}, "front.tyres.per_side: must be a whole number, got true: "),
    ("front.tyres", {"per_side": 3}, "front.tyres.per_side: must be <= 2, got 3: "),
    ("front.tyres", {"rate": "20 lbf/in"}, 'front.tyres.rate: must be >= 57.1015 lbf/in, got "20 lbf/in": '),
    ("front.bag", {"height": [], "area": []}, "front.bag.height: must have at least one point, got none: "),
    ("front.bag", {"height": ["3 in", "4 in", "4 in", "6 in", "7 in", "8 in"]}, "front.bag.height[2]: must rise from "),
    ("front.bag", {"height": ["3 in", "8 in"]}, "front.bag.area: must have as many points as height, got 6 against 2"),
    ("front.bag", {"fitted_height": "2 in"}, 'front.bag.fitted_height: must be on the chart, "3 in" to "8 in", got '),
    ("front.bag", {"fitted_height": "9 in"}, 'front.bag.fitted_height: must be on the chart, "3 in" to "8 in", got '),
    ("front.bag", {"area": ["56 in**2"] * 5 + ["0 in**2"]}, "front.bag.area[5]: must be > 0, got"),
    ("front.bag", {"load": ["1 lbf"]}, "front.bag.area: a chart has area, or load with load_at, got both: "),
    ("front.bag", {"load_at": "100 psi"}, "front.bag.area: a chart has area, or load with load_at, got both: "),
    ("front.bag", {"volume": "150 in**3"}, "front.bag.volume: must leave air in the bag at its lowest charted height"),
    ("front.bag", {"least_pressure": "100 psi"}, "front.bag.least_pressure: must be < greatest_pressure ("),
    ("front.bag", {"volumes": ["1 L"]}, "front.bag.volumes: must have as many points as height, got 1 against 6: "),
    (
        "front.bag",
        {"volumes": [f"{v} in**3" for v in (151, 206, 260, 310, 356, 450)]},
        "front.bag.volumes: must grow from lowest to highest height as the areas say, within 10 %, got 299 in**3 ",
    ),
    (
        "front.bag",
        {"volume": "345 in**3", "volumes": [f"{v} in**3" for v in (151, 206.5, 260, 310, 356, 397.5)]},
        "front.bag.volume: must be within 10 % of volumes at fitted height (310 in**3), got",
    ),
    ("hitches.0", {"x": "158 in"}, 'hitches[0].x: must be < wheelbase ("158 in"), from the rear axle forward, got'),
    ("hitches.0", {"name": "bed ball"}, 'hitches[1].name: each hitch needs its own name, got "bed ball" again: '),
    ("hitches.0", {"coupling": "bal"}, 'hitches[0].coupling: must be "ball", "gooseneck", "fifth_wheel" or "pintle"'),
    ("hitches.0", {"roll_coupling": -0.1}, "hitches[0].roll_coupling: must be >= 0, got -0.1: "),
    ("air", {"cut_in": "145 psi"}, 'air.cut_in: must be < cut_out ("145 psi"), got "145 psi": '),
    ("air", {"cut_out": "151 psi"}, 'air.delivery_pressure: the last must be >= cut_out ("151 psi"), got "150 psi": '),
    ("air", {"delivery": ["1 cfm"]}, "air.delivery: must have as many points as delivery_pressure, got 1 against 3: "),
    ("air", {"delivery_pressure": ["0 psi", "150 psi", "150 psi"]}, "air.delivery_pressure[2]: must rise from point "),
    ("air", {"delivery_pressure": [], "delivery": []}, "air.delivery_pressure: must have 2 points or more, got 0: "),
    ("air", {"valve_critical_ratio": 0.7}, "air.valve_critical_ratio: must be <= 0.6, got 0.7: "),
    ("spread", {"front.tyres.rate": "-1 lbf/in"}, 'spread."front.tyres.rate": must be >= 0, got "-1 lbf/in": '),
    ("spread", {"kerb.left_share": "1 in"}, 'spread."kerb.left_share": must be a plain number, got "1 in": '),
    ("spread", {"front.suspension": 1}, 'spread."front.suspension": only quantities and ratios have a spread, got'),
    ("spread", {"xyz": 1}, 'spread.xyz: must name a field, got "xyz": write it as front.track'),
    ("spread", {"kerb.front_axel": "1 lb"}, 'must name a field, got "kerb.front_axel": did you mean kerb.front_axle?'),
    ("", {"typical": ["kerb.front_axel"]}, 'typical[0]: must name a field, got "kerb.front_axel": did you mean kerb.'),
    ("", {"typical": [3]}, "typical[0]: must name a field, got 3: write its path"),
    ("", {"typical": "kerb"}, 'typical: must be a list, got "kerb": '),
    ("", {"spread": 3}, "spread: must be a table, got 3: "),
]


@pytest.mark.parametrize(("table", "change", "expected"), BROKEN, ids=[f"{b[0]}-{'-'.join(b[1])}" for b in BROKEN])
def test_each_fault_is_told_once(truck: Data, faults: Faults, table: str, change: Data, expected: str) -> None:
    place: Any = truck
    for part in table.split(".") if table else []:
        place = place[int(part)] if part.isdigit() else place[part]
    place |= change
    lines = faults(Truck, truck)
    assert len(lines) == 1
    assert expected in lines[0]


@pytest.mark.parametrize(
    ("table", "key", "expected"),
    [
        (
            "front",
            "spring_spacing",
            "front.spring_spacing: a solid axle needs spring_spacing, got nothing: add spring_spacing",
        ),
        ("front", "gawr", 'front.gawr: is required: add gawr = "6000 lb"'),
        ("front", "motion_ratio", "front.motion_ratio: is required: add motion_ratio = 1.0"),
        ("front", "suspension", 'front.suspension: is required: add suspension = "..."'),
        ("front", "tyres", "front.tyres: is required: add the table [front.tyres] with its fields"),
        ("front.tyres", "per_side", "front.tyres.per_side: is required: add per_side = 1"),
        ("front.bag", "height", 'front.bag.height: is required: add height = ["6 in", ...]'),
        ("front.bag", "area", "front.bag.area: a chart needs area, or load with load_at, got neither: add area"),
        ("", "schema", "schema: is required: start the file with schema = 1"),
    ],
)
def test_a_missing_field_is_one_problem(truck: Data, faults: Faults, table: str, key: str, expected: str) -> None:
    place: Any = truck
    for part in table.split(".") if table else []:
        place = place[part]
    del place[key]
    lines = faults(Truck, truck)
    assert len(lines) == 1
    assert expected in lines[0]


def test_a_ball_needs_its_diameter_and_a_fifth_wheel_does_not(truck: Data, faults: Faults) -> None:
    del truck["hitches"][1]["ball_diameter"]
    assert faults(Truck, truck)[0].startswith(
        "hitches[1].ball_diameter: a gooseneck coupling needs ball_diameter, got nothing: "
    )
    truck["hitches"][1]["coupling"] = "fifth_wheel"
    assert read_record(Truck, truck, "x.toml").hitch("bed ball").ball_diameter is None


def test_loads_need_their_pressure_and_as_many_points(truck: Data, faults: Faults) -> None:
    bag = truck["front"]["bag"]
    del bag["area"]
    bag["load"] = ["5600 lbf"]
    lines = faults(Truck, truck)
    assert [line.split(",")[0] for line in lines] == [
        "front.bag.load_at: a chart of loads needs load_at",
        "front.bag.load: must have as many points as height",
    ]


def test_fields_by_position_may_be_typical(truck: Data) -> None:
    truck["typical"] = ["hitches[0].height", "front.bag.area", "kerb"]
    assert read_record(Truck, truck, "x.toml").typical == ("hitches[0].height", "front.bag.area", "kerb")


def test_spreads_may_be_typed_without_quotes(truck: Data) -> None:
    # TOML reads  front.tyres.rate = "300 lbf/in"  under [spread] as tables in tables.
    truck["spread"] = {"front": {"tyres": {"rate": "300 lbf/in"}}}
    assert list(read_record(Truck, truck, "x.toml").spread) == ["front.tyres.rate"]


def test_a_path_nested_without_end_is_refused(truck: Data, faults: Faults) -> None:
    endless: Data = {}
    for _ in range(5000):
        endless = {"a": endless}
    truck["spread"] = endless
    assert "must name a field" in faults(Truck, truck)[0]


def with_correlation(truck: Data, fields: list[str], matrix: list[list[float]]) -> Data:
    truck["spread"] = {"front.tyres.rate": "300 lbf/in", "kerb.left_share": 0.01, "front.bag.area": "1 in**2"}
    return truck | {"correlation": {"fields": fields, "matrix": matrix}}


LEARNT = ["front.tyres.rate", "front.bag.area"]


def test_spreads_that_were_learnt_together_are_kept_with_their_correlation(truck: Data) -> None:
    got = read_record(Truck, with_correlation(truck, LEARNT, [[1, -0.6], [-0.6, 1]]), "x.toml")
    assert got.correlation is not None
    assert got.correlation.matrix == ((1.0, -0.6), (-0.6, 1.0))
    assert read_record(Truck, tomllib.loads(got.to_toml()), "x.toml") == got
    assert got.correlation_without(["kerb.left_share"]) == got.correlation
    assert got.correlation_without(["front.bag.area"]) is None


@pytest.mark.parametrize(
    ("fields", "matrix", "said"),
    [
        (["front.tyres.rate", "front.bag.aera"], [[1, 0], [0, 1]], "did you mean front.bag.area"),
        (["front.tyres.rate", "rear.track"], [[1, 0], [0, 1]], "must name a field of [spread]"),
        (["front.bag.area"] * 2, [[1, 0], [0, 1]], "must be listed once"),
        (LEARNT, [[1, 0]], "must have 2 rows of 2 numbers"),
        (LEARNT, [[1, 0.2], [0.3, 1]], "must be the same as in row 1 (0.2)"),
        (LEARNT, [[0.9, 0.2], [0.2, 1]], "must be 1"),
        (LEARNT, [[1, 1.2], [1.2, 1]], "must agree with the rows above it"),
        ([*LEARNT, "kerb.left_share"], [[1, 0.9, -0.9], [0.9, 1, 0.9], [-0.9, 0.9, 1]], "agree with"),
        (LEARNT, [[1, "0.2"], ["0.2", 1]], "must be a plain number"),
    ],
)
def test_a_correlation_that_cannot_be_is_refused(
    truck: Data, faults: Faults, fields: list[str], matrix: list[list[float]], said: str
) -> None:
    assert any(said in fault for fault in faults(Truck, with_correlation(truck, fields, matrix)))
