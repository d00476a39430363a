"""The README's two commands are what new users and CI run."""

import re
import tomllib
from pathlib import Path

import click
import pytest

from planner.cli import planner
from planner.plans.weighing import weigh
from planner.records import Profile, Slip, aboard_change_of, check_together, read_record
from planner.records.slip import with_defaults
from planner.store import Store

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)


def test_the_first_two_blocks_are_one_command_each():
    assert len(BLOCKS) == 2
    assert all(len(block.strip().splitlines()) == 1 for block in BLOCKS)


def test_ci_calls_the_test_command_as_it_stands_in_the_readme():
    assert (ROOT / ".ci/run").read_text("utf-8").splitlines()[-1] == BLOCKS[1].strip()


@pytest.mark.parametrize("name", sorted(planner.commands))
def test_every_command_is_told_of_and_has_help(name):
    assert f"planner {name}" in README
    command = planner.commands[name]
    assert command.help
    assert all(option.help for option in command.params if isinstance(option, click.Option))


@pytest.mark.parametrize("target", re.findall(r"\]\(([^)#:]+)\)", README))
def test_every_file_linked_to_is_there(target):
    assert (ROOT / target).is_file()


def test_the_library_s_examples_run_as_they_stand(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    names = {}
    for example in re.findall(r"```python\n(.*?)```", README, re.DOTALL):
        exec(example, names)  # noqa: S102  # it is our own README
    assert names["answer"].pressure[0, 0] > 0
    assert capsys.readouterr().out.startswith("<Answer: set front left ")
    assert names["many"].pressure.shape == (100_000, 2, 2)


def test_the_example_of_a_slip_is_one():
    (example,) = (one for one in re.findall(r"```toml\n(.*?)```", README, re.DOTALL) if "resolution" in one)
    found = weigh(read_record(Slip, with_defaults(tomllib.loads(example), "slip"), "slip"))
    assert found.told["tongue"].value > 0


def test_the_example_of_what_rides_on_the_truck_fits_the_demo_s():
    (example,) = (one for one in re.findall(r"```toml\n(.*?)```", README, re.DOTALL) if "aboard" in one)
    profile = read_record(Profile, {"schema": 1, "name": "p", "truck": "ridge-truck"} | tomllib.loads(example), "p")
    truck = Store(ROOT / "profiles").read_truck("ridge-truck")
    check_together(profile, truck, None)
    passenger, fuel = aboard_change_of(profile, truck)
    assert passenger.weight > 0 > fuel.weight
