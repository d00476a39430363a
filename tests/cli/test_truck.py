"""`planner truck new`: the questions of the truck's form in the terminal, and from a file of answers."""

import pytest
from click.testing import CliRunner

from planner.cli import planner
from planner.store import Store

ANSWERS = """
name = "Long haul"
gvwr = "11500 lb"
[front]
gawr = "6000 lb"
tyres = { size = "LT245/75R17 121/118S", cold_pressure = "80 psi" }
ride_height = "21 in"
[rear]
gawr = "7000 lb"
built = "bag over leaf"
[kerb]
front_axle = "4380 lb"
rear_axle = "3120 lb"
[aboard]
driver = "200 lb"
"fuel tank" = "50 %"
[[hitches]]
behind = "54 in"
height = "19.5 in"
[[hitches]]
coupling = "gooseneck"
height = "40 in"
"""


@pytest.fixture
def run(tmp_path):
    def run(*arguments, typed=None):
        found = CliRunner().invoke(planner, ["truck", "new", "--profiles", str(tmp_path), *arguments], input=typed)
        if found.exception is not None and not isinstance(found.exception, SystemExit | ValueError):
            raise found.exception
        return found

    return run


def test_a_file_of_answers_makes_a_truck(run, tmp_path):
    (tmp_path / "answers.toml").write_text(ANSWERS, "utf-8")
    found = run("--from", str(tmp_path / "answers.toml"))
    assert found.exit_code == 0, found.output
    assert "Long haul is in" in found.output
    assert "typical, not yet your own" in found.output
    truck = Store(tmp_path).read_truck("long-haul")
    assert truck.gvwr.text == "11500 lb"
    assert truck.rear.steel_load > 0
    assert truck.front.tyres.size == truck.rear.tyres.size == "LT245/75R17 121/118S"
    assert [one.coupling for one in truck.hitches] == ["ball", "gooseneck"]
    assert truck.hitches[0].x.text == "-54 in"
    assert {one.place: one.weight or one.share for one in truck.kerb.aboard}["fuel tank"] == 0.5


def test_every_answer_that_cannot_be_used_is_told_at_once_and_nothing_is_written(run, tmp_path):
    file = tmp_path / "answers.toml"
    file.write_text(
        ANSWERS.replace('"6000 lb"', '"6 bar"').replace("ride_height", "ride_hight") + "colour = 1\n", "utf-8"
    )
    found = run("--from", str(file))
    words = str(found.exception)
    assert "front.gawr" in words
    assert "6 bar" in words
    assert "did you mean front.ride_height?" in words
    assert "hitches.1.colour" in words
    assert Store(tmp_path).trucks() == []


@pytest.mark.parametrize(
    ("was", "typed", "told"),
    [
        ('"54 in"', '"-54 in"', '>= 0 from it to the rear, got "-54 in": write "54 in", or'),
        (
            '"4380 lb"',
            '"6400 lb"',
            'kerb.front_axle: GAWR: must be >= the kerb weight on that axle ("6400 lb"), got "6',
        ),
        ('over leaf"', 'over leaf"\nsteel_load = "5000 lbf"', 'least is "10 psi": steel_load ("5000 lbf") is too high'),
    ],
)
def test_what_is_told_of_an_answer_is_its_own_remedy_with_the_numbers(run, tmp_path, was, typed, told):
    """The typed text stood where the number stands that it contradicts, and a ball was sent back to where it was."""
    file = tmp_path / "answers.toml"
    file.write_text(ANSWERS.replace(was, typed), "utf-8")
    assert told in str(run("--from", str(file)).exception)


def test_a_name_that_is_taken_is_refused(run, tmp_path):
    (tmp_path / "answers.toml").write_text(ANSWERS, "utf-8")
    assert run("--from", str(tmp_path / "answers.toml")).exit_code == 0
    before = (tmp_path / "trucks/long-haul.toml").read_bytes()
    again = run("--from", str(tmp_path / "answers.toml"))
    assert again.exit_code != 0
    assert "long-haul" in str(again.exception)
    assert (tmp_path / "trucks/long-haul.toml").read_bytes() == before
    assert run("--from", str(tmp_path / "answers.toml"), "--name", "Second").exit_code == 0


def test_the_terminal_asks_again_goes_back_and_leaves_what_is_not_known(run, tmp_path):
    typed = ["11500", "back", "12,000", "six thousand", "6000", "?", *[""] * 60]
    found = run("--name", "Asked", typed="\n".join(typed))
    assert found.exit_code == 0, found.output
    assert "What does the door label say?" in found.output
    assert "✗" in found.output
    truck = Store(tmp_path).read_truck("asked")
    assert truck.gvwr.text == "12000 lb"
    assert truck.front.gawr.text == "6000 lb"
    assert "rear.gawr" in truck.typical


def test_who_stops_midway_leaves_nothing_behind(run, tmp_path):
    found = run("--name", "Half", typed="11500\n")
    assert found.exit_code != 0
    assert Store(tmp_path).trucks() == []


def test_the_air_is_skipped_by_one_enter_or_told_number_by_number(run, tmp_path):
    typed = [""] * 200
    found = run("--name", "Plain", typed="\n".join(typed))
    assert "Enter skips all of the air" in found.output
    assert "Cut-in" not in found.output
    assert Store(tmp_path).read_truck("plain").air is None
    (tmp_path / "answers.toml").write_text(
        ANSWERS + '[air]\ntank_volume = "8 gal"\nchart = "0 1.8 / 150 0.7"\n', "utf-8"
    )
    assert run("--from", str(tmp_path / "answers.toml")).exit_code == 0
    air = Store(tmp_path).read_truck("long-haul").air
    assert [one.text for one in air.delivery] == ["1.8 ft**3/min", "0.7 ft**3/min"]
