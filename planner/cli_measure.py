"""The commands of the command line about what was measured: `planner trim`, `weigh`, `drift` and `calibrate`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from planner.cli import (
    FINE,
    STOPPED,
    find_outfit,
    find_store,
    json_option,
    planner,
    print_object,
    say_line,
    shared,
)

if TYPE_CHECKING:
    from planner.plans.calibration import Calibration
    from planner.records import Truck
    from planner.records.base import Record
    from planner.store import Store
    from planner.units.quantity import System

AnyRecord = TypeVar("AnyRecord", bound="Record")


@planner.command()
@click.argument("profile")
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@shared
def trim(context: click.Context, folder: Path | None, system: System, profile: str, file: Path, as_json: bool) -> None:
    """Print better pressures for PROFILE from the gauge and tape readings in FILE, and how sure they are."""
    from datetime import datetime

    from planner.plans.setup import Setup
    from planner.plans.trim import trim as find_trim
    from planner.store.reading_file import read_reading

    store, system = find_store(context, folder, system)
    outfit = find_outfit(store, profile)
    reading = read_reading(file, datetime.now())  # as an owner writes it: his own clock
    found = find_trim(Setup.of(outfit.profile, outfit.truck, outfit.trailer), reading, file=str(file))
    if as_json:
        from planner.show.text.trim import trim_object

        print_object(trim_object(outfit.slug, found, system))
    else:
        from planner.show.text.trim import trim_lines

        for line in trim_lines(outfit.profile.name, found, system):
            say_line(line)
    sys.exit(STOPPED if found.stopped else FINE)


@planner.command()
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@shared
def weigh(context: click.Context, folder: Path | None, system: System, file: Path, as_json: bool) -> None:
    """Print what the scale slips in FILE say: tongue load, tongue ratio, side bias, what bars put back; give or take.

    No scale? A FILE with profile, [after] and, if you have it, [before] holds gauge and tape readings: the bags weigh.
    """
    from planner.plans.weighing import weigh as weigh_slip
    from planner.store.slip_files import read_slip_path

    store, system = find_store(context, folder, system)
    if print_bag_weighing(store, file, system, as_json=as_json):
        sys.exit(FINE)
    found = weigh_slip(*read_slip_path(store, file))
    if as_json:
        from planner.show.text.weighing import weighing_object

        print_object(weighing_object(found, system))
    else:
        from planner.show.text.weighing import weighing_lines

        for line in weighing_lines(found, system):
            say_line(line)
    sys.exit(STOPPED if any(finding.level == "stop" for finding in found.findings) else FINE)


@planner.command()
@click.argument("profile")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--without-trailer", is_flag=True, help="It stood with the trailer off.")
@click.option("--without-cargo", is_flag=True, help="It stood with the cargo off.")
@json_option
@shared
def drift(
    context: click.Context,
    folder: Path | None,
    system: System,
    profile: str,
    file: Path,
    without_trailer: bool,
    without_cargo: bool,
    as_json: bool,
) -> None:
    """Print whether PROFILE lost air to the cold or to a leak, and where, from two readings in FILE.

    FILE (TOML) has tables [before] and [after]. Each has at, temperature and the corners' pressures; add altitude if
    the truck moved.
    """
    from planner.plans.drift import find_drift
    from planner.plans.reading_history import find_low_corner
    from planner.plans.saved_state import standing
    from planner.plans.setup import Setup
    from planner.records.leak_test import LeakTest

    store, system = find_store(context, folder, system)
    outfit, test = find_outfit(store, profile), _record_in(file, LeakTest)
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    setup = setup.without_trailer() if without_trailer else setup
    setup = setup.without_cargo() if without_cargo else setup
    with _named_file(file):
        found = find_drift(setup, test)
    if as_json:
        from planner.show.text.drift import drift_object

        print_object(drift_object(outfit.slug, found, system))
    else:
        from planner.show.text.drift import drift_lines

        stands = standing(outfit.profile, outfit.truck, outfit.trailer)
        low_corner = find_low_corner(stands.history) if outfit.profile.readings else None
        for line in drift_lines(outfit.profile.name, setup, found, system, low_corner):
            say_line(line)
    sys.exit(STOPPED if any(finding.level == "stop" for finding in found.findings) else FINE)


def print_bag_weighing(store: Store, file: Path, system: System, *, as_json: bool) -> bool:
    """Print what the bags say of the readings in a file; False, and nothing printed, for a file that is of slips."""
    table = _table_in(file)
    if "after" not in table:
        return False
    from planner.plans.bag_scale import bags_as_scale
    from planner.plans.setup import Setup
    from planner.records.bag_weighing import BagWeighing

    weighed = _record_in(file, BagWeighing)
    outfit = find_outfit(store, weighed.profile)
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    with _named_file(file):
        hooked = weighed.hooked and setup.hitch is not None and setup.trailer is not None
        found = bags_as_scale(setup, weighed.after, weighed.before, hooked=hooked)
    if as_json:
        from planner.show.text.bag_scale import bag_scale_object

        print_object(bag_scale_object(found, system))
    else:
        from planner.show.text.bag_scale import bag_scale_lines

        for line in bag_scale_lines(outfit.profile.name, setup, found, system):
            say_line(line)
    return True


def _record_in(file: Path, kind: type[AnyRecord]) -> AnyRecord:
    """Return the record of measurements in a file; its schema may be left out, as there is one."""
    from planner.records import read_record

    return read_record(kind, {"schema": 1} | _table_in(file), str(file))


def _table_in(file: Path) -> dict[str, Any]:
    """Return what a file of measurements says."""
    from planner.errors import StoreError
    from planner.store.os_errors import shown_name
    from planner.store.reading import read_document

    if "\0" in str(file):
        raise StoreError(shown_name(str(file)), "is not a path", "check the spelling")
    try:
        return read_document(file, str(file)).data
    except FileNotFoundError as exc:
        raise StoreError(str(file), "is not there", "check the path") from exc


@contextmanager
def _named_file(file: Path) -> Iterator[None]:
    """Name the file in what is wrong with what it says."""
    from dataclasses import replace

    from planner.errors import BadInput

    try:
        yield
    except BadInput as bad:
        raise BadInput(replace(problem, file=problem.file or str(file)) for problem in bad.problems) from bad


@planner.command()
@click.argument("truck")
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Write what was learnt into the truck's file; the old one goes to backups.")
@json_option
@shared
def calibrate(
    context: click.Context,
    folder: Path | None,
    system: System,
    truck: str,
    files: tuple[Path, ...],
    write: bool,
    as_json: bool,
) -> None:
    """Print what the scale readings in FILEs teach about TRUCK: bag area, steel, tyres.

    A FILE (TOML) has at, front_axle and rear_axle as weighed, and the corners' pressures and ride heights. For several
    readings, use a table [[readings]] for each.
    """
    from planner.plans.calibration import calibrate as learn
    from planner.records.weighed_reading import weighed_readings

    store, system = find_store(context, folder, system)
    slug, known = _truck(store, truck)
    if write and slug is None:
        raise click.UsageError("--write only changes a truck in your profiles folder: name it, not a file")
    whole = store.with_charts(known, None if slug is not None else Path(truck))
    found = learn(whole, [one for file in files for one in weighed_readings(_table_in(file), str(file))])
    if as_json:
        from planner.show.text.calibration import calibration_object

        print_object(calibration_object(found, system))
    else:
        from planner.show.text.calibration import calibration_lines

        for line in calibration_lines(found, system):
            say_line(line)
    if write and slug is not None:
        _write_learnt(store, slug, known, found, quiet=as_json)


def _write_learnt(store: Store, slug: str, known: Truck, found: Calibration, *, quiet: bool) -> None:
    """Write what was learnt into the truck's file; nothing while a number of the readings is doubted."""
    from planner.plans.learnt_truck import learnt_truck
    from planner.records import BadInput, Problem
    from planner.store import TRUCK

    if found.doubts:
        remedy = "fix or take out the reading named above, then calibrate again"
        raise BadInput([Problem(TRUCK.file(slug), "", "", "nothing was written: a reading looks wrong", remedy)])
    learnt = learnt_truck(found, max(reading.at.date() for reading in found.readings))
    changed = learnt != found.truck
    if changed:
        store.write(learnt, slug, known, keep_old=True)
    if not quiet:
        kept = f"What was learnt is in {TRUCK.file(slug)} now; the old file is in {store.folder / 'backups'}."
        say_line(kept if changed else f"{TRUCK.file(slug)} is unchanged: nothing new was learnt.")


def _truck(store: Store, named: str) -> tuple[str | None, Truck]:
    """Return the truck that was named, by name, by slug or by the path of its file, and its slug in the folder."""
    from planner.store import TRUCK, slug
    from planner.store.reading import as_document, read_bytes
    from planner.store.schema_version import read_kind

    if not named.endswith(".toml"):
        called = named if named in store.trucks() else slug(named)
        return called, store.read(TRUCK, called)
    try:
        return None, read_kind(TRUCK, as_document(read_bytes(Path(named), named), named), named)[0]
    except FileNotFoundError as exc:
        from planner.errors import StoreError

        raise StoreError(named, "is not there", "check the path, or name a truck in the folder") from exc
