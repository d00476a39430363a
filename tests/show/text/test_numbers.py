"""Numbers for people: rounded to what an instrument shows, the true minus, no minus before nought."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.show.text.numbers import DECIMALS, FAR, hertz, say, sentence, write
from planner.units.quantity import read
from tests.show.conftest import INCH, POUND, PSI, make_finding

KINDS = sorted(DECIMALS)


@pytest.mark.parametrize(
    ("value", "kind", "us", "metric"),
    [
        (46 * PSI, "pressure", "46 psi", "3.17 bar"),
        (2449 * POUND, "load", "2,449 lb", "1,111 kg"),
        (420 * 0.45359237, "weight", "420 lb", "191 kg"),
        (20 * INCH, "length", "20 in", "508 mm"),
        (20.13 * INCH, "length", "20.1 in", "511 mm"),
        (158 * INCH, "length", "158 in", "4013 mm"),
        (7.62, "length", "25 ft", "7.62 m"),
        (1000.0, "moment", "738 lb·ft", "1,000 N·m"),
        (0.12, "share", "12 %", "12 %"),
        (0.1243, "share", "12.4 %", "12.4 %"),
        (0.0052, "angle", "0.3°", "0.3°"),
        (-0.3 * INCH, "length", "−0.3 in", "−8 mm"),
        (-0.0001, "length", "0 in", "0 mm"),
        (-1.0, "load", "0 lb", "0 kg"),
    ],
)
def test_a_number_reads_as_its_instrument_shows_it(value, kind, us, metric):
    assert say(value, kind, "us") == us
    assert say(value, kind, "metric") == metric


@pytest.mark.parametrize(
    ("kind", "value", "us", "metric"),
    [
        ("pressure", 46.27 * PSI, "46.3 psi", "3.190 bar"),
        ("length", 20 * INCH, "20.00 in", "508.0 mm"),
        ("share", 0.12, "12.00 %", "12.00 %"),
    ],
)
def test_exact_is_one_digit_more(kind, value, us, metric):
    assert say(value, kind, "us", exact=True) == us
    assert say(value, kind, "metric", exact=True) == metric


@pytest.mark.parametrize(
    ("step", "us", "metric"),
    [
        (PSI, "46 psi", "3.20 bar"),
        (5 * PSI, "46 psi", "3.20 bar"),
        (0.5 * PSI, "46.5 psi", "3.20 bar"),
        (0.25 * PSI, "46.46 psi", "3.20 bar"),
        (10_000.0, "46 psi", "3.20 bar"),
        (500.0, "46.46 psi", "3.203 bar"),
        (1e-3, "46.458 psi", "3.203 bar"),
    ],
)
def test_the_step_of_a_gauge_is_told_apart(step, us, metric):
    pressure = 46.458 * PSI
    assert say(pressure, "pressure", "us", step=step) == us
    assert say(pressure, "pressure", "metric", step=step) == metric


def test_number_and_unit_come_apart():
    assert write(46 * PSI, "pressure", "us") == ("46", "psi")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="must be finite"):
        say(value, "load", "us")


def test_an_unknown_system_is_refused():
    with pytest.raises(ValueError, match="metric"):
        say(1.0, "load", "imperial")


@given(
    value=st.floats(-1e5, 1e5),
    kind=st.sampled_from(["load", "weight", "length", "pressure", "moment", "angle"]),
    system=st.sampled_from(["us", "metric"]),
    exact=st.booleans(),
)
def test_what_is_written_reads_back_to_within_its_last_digit(value, kind, system, exact):
    written = say(value, kind, system, exact=exact)
    assert "-" not in written
    assert not written.lstrip("−").startswith("0 ") or not written.startswith("−")
    unit = {"lb": "lbf" if kind == "load" else "lb", "kg": "kgf" if kind == "load" else "kg", "lb·ft": "lbf*ft"}
    number, shown = write(value, kind, system, exact=exact)
    back = float(read(f"{number.replace(',', '').replace('−', '-')} {unit.get(shown, shown)}", kind))
    far = kind == "length" and abs(value) >= FAR
    places = 2 if far else DECIMALS[kind][system == "metric"]
    half_digit = 0.5 * 10.0 ** -(places + exact) * abs(float(read(f"1 {unit.get(shown, shown)}", kind)))
    assert abs(back - value) <= half_digit * (1 + 1e-6) + 1e-9


def test_a_frequency_has_one_decimal():
    assert hertz(1.2999) == "1.3 Hz"


def test_a_sentence_is_in_one_system():
    finding = make_finding(value=(30_000.0, "load"), limit=(26_000.0, "load"))
    assert sentence(finding, "us") == "The rear axle carries 6,744 lb, over its 5,845 lb."
    assert sentence(finding, "metric") == "The rear axle carries 3,059 kg, over its 2,651 kg."


def test_no_sentence_says_that_a_load_is_over_itself():
    finding = make_finding(
        template="It carries {value}, {over} over {limit}.",
        value=(1000.2 * POUND, "load"),
        limit=(1000.0 * POUND, "load"),
        over=(0.2 * POUND, "load"),
    )
    assert sentence(finding, "us") == "It carries 1,000.2 lb, 0.2 lb over 1,000.0 lb."
    near = {"value": (0.1024, "length"), "limit": (0.1016, "length"), "screen": (7.62, "length")}
    aim = make_finding(template="They aim {value} up at {screen}.", **near)
    assert sentence(aim, "us") == "They aim 4.03 in up at 25 ft."  # 25 ft are near nothing


def test_an_amount_too_small_to_show_is_said_to_be_small():
    finding = make_finding(template="It is {value} high.", value=(0.0004, "length"))
    assert sentence(finding, "us") == "It is less than 0.1 in high."
    assert sentence(finding, "metric") == "It is less than 1 mm high."
    nought = make_finding(template="It is {value} high.", value=(0.0, "length"))
    assert sentence(nought, "us") == "It is 0 in high."


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_kind_has_a_unit(kind, system):
    assert write(1.0, kind, system).unit
