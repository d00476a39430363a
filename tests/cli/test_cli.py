"""The commands, as typed: output, JSON, exit codes, one clear line for what is wrong."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from planner import cli
from planner.plans.answer import CORNERS

DEMO = Path(__file__).parents[2] / "profiles"
PROFILES = sorted(path.stem for path in DEMO.glob("*.toml"))


@pytest.fixture
def folder(tmp_path):
    """Return a copy of the demo."""
    return Path(shutil.copytree(DEMO, tmp_path / "profiles"))


@pytest.fixture
def run(folder, capsys):
    """Return a function that runs the command line on the copy and gives exit code, output and errors."""

    def command(*arguments):
        with pytest.raises(SystemExit) as end:
            cli.main(["--profiles", str(folder), *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return end.value.code, out, err

    return command


def _object(run, *arguments):
    code, out, _ = run(*arguments, "--json")
    return code, json.loads(out, parse_constant=pytest.fail)


def test_list_has_a_line_for_each_profile_and_for_a_damaged_one(run, folder):
    (folder / "broken.toml").write_text("schema = 1\nname = ", "utf-8")
    code, out, _ = run("list")
    assert code == 0
    lines = out.splitlines()
    assert [line.split()[0] for line in lines] == sorted([*PROFILES, "broken"])
    assert "is not valid TOML" in out


def test_list_has_pressures_as_they_were_saved(run, folder):
    file = folder / "weekly-mill-run.toml"
    file.write_text(file.read_text("utf-8").replace('"48 psi"', '"48.5 psi"'), "utf-8")
    line = next(one for one in run("list")[1].splitlines() if one.startswith("weekly-mill-run"))
    assert "front left 18 psi" in line
    assert "rear left 48.5 psi" in line
    assert "rear left 3.34 bar" in run("list", "--units", "metric")[1]


def test_list_of_an_empty_folder_says_what_to_do(run, folder):
    for path in folder.glob("*.toml"):
        path.unlink()
    assert run("list")[1].startswith("No profiles here yet")


@pytest.mark.parametrize("profile", PROFILES)
def test_level_json_has_every_key_and_no_nan(run, profile):
    code, answer = _object(run, "level", profile)
    assert code == (1 if any(finding["level"] == "stop" for finding in answer["findings"]) else 0)
    assert set(answer["pressure"]) == set(answer["set"]["pressure"]) == set(CORNERS)
    assert {"front", "rear", "roll"} == set(answer["stance"]) == set(answer["set"]["stance"])
    assert set(answer) >= {
        "profile", "pressure", "set", "bag_height", "spring_load", "tyre_load", "axle_load", "hitch_load",
        "trailer_axle_load", "side_moment", "stance", "coupling_height", "level", "findings",
    }  # fmt: skip
    for finding in answer["findings"]:
        assert {"level", "code", "text", "value", "limit"} <= set(finding)


def test_a_corner_without_a_bag_is_null(run):
    _, answer = _object(run, "level", "slabs-on-friday")
    assert answer["pressure"]["front_left"] is None
    assert answer["bag_height"]["front_right"] is None
    assert answer["spring_load"]["front_left"] > 0


def test_a_profile_is_found_by_file_name_by_name_and_by_path(run, folder):
    answers = [
        _object(run, "level", name)[1]
        for name in ("mill-bed-empty", "Mill, bed empty", str(folder / "mill-bed-empty.toml"))
    ]
    assert answers[0] == answers[1]
    assert answers[0]["pressure"] == answers[2]["pressure"]


def test_units_are_chosen_by_the_command_or_before_it(run):
    assert " psi" in run("level", "mill-bed-empty")[1]
    assert " bar" in run("level", "mill-bed-empty", "--units", "metric")[1]
    assert " bar" in run("--units", "metric", "level", "mill-bed-empty")[1]
    assert " psi" in run("--units", "metric", "level", "mill-bed-empty", "--units", "us")[1]


def test_settle_as_planned_is_level(run):
    planned, sits = (_object(run, command, "mill-on-the-hill-road")[1] for command in ("level", "settle"))
    assert sits["stance"] == pytest.approx(planned["stance"], abs=1e-9)
    assert sits["pressure"] == pytest.approx(planned["pressure"])


def test_settle_takes_pressures(run):
    _, sits = _object(run, "settle", "mill-on-the-hill-road", "--rear-left", "3.5 bar", "--rear-right", "2,5 bar")
    assert sits["pressure"]["rear_left"] == pytest.approx(350e3)
    assert sits["pressure"]["rear_right"] == pytest.approx(250e3)
    assert sits["stance"]["roll"] > 0


def test_settle_sealed_takes_temperature_altitude_and_load_off(run):
    _, cold = _object(run, "settle", "mill-bed-empty", "--sealed", "--temperature", "-5 degC")
    _, same = _object(
        run, "settle", "mill-bed-empty", "--sealed", "--temperature", "41 degF", "--set-temperature", "5 degC"
    )
    _, high = _object(run, "settle", "mill-bed-empty", "--sealed", "--altitude", "2400 m")
    _, free = _object(run, "settle", "mill-on-the-hill-road", "--sealed", "--without-trailer", "--without-cargo")
    assert cold["stance"]["rear"] < -0.005
    assert same["stance"]["rear"] == pytest.approx(0, abs=1e-9)
    assert high["stance"]["rear"] > 0.005
    assert free["hitch_load"] == 0
    assert free["stance"]["rear"] > 0.01


def test_hitch_prints_the_four_stages_as_text_and_as_an_object(run):
    code, out, _ = run("hitch", "mill-on-the-hill-road")
    assert code == 0
    assert [line[0] for line in out.splitlines() if line[3:].startswith(("CLEAR", "MEET", "LIFT", "TOW"))] == list(
        "1234"
    )
    timed = re.findall(r"^  Air: .* (\d+\.\d s)\b", out, re.MULTILINE)
    assert f"clear {timed[0]}, meet {timed[1]}, lift {timed[2]}, tow" in run("air", "mill-on-the-hill-road")[1]
    assert len(timed) == 5  # and unhitching
    code, plan = _object(run, "hitch", "slabs-on-friday")
    assert code == 1  # its trailer is overloaded
    assert [stage["name"] for stage in plan["stages"]] == ["clear", "meet", "lift", "tow"]
    assert plan["stages"][0]["pressure"]["front_left"] is None


def test_hitch_says_where_its_seconds_are_typical(run):
    assert run("hitch", "weekly-mill-run")[1].count("  Air (typical): ") == 5


def test_check_finds_nothing_wrong_with_the_demo(run):
    assert run("check") == (0, "No problem found.\n", "")


def test_check_tells_every_problem_of_every_file_at_once(run, folder):
    truck = folder / "trucks/ridge-truck.toml"
    text = truck.read_text("utf-8")
    text = text.replace('wheelbase = "158 in"', 'whelbase = "158 in"').replace('gcwr = "26000 lb"', "gcwr = 26000")
    truck.write_text(text.replace('fitted_height = "6 in"', 'fitted_height = "9 in"', 1), "utf-8")
    (folder / "trailers/band-mill.toml").write_text("name = 3", "utf-8")
    code, out, err = run("check")
    assert (code, out) == (2, "")
    for part in ("did you mean wheelbase", "gcwr", "front.bag.fitted_height", "band-mill.toml", "axle_distance"):
        assert part in err
    assert "ridge-truck.toml" in run("check", str(truck))[2]


def test_check_asks_about_what_may_be_a_slip_and_passes(run, folder):
    truck = folder / "trucks/ridge-truck.toml"
    text = truck.read_text("utf-8").replace('ride_height = "20 in"', 'ride_height = "16 in"', 1)
    truck.write_text(text, "utf-8")
    code, out, err = run("check")
    asked, last = out.splitlines()
    assert (code, err, last) == (0, "", "No problem found.")
    assert asked.startswith("caution: trucks/ridge-truck.toml: front.ride_height: the arch lip would be 0.6 in under ")


@pytest.mark.parametrize("name", ["trucks/ridge-truck.toml", "trailers/log-deck.toml", "mill-bed-empty.toml"])
def test_check_knows_what_a_file_is(run, folder, name):
    assert run("check", str(folder / name))[0] == 0


def test_check_knows_a_truck_and_a_trailer_outside_their_folders(run, folder, tmp_path):
    for name in ("trucks/ridge-truck.toml", "trailers/log-deck.toml"):
        loose = tmp_path / Path(name).name
        shutil.copy(folder / name, loose)
        assert run("check", str(loose))[0] == 0


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        (["level", "mill-bed-emtpy"], ["mill-bed-emtpy", "did you mean mill-bed-empty"]),
        (["level", "../../etc/passwd"], ["no profile has that name"]),
        (["level", "nowhere/else.toml"], ["nowhere/else.toml"]),
        (["level"], ["Missing argument", "PROFILE"]),
        (["levle", "x"], ["levle"]),
        (["settle", "mill-bed-empty", "--front-left", "9**9**9 m"], ["--front-left", "62 psi"]),
        (["settle", "mill-bed-empty", "--front-left", "40 in"], ["--front-left", "expected a pressure"]),
        (["settle", "mill-bed-empty", "--front-left", "-4 psi"], ["front_left", '>= 0, got "-4 psi"']),
        (["settle", "mill-bed-empty", "--temperature", "4 degC"], ["--temperature", "add --sealed"]),
        (["settle", "mill-bed-empty", "--sealed", "--altitude", "90 km"], ["--altitude"]),
        (
            ["settle", "mill-bed-empty", "--sealed", "--altitude", "9001 m"],
            ["--altitude: must be -500 m to 9000 m"],
        ),
        (
            ["settle", "mill-bed-empty", "--sealed", "--set-altitude", "-2000 ft"],
            ["--set-altitude: must be -1640"],
        ),
        (
            ["settle", "mill-bed-empty", "--sealed", "--temperature", "20 K"],
            ["--temperature: must be 213.15 K to"],
        ),
        (
            ["settle", "mill-bed-empty", "--sealed", "--set-temperature", "150 degF"],
            ['--set-temperature: must be -76 degF to 140 degF, got "150 degF": check the number and its unit'],
        ),
        (["settle", "mill-bed-empty", "--sealed", "--temperature", "-300 degC"], ["temperature"]),
        (["settle", "slabs-on-friday", "--front-left", "40 psi"], ["no bag", 'got "40 psi"']),
        (
            ["settle", "slabs-on-friday", "--rear-left", "40 psi", "--rear-right", "41 psi"],
            ["share one line", 'got "40 psi" and "41 psi"'],
        ),
        (["hitch", "saw-crew-all-on-the-left"], ["trailer", "is needed for hitching"]),
        (["check", "no-such.toml"], ["no-such.toml", "is not there"]),
        (["--units", "imperial", "list"], ["--units"]),
    ],
)
def test_what_is_wrong_is_one_clear_line(run, arguments, parts):
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    for part in parts:
        assert part in err


def test_a_folder_that_is_not_there_is_told(capsys):
    with pytest.raises(SystemExit) as end:
        cli.main(["--profiles", "/no/such/folder", "list"])
    assert end.value.code == 2
    assert "--profiles" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (ArithmeticError("no rest found"), "no rest"),
        (OSError(28, "No space left"), "No space"),
        (KeyboardInterrupt(), "stop"),
    ],
)
def test_no_traceback_reaches_a_person(run, monkeypatch, error, said):
    def fail(*_):
        raise error

    monkeypatch.setattr("planner.plans.level.level_setup", fail)
    code, _, err = run("level", "mill-bed-empty")
    assert code == 2
    assert said in err


@pytest.mark.parametrize(
    "command", [("list",), ("check",), ("check", "{path}"), ("level", "{path}"), ("card", "{path}")]
)
def test_what_a_file_s_name_holds_is_no_command_to_the_terminal(run, folder, command):
    path = folder / "\x1b]0;mine\x07\x1b[2J.toml"
    path.write_text("schema = 1\nname = ", "utf-8")
    more = ("--out", str(folder / "\x1b[2J.pdf")) if command[0] == "card" else ()
    _, out, err = run(*(part.format(path=path) for part in command), *more)
    assert "\x1b" not in out + err
    assert "\x07" not in out + err
    assert r"\u001b" in out + err or command == ("list",)


def test_a_card_may_go_to_a_file_of_any_name(run, folder):
    code, out, _ = run("card", "mill-bed-empty", "--out", str(folder / "\x1b[2J.html"))
    assert code == 0
    assert "\x1b" not in out
    assert r"\u001b[2J.html: Mill, bed empty" in out


def test_help_starts_without_the_heavy_libraries():
    probe = (
        "import sys; from planner.cli import main\n"
        "try: main(['--help'])\n"
        "finally: print(sorted({'streamlit', 'numpy', 'pint', 'pydantic'} & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


def test_level_runs_without_streamlit():
    probe = (
        "import sys; from planner.cli import main\n"
        f"try: main(['--profiles', {str(DEMO)!r}, 'level', 'mill-bed-empty'])\n"
        "except SystemExit: print('streamlit' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "False"


def test_a_reader_that_has_had_enough_ends_it_quietly():
    pipe = f"{sys.executable} -m planner --profiles {DEMO} level mill-bed-empty | head -n 1"
    done = subprocess.run(["bash", "-c", pipe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "Mill, bed empty"
    assert "Traceback" not in done.stderr


def _saved_at_130_psi(folder):
    path = folder / "mill-on-the-hill-road.toml"
    pressures = {"front_left": "38 psi", "front_right": "37 psi", "rear_left": "130 psi", "rear_right": "40 psi"}
    lines = "".join(f'{corner} = "{value}"\n' for corner, value in pressures.items())
    path.write_text(f"{path.read_text('utf-8')}\n[pressures]\n{lines}", "utf-8")
    return path


def test_settle_shows_a_pressure_past_its_limit_as_given_and_says_stop(run):
    code, out, _ = run("settle", "mill-on-the-hill-road", "--rear-left", "130 psi")
    assert code == 1
    rear = next(line for line in out.splitlines() if line.split()[:1] == ["rear"])
    assert rear.split()[:3] == ["rear", "130", "psi"]
    assert "Stop ■     The rear left bag is at 130 psi, above its greatest pressure of 100" in out
    code, answer = _object(run, "settle", "mill-on-the-hill-road", "--rear-left", "130 psi")
    assert code == 1
    assert answer["set"]["pressure"]["rear_left"] == pytest.approx(130 * 6894.757, rel=1e-6)
    assert answer["set"]["stance"] == pytest.approx(answer["stance"])
    assert answer["converged"] is True


def test_check_tells_of_a_saved_pressure_past_its_limit(run, folder):
    path = _saved_at_130_psi(folder)
    for arguments in ((), (str(path),)):
        code, out, err = run("check", *arguments)
        assert (code, out) == (2, "")
        assert len(err.splitlines()) == 1
        for part in (path.name, "pressures.rear_left", '"130 psi"', 'greatest_pressure of the rear bag ("100 psi")'):
            assert part in err


def test_a_profile_saved_past_a_limit_is_listed_and_carried_as_saved(run, folder, tmp_path):
    _saved_at_130_psi(folder)
    line = next(line for line in run("list")[1].splitlines() if line.startswith("mill-on-the-hill-road"))
    assert "rear left 130 psi" in line
    out = tmp_path / "card.html"
    assert run("card", "mill-on-the-hill-road", "--out", str(out))[0] == 1
    page = out.read_text("utf-8")
    assert "130</b>" in page
    assert "100</b>" not in page
    assert "The rear left bag is at 130 psi, above its greatest pressure of 100 psi" in page


def test_valves_shut_says_what_the_gauges_now_read(run):
    out = run("settle", "mill-bed-empty", "--sealed", "--temperature", "-5 degC")[1]
    assert "Now reads, the valves shut, as the truck stands seen from above" in out
    assert "Set, as" not in out
    assert "Set, as the truck stands" in run("settle", "mill-bed-empty")[1]
    words = "-5 degC is where the air is, not what is to be set"
    assert "to set" not in out, words
