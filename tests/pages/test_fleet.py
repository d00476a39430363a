"""The fleet on the Profiles page: where there is a choice, a list for one trailer, a matrix that sorts and filters."""

import re

import pytest

from tests.plans.any_fleet import write_yard


@pytest.fixture
def yard(folder, tab):
    """Open the fleet of four trucks and four trailers."""
    write_yard(folder, 4, 4)
    return tab().open("fleet-box")


def test_one_truck_has_no_fleet(folder, tab):
    for name in ("yard-truck", "skid-truck"):
        (folder / "trucks" / f"{name}.toml").unlink()
    assert "fleet-kind" not in {one.key for one in tab().open("fleet-box").at.selectbox}


def test_each_trailer_has_its_own_list_of_trucks(yard):
    said = set()
    for trailer in "0123":
        yard.at.selectbox(key="fleet-trailer").set_value(trailer)
        words = yard.run().words()
        assert re.search(r"([1-4] of 4 trucks take|No truck takes) it at [\d,]+ lb", words)
        said.add(yard.html())
        assert yard.html().count("<b>") >= 4
    assert len(said) == 4


def test_the_matrix_is_sorted_and_filtered(yard):
    (alt,) = [said for said in yard.pictures() if " takes " in said]
    yard.at.selectbox(key="fleet-order").set_value("name")
    (by_name,) = [said for said in yard.run().pictures() if " takes " in said]
    names = [part.split(" takes ")[0].strip() for part in by_name.split(".") if " takes " in part]
    assert names == sorted(names)
    yard.at.selectbox(key="fleet-kind").set_value("gooseneck")
    yard.at.checkbox(key="fleet-only").set_value(True)
    (some,) = [said for said in yard.run().pictures() if " takes " in said]
    assert len(some) < len(alt)
    assert "none of them" not in some
