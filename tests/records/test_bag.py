"""A bag's chart: one row, a row for each pressure, one height, or a chart of its own; and what makes no sense."""

import pytest

from planner.records import BadInput, Bag, BagChart, Truck, read_record

INCH, PSI, LBF = 0.0254, 6894.757293168361, 4.4482216152605
LIMITS = {"least_pressure": "10 psi", "greatest_pressure": "100 psi"}
ROWS = [["1080 lbf", "920 lbf", "740 lbf"], ["3360 lbf", "2880 lbf", "2340 lbf"], ["5700 lbf", "4900 lbf", "4000 lbf"]]
FAMILY = {"height": ["3 in", "6 in", "8 in"], "load": ROWS, "load_at": ["20 psi", "60 psi", "100 psi"]}
CHART = {"schema": 1, "name": "Twin"} | FAMILY | LIMITS
ONE = {"fitted_height": "6 in", "height": ["5.5 in"], "load": ["4900 lbf"], "load_at": "100 psi"} | LIMITS


def told(cls, **fields):
    with pytest.raises(BadInput) as caught:
        cls(**fields)
    return [one.line().removeprefix(f"{cls.__name__}: ") for one in caught.value.problems]


def test_a_row_for_each_pressure():
    bag = Bag(fitted_height="6 in", volume="310 in**3", **FAMILY, **LIMITS)
    assert bag.pressures == pytest.approx((20 * PSI, 60 * PSI, 100 * PSI))
    assert [row[1] for row in bag.area_rows] == pytest.approx([46 * INCH**2, 48 * INCH**2, 49 * INCH**2])
    assert bag.fitted_area == pytest.approx(48 * INCH**2)
    assert bag.whole
    assert bag.as_file()["load"] == ROWS
    assert bag.as_file()["load_at"] == ["20 psi", "60 psi", "100 psi"]


def test_one_height_has_typical_slope_ends_and_volume():
    bag = Bag(**ONE)
    assert bag.has_one_height
    assert (bag.lowest, bag.highest) == pytest.approx((3.6 * INCH, 8.1 * INCH))
    charted, low, high = 49 * INCH**2, *bag.areas
    assert low == pytest.approx(charted * (1 - 2.0 * (3.6 - 5.5) * INCH))
    assert high == pytest.approx(charted * (1 - 2.0 * (8.1 - 5.5) * INCH))
    assert bag.gas_volume == pytest.approx(bag.fitted_area * 6 * INCH)
    assert "volume" not in bag.as_file()


def test_volume_is_taken_from_volumes_where_it_is_left_out():
    fields = {
        "height": ["4 in", "6 in", "8 in"],
        "area": ["48 in**2"] * 3,
        "volumes": ["214 in**3", "310 in**3", "406 in**3"],
    }
    bag = Bag(fitted_height="7 in", **fields, **LIMITS)
    assert bag.gas_volume == pytest.approx(358 * INCH**3)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"load": [ROWS[0], ROWS[1][:2], ROWS[2]]}, "load[1]: must have as many points as height, got 2 against 3"),
        ({"load": ROWS[:2]}, "load: must have as many rows as load_at has pressures, got 2 against 3"),
        ({"load": ROWS[0]}, "load: must have a row for each pressure of load_at, got values without a row"),
        ({"load_at": "20 psi"}, 'load_at: must be a list when load has rows, got "20 psi"'),
        ({"load_at": ["20 psi", "60 psi", "60 psi"]}, 'load_at[2]: must rise from point to point, got "60 psi" after'),
        ({"load_at": None}, "load_at: a chart of loads needs load_at, got nothing"),
        ({"load_at": ["20 psi", "6 in", "100 psi"]}, 'load_at[1]: expected a pressure such as "62 psi", got "6 in"'),
        ({"load": [ROWS[0], ["3360 lbf", "x", "1 lbf"], ROWS[2]]}, 'load[1][1]: expected a load'),
        (
            {"load": [ROWS[0], ["3360 lbf", "900 lbf", "2340 lbf"], ROWS[2]]},
            "load[1][1]: must be > 1656 lbf, or more pressure would carry less load (at",
        ),
        ({"area": ["1 in**2"] * 3}, "area: a chart has area, or load with load_at, got both"),
        ({"height": ["3 in", "6 in", "5 in"]}, 'height[2]: must rise from point to point, got "5 in" after "6 in"'),
        ({"greatest_pressure": "5 psi"}, 'least_pressure: must be < greatest_pressure ("5 psi"), got "10 psi"'),
        ({"source": ""}, "source: must be 1 to 120 characters long"),
        ({"height": None}, 'height: is required: add height = ["'),
    ],
)  # fmt: skip
def test_a_chart_that_makes_no_sense_says_where_and_why(changes, expected):
    fields = {name: value for name, value in (CHART | changes).items() if value is not None}
    lines = told(BagChart, **fields)
    assert len(lines) == 1
    assert expected in lines[0]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"fitted_height": "12 in"}, 'fitted_height: must be 4.07407 in to 9.16667 in with a chart of'),
        ({"fitted_height": "1.5 m", "height": ["1.5 m"]}, "height: a chart of one height is for bags under"),
        ({"volume": "1 in**3"}, 'volume: must leave air in the bag at its lowest charted height, got "1 in**3", which'),
        ({"height": None}, "height: is required"),
        ({"least_pressure": None}, "least_pressure: is required"),
    ],
)  # fmt: skip
def test_a_bag_of_one_height_that_makes_no_sense(changes, expected):
    lines = told(Bag, **{name: value for name, value in (ONE | changes).items() if value is not None})
    assert len(lines) == 1
    assert expected in lines[0]


def test_a_misspelt_field_that_is_needed_is_told_once():
    fields = {("hieght" if name == "height" else name): value for name, value in CHART.items()}
    with pytest.raises(BadInput) as caught:
        read_record(BagChart, fields, "bags/twin.toml")
    assert [(one.field, one.remedy) for one in caught.value.problems] == [("hieght", "did you mean height?")]


def test_a_truck_is_filled_in_from_a_chart_and_written_as_before(truck):
    truck["front"]["bag"] = {"chart": "twin", "fitted_height": "6 in", "greatest_pressure": "90 psi"}
    typed = read_record(Truck, truck, "x.toml")
    assert typed.charts == {"front": "twin"}
    assert not typed.front.bag.whole
    whole = typed.with_charts({"front": BagChart(**CHART)})
    assert whole.front.bag.whole
    assert whole.front.bag.greatest_pressure.text == "90 psi"  # what the truck says wins
    assert whole.front.bag.least_pressure.text == "10 psi"
    assert whole.to_toml() == typed.to_toml()
    assert whole.as_file() == typed.as_file()


def test_a_whole_bag_that_is_changed_stays_whole(truck):
    truck["front"]["bag"] = {"chart": "twin", "fitted_height": "6 in"}
    bag = read_record(Truck, truck, "x.toml").with_charts({"front": BagChart(**CHART)}).front.bag
    changed = bag.replaced(load_rating="3000 lbf")
    assert changed.whole
    assert changed.as_file() == {"chart": "twin", "fitted_height": "6 in", "load_rating": "3000 lbf"}
    assert bag.replaced(area=["56 in**2", "48 in**2", "39 in**2"]).load is None


def test_areas_in_the_truck_win_over_loads_of_the_chart(truck):
    truck["front"]["bag"] = {"chart": "twin", "fitted_height": "6 in", "area": ["56 in**2", "48 in**2", "39 in**2"]}
    whole = read_record(Truck, truck, "x.toml").with_charts({"front": BagChart(**CHART)})
    assert whole.front.bag.load is None
    assert whole.front.bag.areas[0] == pytest.approx(56 * INCH**2)


def test_a_chart_that_does_not_fit_the_truck_names_the_trucks_field(truck):
    truck["front"]["bag"] = {"chart": "twin", "fitted_height": "9 in"}
    with pytest.raises(
        BadInput, match=r'trucks/x.toml: front.bag.fitted_height: must be on the chart, "3 in" to "8 in"'
    ):
        read_record(Truck, truck, "x").with_charts({"front": BagChart(**CHART)}, "trucks/x.toml")


def test_a_truck_with_a_chart_that_was_not_read_is_not_used(truck):
    from planner import level

    truck["front"]["bag"] = {"chart": "twin", "fitted_height": "6 in"}
    with pytest.raises(BadInput, match=r"front\.bag\.chart: names a chart of its own that was not read with the truck"):
        level(read_record(Truck, truck, "x"))
