"""An answer as a notebook shows it: whole, escaped, with nothing that runs or comes from outside."""

from base64 import b64decode
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from planner.show.text.numbers import sentence
from tests.show.conftest import COILS, make_answer, make_cargo, make_finding, make_setup, make_trailer, make_truck
from tests.show.drawings.test_top_view import HOSTILE

FOUND = (make_finding(), make_finding("note", "a", "{value} < & > {limit}"))

KINDS = {"div", "p", "b", "table", "caption", "tr", "td", "th", "ul", "li", "img"}


def answered(truck=None, findings=FOUND, **given):
    """Return an answer that knows of which truck it is."""
    setup = make_setup(truck, **given)
    return replace(make_answer(setup, findings=findings), setup=setup)


def read(answer):
    """Return what a notebook is given, as a tree, and its picture, as one."""
    page = ElementTree.fromstring(answer._repr_html_())  # noqa: S314  # made here
    (image,) = page.iter("img")
    kind, _, data = image.get("src").partition(",")
    assert kind == "data:image/svg+xml;base64"
    return page, ElementTree.fromstring(b64decode(data))  # noqa: S314  # made here


def texts(page, kind):
    return ["".join(one.itertext()) for one in page.iter(kind)]


def test_pressures_stance_and_findings_stand_beside_the_picture():
    answer = answered(trailer=make_trailer())
    page, picture = read(answer)
    assert texts(page, "b")[0] == "Test truck with Band mill on its receiver"
    assert texts(page, "th") == ["left", "right", "left tyre carries", "right tyre carries", "front", "rear"]
    assert texts(page, "td")[1:] == [
        *("38 psi", "37 psi", "2,047 lb", "1,988 lb"),
        *("46 psi", "39 psi", "2,449 lb", "2,215 lb"),
    ]
    assert texts(page, "p")[1] == "Stands front and rear level, no lean."
    said = [f"{mark} {sentence(one, 'us')}" for mark, one in zip(("Stop ■", "Note ○"), FOUND, strict=True)]
    assert [line.split(" ", 2)[2] for line in texts(page, "li")] == [line.split(" ", 2)[2] for line in said]
    assert [line.split(" ")[0] for line in texts(page, "li")] == ["Stop", "Note"]
    assert "38 psi" in "".join(picture.itertext())
    assert picture.tag.endswith("}svg")
    assert next(page.iter("img")).get("alt")


def test_steel_no_findings_and_shut_valves_are_said():
    page, _ = read(answered(make_truck(front=COILS), findings=()))
    assert texts(page, "td")[1] == "steel"
    assert "No findings." in texts(page, "p")
    answer = answered()
    page, _ = read(replace(answer, set=replace(answer.set, sealed=True)))
    assert texts(page, "caption") == ["Now reads, the valves shut, seen from above"]


def test_nothing_runs_and_nothing_comes_from_outside():
    page, picture = read(answered(cargo=[make_cargo()]))
    for one in (one for part in (page, picture) for one in part.iter()):
        assert one.tag.rpartition("}")[2] not in {"script", "style", "link", "iframe", "object", "foreignObject", "a"}
        assert not any(name.startswith("on") for name in one.attrib)
        assert not any("//" in value for name, value in one.attrib.items() if name != "src")


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_text(name):
    truck = make_truck().model_copy(update={"name": name})
    page, _ = read(answered(truck, cargo=[make_cargo(name)]))
    assert {one.tag for one in page.iter()} == KINDS
    assert texts(page, "b")[0].endswith(", no trailer")


def test_an_answer_of_no_known_truck_has_its_short_form_only():
    bare = replace(answered(), setup=None)
    assert bare._repr_html_() is None
    assert bare._repr_svg_() is None
