"""The scale with its readings, and the beam: nothing cut or overlapping, everything said in words too."""

import pytest

from planner.records import Lever, Slip
from planner.show.drawings.weighing import draw_lever, draw_weighing
from tests.show.conftest import make_trailer, make_truck
from tests.show.reading import misplaced
from tests.show.test_snapshots import SLIP


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("towed", [True, False])
def test_every_reading_stands_there_and_in_words(system, towed):
    truck = make_truck()
    drawing = draw_weighing(SLIP, truck, make_trailer() if towed else None, truck.hitches[0] if towed else None, system)
    wanted = ("4,300 lb", "6,472 lb") if system == "us" else ("1,950 kg", "2,936 kg")
    assert all(number in drawing.svg and number in drawing.alt for number in wanted)
    assert misplaced(drawing) == []


def test_one_draft_is_said_to_be_of_all_the_truck():
    slip = Slip(name="Dump", alone={"truck": "7300 lb"}, hitched={"truck": "8160 lb", "trailer_axles": "6340 lb"})
    drawing = draw_weighing(slip, make_truck(), make_trailer(), make_truck().hitches[0], "us")
    assert "7,300 lb in all" in drawing.svg
    assert misplaced(drawing) == []


@pytest.mark.parametrize(
    "lever",
    [
        None,
        Lever(reading="310 lb"),
        Lever(tongue_arm="12 in", scale_arm="36 in"),
        Lever(reading="9900 lb", tongue_arm="36 in", scale_arm="12 in"),
    ],
)
def test_any_lever_is_drawn_with_its_caution(lever):
    drawing = draw_lever(lever, "us")
    assert "Block the wheels" in drawing.alt
    assert misplaced(drawing) == []
