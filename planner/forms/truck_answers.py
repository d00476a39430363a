"""A truck from answers to the questions of its form: from a file of them, or one by one as a terminal asks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from planner.forms.draft import NEW, Draft, check_typed, enter_text, fault_of, field_of, text_of
from planner.forms.own_values import is_typical
from planner.forms.truck_form import TRUCK_FORM, TruckDraft, add_hitch, typical
from planner.forms.truck_questions import ABOARD, AIR_CHART, AIR_DEMANDS, AIR_KEYS, AXLES, Question, air_keys, questions
from planner.records import BadInput, Problem, nearest
from planner.units.quantity import System, shown

BACK: Final = "back"  # what is typed to go to the question before
UNKNOWN: Final = "?"  # and where its owner does not know
CHOICES: Final = {
    "suspension": "solid or independent",
    "built": "bag alone, bag over leaf, bag with coil, or steel only",
    "plumbing": "separate or joined",
    "bar": "yes or no",
    "per_side": "1, or 2 for duals",
    AIR_CHART: "such as 0 psi: 1.8 cfm / 100 psi: 1.1 cfm",
    AIR_DEMANDS: "such as horn: 4 cfm, 5 s / tyre: 2 cfm, 4 min",
    "coupling": "ball, gooseneck, fifth_wheel or pintle",
}

Ask = Callable[[str, str], str]  # words and what stands there, to what is answered
Say = Callable[[str], None]


def new_truck() -> TruckDraft:
    """Return the draft of a truck that nothing is known of."""
    return Draft(TRUCK_FORM, NEW, None, typical())


def truck_from_answers(table: Mapping[str, Any], file: str, system: System = "us") -> TruckDraft:
    """Return the draft of a truck from a table of answers, named as the form's fields are.

    Parameters
    ----------
    table : mapping
        As a TOML file has it: ``gvwr = "11500 lb"``, ``[front]`` with ``gawr``, ``[[hitches]]`` with ``coupling`` and
        ``behind``, ``[aboard]`` with ``driver``. What is left out stays typical.
    file : str
        What messages call it.
    system : "us" or "metric"
        Whose units a bare number is in.

    Raises
    ------
    BadInput
        With every answer that cannot be used.
    """
    draft, problems = new_truck(), list[Problem]()
    hitches = table.get("hitches", [])
    for place, hitch in enumerate(hitches if isinstance(hitches, list) else []):
        coupling = str(hitch.get("coupling", "ball")) if isinstance(hitch, dict) else "ball"
        if place:
            try:
                draft = add_hitch(draft, coupling)
            except (KeyError, ValueError) as exc:
                problems.append(
                    Problem(file, f"hitches[{place}].coupling", shown(coupling), str(exc), "choose another")
                )
    for key, answer in _answers(table):
        if key == "name":
            continue
        try:
            check_typed(draft.with_typed(key, str(answer)))
        except (ValueError, KeyError, AttributeError):
            problems.append(Problem(file, key, shown(answer), "is no question", _did_you_mean(draft, key)))
            continue
        draft = enter_text(draft, key, str(answer), system)
    for key in draft.typed:
        if (fault := fault_of(draft, key, system)) is not None:
            problems.append(Problem(file, key, fault.got, fault.rule, fault.remedy))
    if problems:
        raise BadInput(problems)
    return draft


def ask_questions(draft: TruckDraft, ask: Ask, say: Say, system: System) -> TruckDraft:
    """Return the draft after every question was asked; nothing typed leaves what stands there.

    Parameters
    ----------
    draft : to begin with
    ask : asks for one field, in words with what stands there, and returns what is answered
    say : says a line
    system : whose units a bare number is in
    """
    key: str | None = _keys(draft)[0][1]
    last: Question | None = None
    while key is not None:
        question = next(one for one, name in _keys(draft) if name == key)
        if question != last:
            say("")
            say(question.heading)
            say(question.where)
            last = question
        skips = key == AIR_KEYS[0] and draft.record.air is None
        words = _words(draft, key) + ("; Enter skips all of the air" if skips else "")
        answer = ask(words, text_of(draft, key, system)).strip()
        if answer == BACK:
            key = _beside(draft, key, -1) or key
            continue
        if answer not in ("", UNKNOWN, text_of(draft, key, system)):
            new = enter_text(draft, key, answer, system)
            if (fault := fault_of(new, key, system)) is not None:
                say(f"✗ {fault.rule}, got {fault.got}. To fix it: {fault.remedy}.")
                continue
            draft = new
        elif skips:
            key = air_keys(draft.record)[-1]
        key = _beside(draft, key, 1)
    return draft


def _keys(draft: TruckDraft) -> list[tuple[Question, str]]:
    """Return what is asked of the truck as it is now, in order, each with its question."""
    return [(question, key) for question in questions(draft.record) for key in question.keys]


def _beside(draft: TruckDraft, key: str, step: int) -> str | None:
    """Return the field before or after one; None past the ends."""
    keys = [name for _, name in _keys(draft)]
    place = keys.index(key) + step
    return keys[place] if 0 <= place < len(keys) else None


def _words(draft: TruckDraft, key: str) -> str:
    """Return how a field is asked for in one line."""
    head = key.partition(".")[0]
    label = field_of(draft, key).label
    where = f", {head}" if head in AXLES else ""
    choice = CHOICES.get(key) or CHOICES.get(key.rpartition(".")[2])
    typical_mark = ", typical" if is_typical(draft, key) else ""
    return f"{label}{where}{f' ({choice})' if choice else ''}{typical_mark}"


def _answers(table: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the answers of a table by key, those that others follow from first."""
    for name, value in sorted(table.items(), key=lambda one: one[0] not in ("built", "suspension", "size", "per_side")):
        key = f"{before}{name}"
        if isinstance(value, dict):
            yield from _answers(value, f"{key}.")
        elif isinstance(value, list):
            for place, item in enumerate(value):
                yield from _answers(item, f"{key}.{place}.") if isinstance(item, dict) else [(f"{key}.{place}", item)]
        else:
            yield key, value


def _did_you_mean(draft: TruckDraft, key: str) -> str:
    """Return which question may have been meant."""
    known = [name for _, name in _keys(draft)]
    near = nearest(key, known)
    return f"did you mean {near}?" if near else f"the questions are {', '.join(known[:6])}, … {ABOARD}.driver"
