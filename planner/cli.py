"""The command line. Each command imports what it needs when it runs, so that `planner --help` answers at once."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from planner.show.text import console

if TYPE_CHECKING:
    from planner.plans.answer import Answer
    from planner.plans.changeover import ChangeOver
    from planner.plans.level import Shut
    from planner.show.text.card import Carried, PaperSize
    from planner.store import Outfit, Store
    from planner.units.quantity import Dimension, Quantity, System

FINE, STOPPED, REFUSED = 0, 1, 2  # exit codes
Command = TypeVar("Command", bound=Callable[..., Any])
CORNERS = ("front-left", "front-right", "rear-left", "rear-right")

folder_option = click.option(
    "--profiles",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Your profiles folder. Left out: PLANNER_PROFILES, else ./profiles, else your own.",
)
units_option = click.option(
    "--units", "system", type=click.Choice(["us", "metric"]), default="us", show_default=True, help="Units to print in."
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON, numbers in SI units.")


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@folder_option
@units_option
@click.option("--port", type=click.IntRange(1, 65535), help="Port for the app. Left out: the first free from 8501 up.")
@click.option("--no-browser", is_flag=True, help="Print the address; open no browser.")
@click.option("--no-token", is_flag=True, help="Let in all users and programs here, with no key in the address.")
@click.option("--share", is_flag=True, help="Let in phones on your own network, each with a link that works once.")
@click.version_option(package_name="trailer-setup-planner", prog_name="planner")
@click.pass_context
def planner(
    context: click.Context,
    folder: Path | None,
    system: System,
    port: int | None,
    no_browser: bool,
    no_token: bool,
    share: bool,
) -> None:
    """Find the bag pressures that level your truck with its trailer on, and what axles, tyres and hitch then carry.

    With no command, the app opens in your browser. Only this machine can reach it unless you add --share.
    """
    context.obj = {"folder": folder, "system": system}
    if context.invoked_subcommand is None:
        from planner.front.shell.launch import start
        from planner.store.folder import find_folder

        options = {"browser": not no_browser, "token": not no_token, "share": share}
        start(find_folder(folder), port=port, system=system, **options)


def shared(command: Command) -> Command:
    """Give a command the options that every one has; what was said before the command holds where it is silent."""
    return cast("Command", folder_option(units_option(click.pass_context(command))))


def find_store(context: click.Context, folder: Path | None, system: System) -> tuple[Store, System]:
    """Return the store and the unit system, from the command's own options or those before it."""
    from planner.store import Store, find_folder

    source = context.get_parameter_source("system")
    said = source is not None and source.name == "COMMANDLINE"
    return Store(find_folder(folder or context.obj["folder"])), system if said else context.obj["system"]


def check_out(out: Path, endings: Sequence[str], such_as: str) -> None:
    """Raise an error, before anything is worked out, where a file named by --out cannot be written."""
    if out.suffix.lower() not in endings:
        listed = f"{', '.join(endings[:-1])} or {endings[-1]}"
        raise click.UsageError(f'--out must end in {listed}, got "{out.name}": write one such as {such_as}')
    if not out.absolute().parent.is_dir():
        raise click.UsageError(f'the folder for --out is not there, got "{out}": make the folder, or name another')


def write_out(out: Path, data: bytes) -> None:
    """Write the file that was named by --out."""
    from planner.store.atomic_write import replace_file
    from planner.store.os_errors import told_errors

    with told_errors(str(out), "written", "allow it for you, or name another --out"):
        replace_file(out.absolute(), data)


@planner.command("list")
@shared
def list_(context: click.Context, folder: Path | None, system: System) -> None:
    """List your profiles, one on a line."""
    from planner.show.text.profile_rows import NOTHING_THERE, damaged_line, profile_line
    from planner.store import PROFILE

    store, system = find_store(context, folder, system)
    entries = store.entries(PROFILE)
    width = max((len(entry.slug) for entry in entries), default=0)
    for entry in entries:
        if entry.brief is not None:
            say_line(profile_line(entry.slug, width, entry.brief, system))
        else:
            say_line(damaged_line(entry.slug, width, entry.problems))
    if not entries:
        say_line(NOTHING_THERE)


@planner.command()
@click.argument("profile")
@json_option
@shared
def level(context: click.Context, folder: Path | None, system: System, profile: str, as_json: bool) -> None:
    """Print the pressures that level PROFILE, and the findings."""
    from planner.plans.level import level_setup
    from planner.plans.setup import Setup

    store, system = find_store(context, folder, system)
    outfit = find_outfit(store, profile)
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    _print_answer(outfit, setup, level_setup(setup), system, as_json)


@planner.command()
@click.argument("profile")
@json_option
@shared
def hitch(context: click.Context, folder: Path | None, system: System, profile: str, as_json: bool) -> None:
    """Print how to hitch PROFILE's trailer, stage by stage: clear, meet, lift, tow, and unhitch."""
    from planner.plans.hitching import hitch_up
    from planner.plans.setup import Setup

    store, system = find_store(context, folder, system)
    outfit = find_outfit(store, profile)
    plan = hitch_up(Setup.of(outfit.profile, outfit.truck, outfit.trailer))
    if as_json:
        from planner.show.text.as_json import hitch_object

        print_object(hitch_object(outfit.slug, plan, system))
    else:
        from planner.show.text.air import stages_in_words
        from planner.show.text.hitching import hitch_lines

        for line in hitch_lines(outfit.profile.name, plan, system, stages_in_words(plan.setup, system, plan)):
            say_line(line)
    sys.exit(STOPPED if any(finding.level == "stop" for finding in plan.findings) else FINE)


@planner.command()
@click.argument("profile")
@click.option("--from", "before", metavar="PROFILE", help="Add the change-over from this profile of the same truck.")
@click.option("--altitude", metavar="HEIGHT", help='How high up, such as "8000 ft".  [default: 0 ft]')
@click.option("--temperature", metavar="TEMPERATURE", help='Outside air, such as "40 degF".  [default: 68 degF]')
@click.option("--humidity", type=click.FloatRange(0, 1), default=0.65, show_default=True, help="Outside, 0 to 1.")
@click.option("--cycles", type=click.FloatRange(0, 1000), default=2.0, show_default=True, help="Hitchings a day.")
@json_option
@shared
def air(context: click.Context, folder: Path | None, system: System, profile: str, as_json: bool, **given: Any) -> None:
    """Print how much air each move of PROFILE takes, how long it takes, and how much water the tank collects."""
    from planner.plans.air_budget import Use, air_budget
    from planner.plans.setup import Setup
    from planner.plans.typical_air import with_typical_air

    said = {name: _of_the_air(f"--{name}", given[name]) for name in ("altitude", "temperature") if given[name]}
    store, system = find_store(context, folder, system)
    outfit = find_outfit(store, profile)
    use = Use(humidity=given["humidity"], cycles=given["cycles"], **said)
    change = _change_over(find_outfit(store, given["before"]), outfit) if given["before"] else None
    budget = air_budget(Setup.of(outfit.profile, with_typical_air(outfit.truck), outfit.trailer), use, change)
    if as_json:
        from planner.show.text.air import air_object

        print_object(air_object(budget, system))
    else:
        from planner.show.text.air import air_lines

        for line in air_lines(outfit.profile.name, budget, system):
            say_line(line)
    sys.exit(STOPPED if any(finding.level == "stop" for finding in budget.findings) else FINE)


def _change_over(before: Outfit, after: Outfit) -> ChangeOver:
    """Return the way from one profile to another."""
    from planner.plans.changeover import change_over
    from planner.plans.saved_state import standing

    return change_over(*(standing(one.profile, one.truck, one.trailer) for one in (before, after)))


def _corner_options(command: Command) -> Command:
    """Add an option for the pressure of each corner."""
    for corner in reversed(CORNERS):
        command = click.option(f"--{corner}", metavar="PRESSURE", help='Such as "40 psi"; else as planned.')(command)
    return command


@planner.command()
@click.argument("profile")
@_corner_options
@click.option("--sealed", is_flag=True, help="Valves shut: only load, temperature and altitude change.")
@click.option("--temperature", metavar="TEMPERATURE", help='Temperature now, such as "20 degF". Needs --sealed.')
@click.option("--altitude", metavar="HEIGHT", help='Altitude now, such as "8000 ft". Needs --sealed.')
@click.option("--set-temperature", metavar="TEMPERATURE", help="When the valves were shut.  [default: 68 degF]")
@click.option("--set-altitude", metavar="HEIGHT", help="Where the valves were shut.  [default: 0 ft]")
@click.option("--without-trailer", is_flag=True, help="With the trailer off.")
@click.option("--without-cargo", is_flag=True, help="With the cargo off.")
@json_option
@shared
def settle(
    context: click.Context, folder: Path | None, system: System, profile: str, as_json: bool, **given: Any
) -> None:
    """Print how PROFILE's truck sits at the pressures you give, or later with the valves shut."""
    from planner.plans.level import settle_setup
    from planner.plans.setup import Setup

    pressure = {
        corner: _quantity(f"--{corner.replace('_', '-')}", text, "pressure")
        for corner in (option.replace("-", "_") for option in CORNERS)
        if (text := given[corner]) is not None
    }
    shut = _shut(given)
    store, system = find_store(context, folder, system)
    outfit = find_outfit(store, profile)
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    later = setup.without_trailer() if given["without_trailer"] else setup
    later = later.without_cargo() if given["without_cargo"] else later
    _print_answer(outfit, later, settle_setup(setup, pressure, later, shut), system, as_json)


def _shut(given: dict[str, Any]) -> Shut | None:
    """Return what the options say of valves shut; refuse a temperature or altitude without --sealed."""
    from planner.plans.level import Shut

    names = ("temperature", "altitude", "set_temperature", "set_altitude")
    said = {name: given[name] for name in names if given[name] is not None}
    if not given["sealed"]:
        if said:
            option = "--" + next(iter(said)).replace("_", "-")
            raise click.UsageError(f"{option} only counts with the valves shut: add --sealed")
        return None
    return Shut(**{name: _of_the_air(f"--{name.replace('_', '-')}", text) for name, text in said.items()})


def _of_the_air(option: str, text: str) -> float:
    """Return a temperature [K] or an altitude [m] that a truck may meet, or an error that names the option."""
    from planner.records.fields import air_temperature, altitude

    hot = option.endswith("temperature")
    value = _quantity(option, text, "temperature" if hot else "length")
    try:
        return float(air_temperature(value) if hot else altitude(value))
    except ValueError as error:
        raise click.UsageError(f"{option}: {error}") from error


@planner.command()
@click.argument("profiles", nargs=-1, required=True, metavar="PROFILE...")
@click.option("--out", type=click.Path(path_type=Path), required=True, metavar="FILE", help="cab.pdf or pocket.html.")
@click.option("--sheet", is_flag=True, help="PDF: four cards a page with cut lines; of one profile, four copies.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), help="A card is a quarter of it.  [default: by --units]")
@shared
def card(
    context: click.Context,
    folder: Path | None,
    system: System,
    profiles: tuple[str, ...],
    out: Path,
    sheet: bool,
    paper: PaperSize | None,
) -> None:
    """Write PROFILEs as cards for the cab (.pdf), or as one page for a phone with no signal (.html)."""
    check_out(out, (".pdf", ".html"), "cab.pdf")
    ending = out.suffix.lower()
    if ending == ".html" and (sheet or paper):
        raise click.UsageError(f"{'--sheet' if sheet else '--paper'} is for a PDF: write a .pdf, or leave it out")
    store, system = find_store(context, folder, system)
    cards = [_card(store, profile, system, on_phone=ending == ".html") for profile in profiles]
    made = _page(cards) if ending == ".html" else _pdf(cards, system, paper, sheet)
    write_out(out, made)
    say_line(f"{out}: {', '.join(one.name for one in cards)}")
    sys.exit(STOPPED if any(one.stopped for one in cards) else FINE)


def _card(store: Store, profile: str, system: System, *, on_phone: bool) -> Carried:
    """Return what the card of a profile says; on a phone it has room for air times too."""
    from planner.export import card_of, with_air_times
    from planner.store import PROFILE

    outfit = find_outfit(store, profile)
    named = profile.endswith(".toml")
    card = card_of(outfit, system, Path(profile) if named else store.folder / PROFILE.file(outfit.slug))
    return with_air_times(card, outfit, system) if on_phone else card


def _page(cards: list[Carried]) -> bytes:
    """Return profiles as a page for a phone."""
    from planner.show.paper.phone_page import pocket

    return pocket(cards).encode()


def _pdf(cards: list[Carried], system: System, paper: PaperSize | None, sheet: bool) -> bytes:
    """Return cards as a PDF, on the paper that goes with the units where none is named."""
    from planner.export import PAPERS
    from planner.show.paper.card_pdf import card_pdf

    return card_pdf(cards, paper or PAPERS[system], sheet=sheet or None)


@planner.command()
@click.argument("files", nargs=-1, metavar="[FILE]...", type=click.Path(path_type=Path))
@shared
def check(context: click.Context, folder: Path | None, system: System, files: tuple[Path, ...]) -> None:
    """Check FILEs, or the whole folder. Print every problem, and every truck number that looks odd."""
    from planner.records import BadInput
    from planner.store.checking import check_files, find_cautions

    store, _ = find_store(context, folder, system)
    problems = check_files(store, files) if files else store.check()
    for caution in find_cautions(store, files):
        say_line(f"caution: {caution.line()}")
    if problems:
        raise BadInput(problems)
    say_line("No problem found.")


@planner.group(no_args_is_help=False)
def truck() -> None:
    """Enter a truck of your own."""


@truck.command()
@click.option("--from", "answers", type=click.Path(path_type=Path), help="Read the answers from this TOML file.")
@click.option("--name", help="Name of the truck. Left out: asked for, or the name in the file.")
@shared
def new(context: click.Context, folder: Path | None, system: System, answers: Path | None, name: str | None) -> None:
    """Ask what your labels, slips and charts say, and write your truck's file."""
    from planner.forms import truck_answers
    from planner.forms.truck_form import TRUCK_FORM

    store, system = find_store(context, folder, system)
    if answers is not None:
        from planner.store.reading import read_document

        table = read_document(answers, answers.name).data
        draft, called = (
            truck_answers.truck_from_answers(table, answers.name, system),
            name or str(table.get("name", "")),
        )
    else:
        say_line(f"Enter or {truck_answers.UNKNOWN} keeps what is shown; {truck_answers.BACK} goes back one question.")
        draft = truck_answers.ask_questions(truck_answers.new_truck(), _ask, say_line, system)
        called = name or _ask("Name of the truck", "")
    saved = TRUCK_FORM.save(store, draft, called)
    from planner.store import TRUCK

    say_line(f"{saved.record.name} is in {store.folder / TRUCK.file(saved.slug)}.")
    typical = len(saved.record.typical)
    say_line(
        f"{typical} values are typical, not yet your own: the app says which to find out first." if typical else ""
    )


def _ask(words: str, default: str) -> str:
    """Return what is typed after a question in the terminal."""
    return str(click.prompt(console.printable(words), default=console.printable(default)))


def find_outfit(store: Store, profile: str) -> Outfit:
    """Return the profile that was named, by name, by slug or by the path of its file."""
    from planner.store import slug

    if profile.endswith(".toml"):
        return store.read_profile_path(Path(profile))
    return store.read_outfit(profile if profile in store.profiles() else slug(profile))


def _quantity(option: str, text: str, kind: Dimension) -> Quantity:
    """Return what an option says, or an error that names it."""
    from planner.units.quantity import read

    try:
        return read(text, kind)
    except ValueError as error:
        raise click.UsageError(f"{option}: {error}") from error


def _print_answer(outfit: Outfit, setup: Any, answer: Answer, system: System, as_json: bool) -> None:
    """Print an answer as text or as one object, and leave with 1 if a finding says stop."""
    if as_json:
        from planner.show.text.as_json import answer_object

        print_object(answer_object(outfit.slug, answer, system))
    else:
        from planner.show.text.report import answer_lines

        for line in answer_lines(outfit.profile.name, setup, answer, system):
            say_line(line)
    sys.exit(STOPPED if answer.stopped else FINE)


def print_object(found: dict[str, Any]) -> None:
    """Print one object on a line, its letters escaped where the console does not have them all."""
    say_line(json.dumps(found, ensure_ascii=not console.is_unicode(), allow_nan=False))


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; whatever goes wrong is told in plain lines on standard error, never as a traceback."""
    console.print_what_it_can()
    try:
        code = planner.main(arguments, prog_name="planner", standalone_mode=False)
    except click.ClickException as error:
        help_at = getattr(error, "ctx", None)  # of a command typed wrong; an error of our own says what to do
        more = f" See {help_at.command_path} --help" if help_at is not None else ""
        _fail(" ".join(error.format_message().split()) + more)
    except (click.Abort, KeyboardInterrupt):
        _fail("stopped")
    except ValueError as error:  # BadInput among them: a line for each problem
        _fail(str(error))
    except ArithmeticError as error:
        _fail(f"{error}; each file is fine by itself, so planner check does not find this")
    except BrokenPipeError:  # the reader, such as head, has had enough
        sys.stderr.close()
        sys.exit(FINE)
    except OSError as error:
        _fail(f"{error.filename or 'planner'}: {error.strerror}: check the path and its permissions")
    sys.exit(code if isinstance(code, int) else FINE)


def _fail(message: str) -> None:
    """Print what is wrong and leave with the code of bad input."""
    say_line(f"planner: {message}", err=True)
    sys.exit(REFUSED)


def say_line(text: str, err: bool = False) -> None:
    """Print a text as the console's own encoding has it; click would send UTF-8 to one that is ASCII.

    Whatever a name or a path holds reaches the terminal as text, never as a command to it.
    """
    click.echo(console.printable(text), file=sys.stderr if err else sys.stdout)


from planner import cli_fleet as cli_fleet  # noqa: E402  # and this one
from planner import cli_measure as cli_measure  # noqa: E402  # its commands are of the group above
