"""The command `planner fleet`: every truck of the folder with every trailer, into a file."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from planner.cli import (
    FINE,
    STOPPED,
    check_out,
    find_store,
    json_option,
    planner,
    print_object,
    say_line,
    shared,
    write_out,
)

if TYPE_CHECKING:
    from planner.plans.fleet import Fleet
    from planner.units.quantity import System

ENDINGS: Final = (".csv", ".parquet", ".html")


@planner.command()
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="yard.csv, yard.parquet or yard.html.")
@click.option("--no-heaviest", is_flag=True, help="Skip the heaviest trailer of each kind: much quicker.")
@click.option("--scheduler", metavar="ADDRESS", help="Address of a Dask cluster to run on, such as tcp://host:8786.")
@json_option
@shared
def fleet(
    context: click.Context,
    folder: Path | None,
    system: System,
    out: Path | None,
    no_heaviest: bool,
    scheduler: str | None,
    as_json: bool,
) -> None:
    """Check every truck with every trailer: can it tow it, at what pressures, and what stops it first.

    Ctrl-C stops early; FILE has what is done. Exit code 1: no truck can tow one of the trailers.
    """
    from planner.export import fleet_of
    from planner.show.text.fleet import fleet_line, left_over

    if out is None and not as_json:
        raise click.UsageError("give --out FILE or --json, such as --out yard.csv")
    if out is not None:
        check_out(out, ENDINGS, "yard.csv")
    store, system = find_store(context, folder, system)
    found, problems = fleet_of(store)
    for problem in problems:
        say_line(f"left out: {problem.line()}", err=True)
    if out is not None and out.suffix.lower() == ".html":
        from planner.show.paper.fleet_page import refuse_long

        refuse_long(found.code.size)
    whole = _judge(found, heaviest=not no_heaviest, scheduler=scheduler)
    if out is not None:
        write_out(out, _written(found, out.suffix.lower(), system))
    if not whole:
        kept = f"{found.done:,} of {len(found.trucks):,} trucks are" + (f" in {out}" if out else " done")
        raise click.ClickException(f"stopped: {kept}")
    if as_json:
        from planner.show.text.fleet import fleet_object

        print_object(fleet_object(found))
    else:
        say_line(f"{out}: {fleet_line(found)}")
    sys.exit(STOPPED if left_over(found) else FINE)


def _judge(found: Fleet, *, heaviest: bool, scheduler: str | None) -> bool:
    """Judge a fleet, telling how far it is; return whether all of it is done."""
    of, told = len(found.trucks), 0
    with suppress(KeyboardInterrupt):
        if scheduler is None:
            from planner.plans.fleet import judged

            work = judged(found, heaviest=heaviest)
        else:
            from planner.plans.fleet_cluster import judged_on

            work = judged_on(scheduler, found, heaviest=heaviest)
        for done in work:
            _tell(told, done, of)
            told = done
    return found.done == of


def _tell(before: int, done: int, of: int) -> None:
    """Say how far it is: on a terminal in one line that is written over, else a line for each tenth."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{done:,} of {of:,} trucks{chr(10) if done == of else ''}")
        sys.stderr.flush()
    elif done * 10 // of > before * 10 // of:
        say_line(f"{done:,} of {of:,} trucks", err=True)


def _written(found: Fleet, ending: str, system: System) -> bytes:
    """Return what is done of a fleet as a file."""
    if ending == ".html":
        from planner.show.paper.fleet_page import fleet_page

        return fleet_page(found, system).encode()
    if ending == ".csv":
        from planner.show.text.fleet import fleet_table

        return fleet_table(found, system)
    return bytes(found.to_frame().to_parquet(None))
