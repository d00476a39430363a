"""The Air page: its answer, what it asks, what it says without an air supply."""

import re

import pytest

from .conftest import BROKEN, MILL, Tab


@pytest.fixture
def air(folder):
    return Tab("air", profile=MILL)


def told(tab):
    """Return the page's words without the marks that keep Markdown from them."""
    return tab.words().replace("\\", "")


def say(tab, label, text):
    """Type into a field by its label."""
    (found,) = (one for one in tab.at.text_input if one.label == label)
    found.set_value(text)
    return tab.run()


def test_the_answer_stands_on_top_with_the_tank_drawn(air):
    assert "The tank gives 2 hitching cycles before the compressor must run" in air.html()
    (tank,) = (one for one in air.pictures() if one.startswith("The tank's gauge after each move"))
    assert "lift 133 psi" in tank
    assert "Time at each corner" in [one.value for one in air.at.header]
    assert "plain steel tank" in air.html()
    assert BROKEN not in air.words()


def test_an_altitude_slows_the_compressor_and_stays_over_a_reload(air):
    before = next(one for one in air.words().splitlines() if one.startswith("Compressor"))
    say(air, "Altitude", "2400 m")
    after = next(one for one in air.words().splitlines() if one.startswith("Compressor"))
    assert before != after
    assert air.query["altitude"] == "2400 m"
    again = air.reloaded("air")
    assert after in again.words()
    say(again, "Altitude", "")
    assert before in again.words()
    assert "altitude" not in again.query


def test_weather_and_use_change_the_water(air):
    say(air, "Its humidity", "95 %")
    say(air, "Air drawn in", "86 F")
    say(air, "Hitched and unhitched, times a day", "6")
    words = air.words().replace("\\", "")
    assert "at 86 °F, 95 % humidity and 6 cycles a day" in words


@pytest.mark.parametrize(
    ("label", "text", "rule"),
    [
        ("Its humidity", "wet", "expected a share"),
        ("Its humidity", "140 %", "must be 0 % to 100 %"),
        ("Altitude", "20 psi", "expected a length"),
        ("Hitched and unhitched, times a day", "5000", "must be 0 to 1000 a day"),
    ],
)
def test_what_does_not_read_is_said_at_its_field(air, label, text, rule):
    say(air, label, text)
    assert rule in air.html()
    assert "as if nothing were typed" in air.html()
    assert "The tank gives 2 hitching cycles" in air.html()


def test_metric_is_metric(air):
    page = Tab("air", profile=MILL, units="metric")
    assert "psi" not in page.html() + "".join(page.pictures())


def test_without_air_in_its_file_the_truck_is_reckoned_with_typical_numbers_and_asked_for_its_own(folder):
    page = Tab("air", profile="slabs-on-friday")
    assert re.search(r"Air time \(typical\): clear [\d.]+–[\d.]+ s", told(page))
    assert "Typical ± 1.5 gal. Tanks that go under a pickup hold 2 to 10 gal; from memory." in page.html()
    assert "typical, not yet your own" in page.html()
    page.type("truck.air.tank_volume", "5 psi")
    assert "expected a volume" in page.html()
    assert "Last good answer" in page.html()
    assert "Air time (typical): clear" in told(page)


def test_numbers_of_ones_own_make_times_surer_and_are_saved_in_the_trucks_file(folder):
    page = Tab("air", profile="slabs-on-friday")

    def width():
        low, high = re.search(r"from empty in ([\d.]+)–([\d.]+) min", told(page)).groups()
        return float(high) / float(low)

    before = width()
    page.press("air-own-air.tank_volume").type("truck.air.cut_in", "90")
    assert width() < before
    assert "90 psi to 125 psi" in told(page)  # cut-out, still typical, goes along
    again = page.reloaded("air")
    assert "90 psi to 125 psi" in told(again)
    again.press("truck-save")
    saved = (folder / "trucks" / "yard-truck.toml").read_text("utf-8")
    assert 'cut_in = "90 psi"' in saved
    assert "air.cut_out" in saved
    assert "air.tank_volume" not in saved


def test_a_truck_alone_is_told_of_its_levelling(folder):
    page = Tab("air", profile="saw-crew-all-on-the-left")
    assert "nothing to hitch" in page.html()


def test_seconds_stand_at_each_stage_of_hitch_up(folder):
    words = Tab("hitch", profile=MILL).html()
    assert "Air: 0.75 ft³ of free air in 0.9 s; tank then at 133 psi" in words
    assert "Air: none needed, 1.5 s to let it out; tank then at 133 psi" in words
    assert words.count("Air: ") == 4
    typical = Tab("hitch", profile="slabs-on-friday").html()
    assert len(re.findall(r"Air \(typical\): [^<]*[\d.]+–[\d.]+ s", typical)) == 4


def test_a_change_over_says_how_long_its_air_takes(folder):
    Tab(profile=MILL)  # the last used
    page = Tab().open("change-box")
    assert "Air, all valves open at once: " in page.html()
    assert "; tank then at 1" in page.html()
    truck = folder / "trucks" / "ridge-truck.toml"
    truck.write_text(re.sub(r"(?s)\[air\].*?(?=\n\[|\Z)", "", truck.read_text("utf-8")), "utf-8")
    words = Tab().open("change-box").html()
    assert re.search(r"Air \(typical\), all valves open at once: [^<]*[\d.]+–[\d.]+ s", words)


def test_a_stall_is_said_on_top(folder):
    truck = folder / "trucks" / "ridge-truck.toml"
    truck.write_text(truck.read_text("utf-8").replace('tank_volume = "10 gal"', 'tank_volume = "0.5 gal"'), "utf-8")
    page = Tab("air", profile=MILL)
    assert "The tank runs short at lift" in page.html()
    assert "the rear stalls at" in page.html()
    assert "The tank feeds every move" not in page.html()


def test_the_leak_test_stands_here_too_with_the_rule_the_hole_and_the_wait(folder):
    page = Tab("air", profile="mill-bed-empty").open("leak-box")
    psi = {"front_left": 36, "front_right": 34, "rear_left": 37, "rear_right": 36}
    for when in ("before", "after"):
        for corner, pressure in psi.items():
            page.type(f"leak.{when}.{corner}", str(pressure - 12 * (when == "after" and corner == "rear_left")))
        page.type(f"leak.{when}.temperature", "50")
    page.type("leak.hours", "12 h")
    assert "A leak: rear left." in page.html()
    assert "is like a sharp-edged hole of" in page.html()
    assert "this passes" in page.html()
    page.type("leak.hours", "5 min").type("leak.rested", "3")
    assert "this fails" in page.html()
    assert "Too early: the first reading was 3 min after air went in." in page.html()


def test_a_cold_morning_and_a_pass_are_told_corner_by_corner(folder):
    page = Tab("air", profile=MILL).open("sealed-box")
    assert "It sinks by 0.5 in at the most, and no air is lost" in page.html()
    say(page, "Now at", "68 F")
    say(page, "Altitude now", "3000 m")
    assert "It rises by" in page.html()
    again = page.reloaded("air")
    assert "It rises by" in again.html()
    say(again, "Altitude now", "far")
    assert "expected a length" in again.html()


def test_other_tanks_and_compressors_stand_beside_the_ones_there_are(folder):
    page = Tab("air", profile=MILL).open("other-box")

    def cycles():
        (beside,) = (one for one in page.pictures() if one.startswith("as it is:"))
        return re.findall(r"cycles (\d+)", beside)

    assert cycles() == ["2", "4", "2", "4"]
    say(page, "Other tank, or tanks", "5 gal + 2 gal")
    assert cycles() == ["2", "1", "2", "1"]
    page = page.reloaded("air")
    assert cycles() == ["2", "1", "2", "1"]


def test_the_longest_move_is_drawn_against_time_and_another_where_it_is_chosen(folder):
    page = Tab("air", profile=MILL)
    assert [one for one in page.pictures() if one.startswith("Unhitch: front left")]
    page.at.selectbox(key="air-move").set_value("lift")
    assert [one for one in page.run().pictures() if one.startswith("Lift: front left")]
