"""The Weigh page: slips typed, told at once, kept, saved, used and undone."""

import re
from html import unescape

import pytest

from planner.store import SLIP, TRAILER, TRUCK
from tests.pages.conftest import MILL, Tab

QUARRY = "band-mill-at-the-quarry"


def figures(page):
    """Return the numbers in large type."""
    found = next(body for one in page.at.get("html") if 'class="figures"' in (body := one.proto.body))
    return re.findall(r"<b>(.*?)</b>", found.split("</dl>")[0])


@pytest.fixture
def quarry(tab, folder):
    return tab("weigh", slip=QUARRY)


def test_the_answer_stands_on_top_with_how_sure_it_is(quarry):
    assert figures(quarry) == ["865", "7,213", "12"]
    assert "± 21 lb" in quarry.html()
    assert "usual 10 to 15 %" in quarry.html()
    assert "The tongue is in its usual range." in quarry.html()
    assert "Still unknown: what bars put back. Weigh the same with the bars set." in quarry.html()
    assert any("Hitched, bars slack: front axle 4,020 lb" in words for words in quarry.pictures())


def test_a_new_slip_is_of_the_profiles_truck_and_is_told_as_it_is_typed(tab, folder):
    page = tab("weigh", profile=MILL)
    assert "Nothing weighed yet" in page.html()
    assert page.field("slip.truck").value == "ridge-truck"
    for key, text in (
        ("alone.front_axle", "4300"),
        ("alone.rear_axle", "3000 lb"),
        ("hitched.front_axle", "4020 lb"),
        ("hitched.rear_axle", "4140 lb"),
    ):
        page.type(f"slip.{key}", text)
    assert figures(page)[0] == "857"
    assert "Still unknown: the trailer" in unescape(page.html())
    again = page.reloaded("weigh")
    assert again.field("slip.alone.front_axle").value == "4300 lb"
    assert figures(again)[0] == "857"


def test_what_contradicts_is_said_where_it_was_typed_and_the_last_answer_stays(quarry):
    quarry.type("slip.hitched.rear_axle", "2140 lb")
    assert "must not weigh less hitched than alone" in quarry.html()
    assert "Last good answer" in quarry.html()
    assert figures(quarry)[0] == "865"
    assert quarry.field("slip.hitched.rear_axle").value == "2140 lb"


def test_it_is_saved_under_a_name_and_opened_again(tab, folder, store):
    page = tab("weigh", profile=MILL).type("slip.alone.front_axle", "4300 lb").type("slip.saving.name", "Grain scale")
    page.press("slip-save-as")
    assert page.query["slip"] == "grain-scale"
    assert store.read(SLIP, "grain-scale").alone.front_axle.text == "4300 lb"
    assert page.type("slip.alone.rear_axle", "3000 lb").press("slip-save").errors() == ""
    assert store.read(SLIP, "grain-scale").alone.rear_axle.text == "3000 lb"


def test_use_this_writes_what_is_ticked_and_is_undone(quarry, store):
    quarry.at.checkbox(key="use-kerb").uncheck()
    quarry.press("use-slip")
    assert "Band mill: now as weighed" in quarry.words()
    assert store.read(TRAILER, "band-mill").gross_weight.text == "7213 lb"
    assert store.read(TRUCK, "ridge-truck").kerb.front_axle.text == "4300 lb"
    quarry.press("undo")
    assert store.read(TRAILER, "band-mill").gross_weight.text == "7200 lb"
    assert store.read(TRAILER, "band-mill").weighings == ()


def test_both_files_are_written_together(quarry, store):
    quarry.press("use-slip")
    assert "Band mill and Ridge truck: now as weighed" in quarry.words()
    assert store.read(TRUCK, "ridge-truck").kerb.front_axle.text == "4302 lb"
    assert store.read(TRUCK, "ridge-truck").weighings[-1].source.startswith("Band mill at the quarry")


def test_nothing_ticked_is_said(quarry):
    for one in quarry.at.checkbox:
        one.uncheck()
    quarry.run().press("use-slip")
    assert "tick what is to be written" in quarry.errors().lower()


@pytest.mark.parametrize(("way", "field"), [("pads", "alone.front_left"), ("jack", "trailer_alone.jack")])
def test_other_ways_in(quarry, way, field):
    control = next(one for one in quarry.at.get("button_group") if (one.key or "").startswith("weigh-way"))
    control.set_value(way).run()
    quarry.type(f"slip.{field}", "880 lb") if way == "jack" else quarry.type(f"slip.{field}", "2160 lb")
    assert not quarry.at.exception
    if way == "jack":
        assert "By the jack on the scale: 880 lb" in quarry.html()
        assert "Block the wheels" in quarry.html()


def test_the_beam_tells_the_tongue(tab, folder):
    page = tab("weigh", profile=MILL)
    control = next(one for one in page.at.get("button_group") if (one.key or "").startswith("weigh-way"))
    control.set_value("beam").run()
    assert any("bathroom scale at its right end" in words for words in page.pictures())
    assert "Nobody under the tongue" in page.html()
    for key, text in (("reading", "310 lb"), ("beam", "10 lb"), ("tongue_arm", "12 in"), ("scale_arm", "36 in")):
        page.type(f"slip.lever.{key}", text)
    assert figures(page) == ["900"]


def test_a_truck_that_is_not_there_is_said_and_the_slip_told_without_it(quarry, folder, tab):
    path = folder / "slips" / f"{QUARRY}.toml"
    path.write_text(path.read_text().replace("ridge-truck", "no-such"))
    page = tab("weigh", slip=QUARRY)
    assert "no truck has that name" in page.errors()
    assert figures(page)[0] == "873"


def test_deleted_and_put_back(quarry, store):
    quarry.press("slip-delete")
    assert store.slugs(SLIP) == []
    quarry.press("undo")
    assert store.slugs(SLIP) == [QUARRY]


def test_units_switch(tab, folder):
    page = tab("weigh", slip=QUARRY, units="metric")
    assert figures(page)[0] == "392"


def test_the_bags_are_a_scale_where_there_is_none(folder, store):
    page = Tab("weigh", profile="mill-bed-empty").open("bags-box")
    for when, gauges, height in (
        ("before", ("36", "24", "24", "35"), "20"),
        ("after", ("36", "37", "36", "34"), "20.2"),
    ):
        for corner, pressure in zip(("front_left", "rear_left", "rear_right", "front_right"), gauges, strict=True):
            page.type(f"bags.{when}.{corner}.pressure", pressure).type(f"bags.{when}.{corner}.height", height)
    assert "lb on the hitch, ±" in page.html()
    assert "Rear axle, came on" in page.html()
    was = store.read(TRAILER, "band-mill")
    page.press("use-bags-ratio")
    assert "Band mill: now as weighed" in page.words()
    now = store.read(TRAILER, "band-mill")
    assert 0.05 < now.tongue_ratio < 0.2
    assert now.tongue_ratio != was.tongue_ratio
    assert now.spread["tongue_ratio"] > 0.005
    assert now.weighings[-1].source == "bags as a scale, Mill, bed empty"
    page.press("undo")
    assert store.read(TRAILER, "band-mill") == was
    chosen = next(one for one in page.at.get("button_group") if one.key and one.key.startswith("bags.hooked"))
    chosen.set_value("cargo")
    page.run()
    assert "lb came on, ±" in page.html()
    assert page.reloaded("weigh").field("bags.after.rear_left.pressure").value == "37 psi"
    page.press("bags-clear")
    assert page.field("bags.after.rear_left.pressure").value == ""


def test_the_bags_say_what_they_cannot_see(folder):
    page = Tab("weigh", profile="slabs-on-friday").open("bags-box")
    page.type("bags.after.rear_left.pressure", "60").type("bags.after.rear_left.height", "20.5")
    assert "Steel carries the front axle" in page.html()
    assert "share one line" in page.html()
    assert "Read it before as well" in page.html()
