"""Who is aboard and cargo at places, on the Level page: typed, marked, saved, taken back, there after a reload."""

import re

import pytest

from planner.front.shell import navigation

from .conftest import MILL

PAGE = """
from planner.front.level import aboard, answer, cargo, inputs, profile_saving
from planner.front.session import state
from planner.front.shell import page_header

state.open_any()
page_header.draw_page_header()
shown = answer.find_answer()
inputs.draw_pickers()
cargo.draw_cargo_table()
aboard.draw_aboard_box()
profile_saving.draw_saving(None if shown is None or shown.stale else shown.answer)
"""


@pytest.fixture
def page(folder, tab, tmp_path, monkeypatch):
    """A page with cargo and who is aboard, on the mill, and no more."""
    pages = tmp_path / "pages"
    pages.mkdir()
    for name in navigation.TITLES:
        (pages / f"{name}.py").write_text(PAGE, "utf-8")
    monkeypatch.setattr("planner.front.shell.places.pages", lambda: pages)
    return tab("level", profile=MILL)


def boxes(page):
    """What can be opened, as it reads."""
    return [re.sub(r"\\(.)", r"\1", one.label) for one in page.at.expander]


def test_all_is_as_weighed_until_something_is_typed(page):
    assert "Aboard: as weighed" in boxes(page)
    assert page.field("aboard.driver").placeholder == "190 lb as weighed"
    assert page.field("aboard.passenger").placeholder == "empty"
    assert "as-weighed" not in page.buttons()


def test_who_is_aboard_is_typed_told_and_saved(page, store):
    page.type("aboard.passenger", "180").type("aboard.fuel tank", "50 %")
    assert "Aboard: passenger 180 lb, fuel tank 50 %" in boxes(page)
    assert "taken as 180 lb" in page.html()
    assert re.search(r"In all \d+ lb more than when the truck was weighed", page.html())
    before = (store.folder / f"{MILL}.toml").read_text("utf-8")
    page.press("save")
    after = (store.folder / f"{MILL}.toml").read_text("utf-8")
    tables = ('[[aboard]]\nplace = "passenger"\nweight = "180 lb"\n', '[[aboard]]\nplace = "fuel tank"\nshare = 0.5\n')
    assert all(table in after for table in tables)
    lines = iter(after.splitlines())
    assert all(line in lines for line in before.splitlines())  # in their order, as they stood
    assert [one.place for one in store.read_profile(MILL).aboard] == ["passenger", "fuel tank"]


def test_a_bad_value_is_marked_where_it_was_typed_and_is_there_after_a_reload(page):
    page.type("aboard.passenger", "50 %")
    assert "a share needs to know what" in re.findall(r'<p class="wrong" role="alert">.*', page.html())[0]
    assert "Aboard: as weighed ✗" in boxes(page)
    again = page.reloaded("level")
    assert again.field("aboard.passenger").value == "50 %"
    assert "a share needs to know what" in again.html()


def test_all_as_weighed_can_be_taken_back(page):
    page.type("aboard.passenger", "180 lb").press("as-weighed")
    assert "Aboard: as weighed" in boxes(page)
    assert page.field("aboard.passenger").value == ""
    page.press("undo")
    assert page.field("aboard.passenger").value == "180 lb"


def test_cargo_is_put_at_a_place_by_its_name(page, store):
    page.type("cargo.0.at", "tool box")
    assert any(label.startswith("**Fuel drum**") and label.endswith("at tool box") for label in boxes(page))
    assert not any((one.key or "").startswith("cargo.0.x-") for one in page.at.text_input)
    page.press("save")
    assert store.read_profile(MILL).cargo[0].at == "tool box"
    page.type("cargo.0.at", "")
    assert page.field("cargo.0.x").value.endswith(" in")


def test_a_waiting_row_is_added_at_a_place(page):
    page.type("added.name", "Winch").type("added.weight", "90 lb").type("added.at", "tool box").press("add")
    assert any("Winch" in label and label.endswith("90 lb, at tool box") for label in boxes(page))


def test_a_place_that_the_truck_does_not_have_is_marked_and_can_be_emptied(folder, page, tab):
    path = folder / f"{MILL}.toml"
    text = path.read_text("utf-8").replace('x = "12 in"\ny = "15 in"', 'at = "jump seat"')
    path.write_text(text + '\n[[aboard]]\nplace = "dog box"\nweight = "60 lb"\n', "utf-8")
    lost = tab("level", profile=MILL)
    wrong = re.findall(r'<p class="wrong" role="alert">.*', lost.html())
    assert any("Lies at" in one and "jump seat" in one for one in wrong)
    assert any("Dog box" in one for one in wrong)
    lost.type("cargo.0.at", "passenger").type("aboard.dog box", "")
    assert not re.findall(r'<p class="wrong" role="alert">.*', lost.html())
