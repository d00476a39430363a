"""Charts as people paste and type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import Refusal
from planner.forms.chart_text import read_chart
from planner.records import BagChart
from planner.units.quantity import read

GRID = "\t3 in\t6 in\n20 psi\t1080\t920\n40 psi\t2220\t1890"


def texts(found):
    return (
        [one.text for one in found.heights],
        [one.text for one in found.pressures],
        [[one.text.replace("lbf", "lb") for one in row] for row in found.values],
    )


WANTED = ["3 in", "6 in"], ["20 psi", "40 psi"], [["1080 lb", "920 lb"], ["2220 lb", "1890 lb"]]


@pytest.mark.parametrize(
    "typed",
    [
        GRID,
        GRID.replace("\t", ";"),
        GRID.replace("\t", ","),
        GRID.replace("\t", " | "),
        GRID.replace("\n", "\r\n") + "\r\n\r\n",
        "3 in\t6 in\n20 psi\t1080\t920\n40 psi\t2220\t1890",  # no corner
        "psi \\ in\t3\t6\n20\t1080\t920\n40\t2220\t1890",
        "Pressure (psi) / Height (in)\t3\t6\n20\t1080\t920\n40\t2220\t1890",
        "Load in lbf\n\t3\t6\n20\t1,080\t920\n40\t2,220\t1,890",
        "\t6\t3\n40\t1890\t2220\n20\t920\t1080",  # neither rises
        "\t20 psi\t40 psi\n3 in\t1080\t2220\n6 in\t920\t1890",  # turned
        "\t20\t40\n3\t1080\t2220\n6\t920\t1890",  # turned, by size
        "\t3\t6\t\n20\t1 080\t920\t\n40\t2 220\t1 890\t",
        ',3,6\n20,"1,080",920\n40,"2,220","1,890"',
    ],
)
def test_one_table_in_many_ways(typed):
    assert texts(read_chart(typed, "us")) == WANTED


def test_metric_tables_have_decimal_commas_and_the_larger_numbers_are_heights():
    found = read_chart(" ;80;150\n1,5;4,81;4,1\n3;9,9;8,42", "metric")
    assert texts(found)[0] == ["80 mm", "150 mm"]
    assert texts(found)[1] == ["1,5 bar", "3 bar"]
    assert found.values[0][0] == pytest.approx(4.81 * 9.80665)
    kilonewtons = read_chart("bar / mm, kN;80;150\n1,5;4,81;4,1\n3;9,9;8,42", "metric")
    assert float(kilonewtons.values[1][1]) == pytest.approx(8420.0)


def test_two_columns_are_one_pressure_or_areas():
    one = read_chart("Height (in)\tLoad (lbf) at 100 psi\n6\t4900\n3\t5700", "us")
    assert texts(one) == (["3 in", "6 in"], ["100 psi"], [["5700 lb", "4900 lb"]])
    given_ = read_chart("3\t5700\n6\t4900", "us", load_at=read("90 psi", "pressure"))
    assert texts(given_)[1] == ["90 psi"]
    assert texts(read_chart("3 6\n5700 4900", "us", load_at=read("90 psi", "pressure")))[0] == ["3 in", "5700 in"]
    lying = read_chart("3\t6\t8\n5700\t4900\t4000", "us", load_at=read("90 psi", "pressure"))
    assert texts(lying)[2] == [["5700 lb", "4900 lb", "4000 lb"]]
    areas = read_chart("height in, area in2\n3, 57\n6, 48", "us")
    assert areas.fields == {"height": areas.heights, "area": areas.values[0]}
    assert texts(areas)[2] == [["57 in2", "48 in2"]]


def test_one_height_is_enough():
    found = read_chart("\t6 in\n20 psi\t920\n40 psi\t1890", "us")
    assert texts(found) == (["6 in"], ["20 psi", "40 psi"], [["920 lb"], ["1890 lb"]])


def test_what_is_read_makes_a_record():
    record = BagChart(schema=1, name="Pasted", **read_chart(GRID, "us").fields)
    assert record.charted_areas[0][1] == pytest.approx(46 * 0.0254**2, rel=1e-6)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", "a chart needs rows of numbers, got nothing"),
        ("Height\tLoad", 'a chart needs rows of numbers, got "Height": paste the numbers too'),
        ("\t3\t6\n20\t1080\n40\t2220\t1890", "row 2 must have as many cells as the row above the numbers, 3, got 2"),
        ("\t3\t6\n20\t1080\tn/a\n40\t2220\t1890", 'row 2, column 3 must be a load, got "n/a"'),
        ("\t3\t6\n20\t\t920\n40\t2220\t1890", "row 2, column 2 must be a load, got nothing"),
        (
            "\t3\t6\n20\t1080\t920\n40 lb\t2220\t1890",
            'row 3, column 1: expected a pressure such as "62 psi", got "40 lb" (a weight)',
        ),
        ("\t3\t6\n20\t1080\t-920\n40\t2220\t1890", 'row 2, column 3 must be > 0, got "-920"'),
        ("\t3\t6\n20\t1080\t920\n20\t2220\t1890", 'row 3, column 1 must differ from row 2, column 1, got "20"'),
        ("\t3\t3\n20\t1080\t920\n40\t2220\t1890", 'row 1, column 3 must differ from row 1, column 2, got "3"'),
        ("1\t3\t6\n20\t1080\t920\n40\t2220\t1890", "row 1, column 1 is the corner of the table and must be no number"),
        ("3\t1080\n6\t920", "loads need the pressure they were measured at, got none"),
        ("\t3\t6", "a chart needs heights along one side and pressures along the other"),
        ("\t1" * 2100, "no more than 2,000 cells"),
    ],
)
def test_faults_name_row_and_column(typed, told):
    with pytest.raises(Refusal) as caught:
        read_chart(typed, "us")
    assert told in str(caught.value)


def test_numbers_that_may_mean_two_things_are_asked_about():
    with pytest.raises(Refusal, match="row 2, column 2: a comma here may mean thousands or decimals"):
        read_chart("\t80\t150\n3\t1,080\t920\n4\t2220\t1890", "metric")
    with pytest.raises(Refusal, match="row 2, column 3: a point before three digits may mean"):
        read_chart("\t80\t150\n1,5\t990\t1.080\n4\t2220\t1890", "metric")


@given(st.text(max_size=200))
def test_any_text_is_a_chart_or_refused(typed):
    for system in ("us", "metric"):
        try:
            found = read_chart(typed, system)
        except Refusal:
            continue
        assert all(len(row) == len(found.heights) for row in found.values)


@given(st.lists(st.lists(st.text(alphabet="0123456789.,; \t|\"'inpsibarlfkN\n", max_size=6), max_size=5), max_size=5))
def test_any_table_is_a_chart_or_refused(rows):
    test = "\n".join("\t".join(row) for row in rows)
    for system in ("us", "metric"):
        try:
            read_chart(test, system)
        except Refusal:
            continue
