"""Quantities as typed: what is read, what is refused and how, what is shown."""

import copy
import pickle
import subprocess
import sys
from typing import Annotated, Any, get_args

import pint
import pytest
from hypothesis import example as given_example
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, Field, TypeAdapter, ValidationError

from planner.units import quantity as units
from planner.units.dimensions import KINDS, UNITS, Dimension
from planner.units.factors import SIZES
from planner.units.quantity import (
    Kilogram,
    Metre,
    Newton,
    Pascal,
    Quantity,
    Refusal,
    display,
    entry_unit,
    quantity,
    read,
)

DIMENSIONS: tuple[Dimension, ...] = get_args(Dimension)
HOSTILE: list[object] = [
    "9**9**9 m",
    "1e999 psi",
    "1e-999 in",
    "1e9999999999 in",
    "nan in",
    "inf in",
    "9" * 10_000,
    "9" * 10_000 + " in",
    "١٢ in",
    "१२ in",
    "",
    " ",
    "in",
    "- in",
    "1.2.3 in",
    "1,2,3 in",
    "1_000 in",
    "0x10 in",
    "1 in + 1 in",
    "12 in\x00",
    "12 i\nn",
    "12\u202e in",
    "12 in; import os",
    "<b>12</b> in",
    "1" + "/1" * 20 + " in",
    "1/0 in",
    "1/3 in",
    "12",
    True,
    False,
    158,
    158.0,
    float("nan"),
    10**5000,
    None,
    b"12 in",
    [],
    ["12 in"],
    {},
    object(),
]


class Spring(BaseModel):
    """A record of the kind that uses these fields."""

    height: Metre = Field(gt=0, le=30)
    pressure: Pascal = Field(ge=0)
    spares: tuple[Metre, ...] = ()


def refused(text: object, dimension: Dimension) -> Refusal:
    """Return the error that reading raises."""
    with pytest.raises(Refusal) as caught:
        read(text, dimension)
    return caught.value


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("158 in", "length", 4.0132),
        ("158in", "length", 4.0132),
        (" 158  in ", "length", 4.0132),
        ("158 in.", "length", 4.0132),
        ("158 IN", "length", 4.0132),
        ("158\u00a0in", "length", 4.0132),
        ("-52 in", "length", -1.3208),
        ("−52 in", "length", -1.3208),
        ("+.5 in", "length", 0.0127),
        ("5. in", "length", 0.127),
        ("1.5e1 in", "length", 0.381),
        ("20 1/8 in", "length", 0.511175),
        ("20-1/8 in", "length", 0.511175),
        ("-20 1/8 in", "length", -0.511175),
        ("5/8 in", "length", 0.015875),
        ("4,3 bar", "pressure", 430_000.0),
        ("0,125 in", "length", 0.003175),
        ("1234,567 mm", "length", 1.234567),
        ("12,500.5 kg", "weight", 12_500.5),
        ("1,234,567 kg", "weight", 1_234_567.0),
        ("100 kgf", "weight", 100.0),
        ("9.80665 N", "weight", 1.0),
        ("100 kg", "load", 980.665),
        ("2 kN/m", "spring rate", 2000.0),
        ("3 in²", "area", 3 * 0.0254**2),
        ("3 in^2", "area", 3 * 0.0254**2),
        ("3 in ** 2", "area", 3 * 0.0254**2),
        ("3 sq in", "area", 3 * 0.0254**2),
        ("3 in³", "volume", 3 * 0.0254**3),
        ("60 L/min", "free-air flow", 0.001),
        ("500 N·m", "moment", 500.0),
        ("1 kN*m/rad", "roll rate", 1000.0),
        ("0.5 L / (s · bar)", "sonic conductance", 5e-9),
        ("0 degC", "temperature", 273.15),
        ("-5 °C", "temperature", 268.15),
        ("212 degF", "temperature", 373.15),
        ("100 mrad", "angle", 0.1),
    ],
)
def test_what_people_type_is_read(text: str, dimension: Dimension, expected: float) -> None:
    got = read(text, dimension)
    assert got == pytest.approx(expected, rel=1e-14)
    assert got.text == text.strip()
    assert got.dimension == dimension


@pytest.mark.parametrize("text", HOSTILE, ids=[f"case{i}" for i in range(len(HOSTILE))])
@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_hostile_input_is_refused_with_a_right_example(text: object, dimension: Dimension) -> None:
    message = str(refused(text, dimension))
    assert len(message) < 300
    assert message.isprintable()
    if "fractions" not in message:
        assert f'"{units.example(dimension)}"' in message


def test_nothing_hostile_reaches_pint() -> None:
    # A fresh interpreter, because pint may be loaded here already: a refusal that never loads it cannot be slow.
    script = f"""
import sys
from planner.units import quantity as units
from planner.units.dimensions import KINDS
others = [True, 158, 10**5000, float("nan"), None, b"12 in", []]
for text in {[text for text in HOSTILE if isinstance(text, str)]!r} + others:
    for dimension in KINDS:
        try:
            units.read(text, dimension)
        except ValueError:
            continue
        raise SystemExit(f"not refused: {{ascii(text)}}")
assert units.read("0 in", "length") == 0
import planner.records
assert "pint" not in sys.modules, "pint was loaded"
"""
    subprocess.run([sys.executable, "-c", script], check=True)


@given(st.text(max_size=80), st.sampled_from(DIMENSIONS))
@given_example("1e", "length")
@given_example("1 2/4", "length")
def test_any_text_is_read_or_refused(text: str, dimension: Dimension) -> None:
    try:
        outcome = f"{read(text, dimension):.3e}"
    except Refusal as refusal:
        outcome = str(refusal)
    assert outcome.isprintable()
    assert outcome not in ("inf", "-inf", "nan")


@given(
    st.sampled_from([(dimension, unit) for dimension in DIMENSIONS for unit in UNITS[dimension]]),
    st.decimals(min_value=0, max_value=10**9, places=4),
)
def test_text_goes_round(spelling: tuple[Dimension, str], number: Any) -> None:
    dimension, unit = spelling
    once = read(f"{number} {unit}", dimension)
    again = read(once.text, dimension)
    assert (again, again.text) == (once, once.text)
    number_again = float(quantity(once, unit, dimension).text.partition(" ")[0])
    assert number_again == pytest.approx(float(number), rel=1e-9, abs=1e-9)


@given(st.sampled_from(DIMENSIONS), st.sampled_from(["us", "metric"]), st.floats(min_value=1, max_value=1e6))
def test_what_is_shown_can_be_typed(dimension: Dimension, system: units.System, magnitude: float) -> None:
    value = read(f"{magnitude} {entry_unit(dimension, system)}", dimension)
    number, label = display(value, dimension, system)
    assert number == pytest.approx(magnitude, rel=1e-9)
    assert read(f"{number:.12f} {label}", dimension) == pytest.approx(value, rel=1e-9)
    typed = quantity(value, entry_unit(dimension, system), dimension)
    assert typed == pytest.approx(value, rel=1e-9)
    assert typed.text == f"{number:.10g} {entry_unit(dimension, system)}"


def test_every_unit_is_one_that_pint_knows_and_of_its_dimension() -> None:
    for dimension, spellings in UNITS.items():
        for unit in spellings.values():
            scale, _ = units.size_by_pint(unit, dimension)  # type: ignore[arg-type]  # the table's keys are dimensions
            assert scale > 0


def test_the_table_of_sizes_is_pint_s_to_the_last_digit() -> None:
    assert units.table_of_sizes() == SIZES


def test_a_unit_that_the_table_does_not_have_is_asked_of_pint() -> None:
    script = """
import sys
from planner.units.factors import SIZES
from planner.units.quantity import read
del SIZES["length"]["foot"]
assert read("1 ft", "length") == 0.3048
assert "pint" in sys.modules, "pint was not asked"
"""
    subprocess.run([sys.executable, "-c", script], check=True)


def test_reading_and_showing_need_no_pint() -> None:
    script = """
import sys
from planner.units import quantity as units
assert abs(units.read("62 psi", "pressure") - 427474.95) < 0.01
units.display(1.0, "length", "us")
assert "pint" not in sys.modules, "pint was loaded"
"""
    subprocess.run([sys.executable, "-c", script], check=True)


def test_equal_lengths_in_two_units_are_one_float() -> None:
    assert read("6 in", "length") == read("152.4 mm", "length")
    assert read("1 lb", "weight") == 0.45359237
    assert read("1 lbf", "load") == 4.4482216152605


def test_a_wrong_dimension_says_what_was_expected() -> None:
    expected = 'expected a length such as "158 in", got "62 psi" (a pressure): write a number and in, ft, mm, cm or m'
    assert str(refused("62 psi", "length")) == f"{expected}, in quotes"


def test_an_unknown_unit_says_so() -> None:
    assert '"62 pis" (unit not known here)' in str(refused("62 pis", "pressure"))
    assert "unit not known here" in str(refused("62 mPa", "pressure"))  # case counts where it means something


PRESSURES = [  # as people type them on gauges' labels and in mails; pint's name of each
    ("psi", "psi psig PSI Psi PSIG lb/in2 lbf/in2 lb/in^2 lbf/in² LB/IN2 lbf/in**2"),
    ("bar", "bar barg BAR Bar barG BARG"),
    ("kilopascal", "kPa KPA kpa Kpa"),
    ("millibar", "mbar MBAR Mbar hPa hpa"),
    ("kilogram_force/centimeter**2", "kgf/cm2 kg/cm2 kgf/cm² kgf/cm**2 kg/cm^2 KGF/CM2 KG/CM2 Kg/cm2"),
    ("megapascal", "MPa N/mm²"),
]


@pytest.mark.parametrize(("unit", "spellings"), PRESSURES)
def test_a_pressure_is_what_pint_says_however_its_unit_is_spelt(unit: str, spellings: str) -> None:
    expected = pint.UnitRegistry().Quantity(62.0, unit).to("pascal").magnitude
    for spelling in spellings.split():
        got = read(f"62 {spelling}", "pressure")
        assert got == pytest.approx(expected, rel=1e-12), spelling
        assert got.text == f"62 {spelling}"


@pytest.mark.parametrize("unit", ["mPa", "MPA", "mpa", "PA", "n/mm2", "psia", "bara"])
def test_a_pressure_in_a_unit_that_may_mean_something_else_is_refused(unit: str) -> None:
    assert "unit not known here" in str(refused(f"62 {unit}", "pressure"))


@pytest.mark.parametrize("unit", ["ton", "tons", "Ton", "tonf", "TONS"])
@pytest.mark.parametrize("dimension", ["weight", "load"])
def test_a_ton_is_one_of_three_and_the_remedy_names_them(unit: str, dimension: Dimension) -> None:
    refusal = refused(f"3 {unit}", dimension)
    assert (refusal.rule, refusal.got) == ("there are three kinds of ton", f'"3 {unit}"')
    for name, pounds in (("short ton", 2000.0), ("long ton", 2240.0)):  # NIST SP 811, B.8
        assert f'"3 {name}s" ({pounds:g} lb)' in refusal.remedy
        assert read(f"3 {name}", "weight") == pytest.approx(3 * pounds * 0.45359237)
    assert '"3 t" (1000 kg)' in refusal.remedy
    assert read("3 t", "weight") == 3000


def test_a_number_alone_says_what_is_missing() -> None:
    assert "158 without a unit" in str(refused(158, "length"))
    assert '"158" without a unit' in str(refused("158", "length"))


def test_a_comma_before_three_digits_offers_both_spellings() -> None:
    message = str(refused("1,200 lb", "weight"))
    assert '"1200 lb" or "1.200 lb"' in message


def test_fractions_are_for_lengths() -> None:
    assert "fractions are for lengths" in str(refused("1/2 psi", "pressure"))


def test_nothing_is_colder_than_nought() -> None:
    assert "must be >= -273.15 degC" in str(refused("-274 degC", "temperature"))
    assert read("0 K", "temperature") == 0


def test_long_input_is_cut_and_control_characters_are_escaped() -> None:
    message = str(refused("\x1b[31m" + "9" * 10_000, "length"))
    assert '"\\x1b[31m9999' in message
    assert "…" in message
    assert "10005 characters long" in message


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (True, "true"),
        (False, "false"),
        (3, "3"),
        (2.5, "2.5"),
        pytest.param(10**5000, "a number of very many digits", id="endless"),
        (None, "nothing"),
        ({}, "a table"),
        ([1, 2], "a list of 2"),
        (b"x", "a bytes"),
        ("a\tb", '"a\\tb"'),
        (read("0 in", "length"), '"0 in"'),
    ],
)
def test_values_are_shown_short(value: object, expected: str) -> None:
    assert units.shown(value) == expected


def test_a_quantity_is_a_float_that_keeps_its_text() -> None:
    wheelbase = read("158 in", "length")
    assert repr(wheelbase) == "<158 in>"
    assert f"{wheelbase:.2f}" == "4.01"
    assert hash(wheelbase) == hash(float(wheelbase))
    assert type(wheelbase + 1) is float
    pickled = pickle.loads(pickle.dumps(wheelbase))  # noqa: S301  # our own bytes
    for twin in (pickled, copy.deepcopy(wheelbase), copy.copy(wheelbase)):
        assert (twin, twin.text, twin.dimension) == (wheelbase, "158 in", "length")


def test_a_quantity_cannot_be_changed() -> None:
    wheelbase = read("158 in", "length")
    with pytest.raises(AttributeError, match="cannot be changed"):
        wheelbase.text = "1 in"


def test_a_quantity_can_be_made_from_a_number() -> None:
    made = Quantity.of(4.3, "bar", "pressure")
    assert (made, made.text) == (430_000, "4.3 bar")
    assert quantity(62 * 6894.757293168362, "psi", "pressure").text == "62 psi"
    with pytest.raises(ValueError, match="expected a pressure"):
        Quantity.of(float("nan"), "bar", "pressure")


def test_display_by_system() -> None:
    assert display(430_000, "pressure", "metric") == (4.3, "bar")
    assert display(0.0254, "length", "us") == (1, "in")
    assert display(9.80665, "load", "metric") == (1, "kg")
    assert display(4.4482216152605, "load", "us") == (1, "lb")
    assert display(273.15, "temperature", "us")[0] == pytest.approx(32, abs=1e-9)
    assert entry_unit("pressure", "us") == "psi"
    with pytest.raises(ValueError, match='units must be "us" or "metric", got "imperial"'):
        display(1, "length", "imperial")  # type: ignore[arg-type]  # what the check is for


def test_a_limit_is_written_in_the_unit_it_limits() -> None:
    assert units.in_unit_of(0.508, read("5 ft", "length")) == "1.66667 ft"


def test_fields_read_text_and_keep_it() -> None:
    spring = Spring.model_validate({"height": "6 in", "pressure": "4,3 bar", "spares": ["1 in"]})
    assert spring.height == pytest.approx(0.1524)
    assert spring.model_dump()["height"].text == "6 in"
    assert spring.model_dump(mode="json") == {"height": "6 in", "pressure": "4,3 bar", "spares": ["1 in"]}
    assert Spring.model_validate_json(spring.model_dump_json()) == spring
    assert Spring.model_validate(spring.model_dump()) == spring
    assert Spring.model_json_schema()["properties"]["height"]["examples"] == ["158 in"]


def test_fields_take_quantities_of_their_dimension() -> None:
    weight = read("100 kg", "weight")
    load = TypeAdapter(Newton).validate_python(weight)
    assert (load, load.text) == (pytest.approx(980.665), "100 kg")
    assert TypeAdapter(Kilogram).validate_python(weight) is weight
    with pytest.raises(ValidationError, match="expected a length"):
        TypeAdapter(Metre).validate_python(weight)


@pytest.mark.parametrize("value", [3, 3.0, True, None, "3", "3 psi", []])
def test_fields_refuse_what_is_no_quantity(value: object) -> None:
    with pytest.raises(ValidationError, match="expected a length such as"):
        Spring.model_validate({"height": value, "pressure": "0 psi"})


def test_fields_hold_their_bounds_given_either_way() -> None:
    with pytest.raises(ValidationError, match="greater than 0"):
        Spring.model_validate({"height": "0 in", "pressure": "0 psi"})
    with pytest.raises(ValidationError, match="greater than 0"):
        TypeAdapter(Annotated[Metre, Field(gt=0)]).validate_python("0 in")
    with pytest.raises(ValidationError, match="less than or equal to 30"):
        Spring.model_validate({"height": "30.1 m", "pressure": "0 psi"})


def test_every_dimension_has_a_right_example_and_units_to_type_and_read() -> None:
    for dimension, kind in KINDS.items():
        assert read(kind.example, dimension).text == kind.example
        for unit in (*kind.us, *kind.metric):
            assert read(f"300 {unit}", dimension) > 0
