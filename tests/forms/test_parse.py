import pytest

from planner.forms.parse import field_text, is_bare, read_quantity, read_share, share_text, taken_as
from planner.units.quantity import Quantity, Refusal, read


@pytest.mark.parametrize(
    ("typed", "system", "text"),
    [
        ("7200", "us", "7200 lb"),
        (" 7200 ", "metric", "7200 kg"),
        ("7200 lb", "metric", "7200 lb"),
        ("3,5 t", "us", "3,5 t"),
        ("7,200.5", "us", "7,200.5 lb"),
        ("7,200", "us", "7200 lb"),
        ("7 200", "us", "7200 lb"),
    ],
)
def test_a_weight_without_a_unit_is_in_the_unit_that_is_shown(typed, system, text):
    assert read_quantity(typed, "weight", system).text == text


@pytest.mark.parametrize(
    "typed", ["", "  ", "lb", "7200 psi", "9**9**9", "1e999", "nan", "7,200 kg", "١٢", "7200 lb lb", "-" * 5000]
)
def test_what_is_no_weight_is_refused(typed):
    with pytest.raises(Refusal):
        read_quantity(typed, "weight", "us")


@pytest.mark.parametrize(
    ("typed", "bare"), [("12", True), ("-3", True), ("−3", True), ("20 1/8", True), ("12 lb", False), ("", False)]
)
def test_a_bare_number_is_told_from_one_with_a_unit(typed, bare):
    assert is_bare(typed) is bare


@pytest.mark.parametrize(
    ("text", "kind", "system", "shown"),
    [
        ("7200 lb", "weight", "us", "7200 lb"),
        ("7200 lb", "weight", "metric", "3266 kg"),
        ("3265.9 kg", "weight", "us", "7200 lb"),
        ("20 1/8 in", "length", "us", "20 1/8 in"),
        ("20 1/8 in", "length", "metric", "511.2 mm"),
        ("1 ft", "length", "us", "1 ft"),
        ("62 psi", "pressure", "metric", "4.275 bar"),
        ("3200 lbf", "weight", "us", "3200 lbf"),
        ("0 in", "length", "metric", "0 mm"),
    ],
)
def test_a_field_shows_what_was_typed_or_the_same_in_the_unit_shown(text, kind, system, shown):
    assert field_text(read(text, kind), system) == shown


@pytest.mark.parametrize(
    ("typed", "share"),
    [
        ("12 %", 0.12),
        ("12%", 0.12),
        ("12,5 %", 0.125),
        ("0.12", 0.12),
        (",5", 0.5),
        ("12", 0.12),
        ("1", 0.01),
        ("-3 %", -0.03),
        ("50 percent", 0.5),
    ],
)
def test_a_share_is_read_as_percent_or_as_a_part_of_one(typed, share):
    assert read_share(typed) == share


@pytest.mark.parametrize("typed", ["", "%", "twelve", "12 lb", "12 %%", "1e5", "9" * 40, "nan"])
def test_what_is_no_share_is_refused_with_an_example(typed):
    with pytest.raises(Refusal, match="12 %"):
        read_share(typed)


@pytest.mark.parametrize("share", [0.0, 0.12, 0.125, 0.505, 1.0])
def test_a_share_is_shown_as_it_is_read(share):
    assert read_share(share_text(share)) == share


def test_a_text_that_names_no_unit_is_shown_as_it_is():
    assert field_text(Quantity(0.0, "nought", "length"), "metric") == "nought"


@pytest.mark.parametrize(
    ("typed", "note"),
    [("7,200", "taken as 7,200 lb"), ("7200", ""), ("7.200", "taken as 7.2 lb"), ("3.6 tons", ""), ("", "")],
)
def test_a_field_says_what_a_text_was_taken_as_where_it_had_a_choice(typed, note):
    assert taken_as(typed, "weight", "us") == note
