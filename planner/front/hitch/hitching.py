"""The Hitch up page: how low to drop to back under, the four stages, the trailer behind them, and the way off it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

import streamlit as st

from planner.forms import profile_form
from planner.forms.profile_draft import ProfileDraft
from planner.forms.saving import setup_of, trimmed_on
from planner.front.air.budget import find_budget
from planner.front.hitch.plan import find_plan
from planner.front.level import inputs
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields as widgets
from planner.front.widgets import findings
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html, plain
from planner.plans.air_budget import Use
from planner.plans.hitching_stages import REACHED, STAGES, HitchPlan, Stage, StageName
from planner.plans.linkage_findings import LINKAGE
from planner.plans.typical_air import with_typical_air
from planner.plans.weight_distribution import bars_from_weighings
from planner.records import Problem
from planner.show.drawings.jack_curve import jack_curve
from planner.show.drawings.stage_view import stage_pressures, stage_view
from planner.show.text.air import stage_words
from planner.show.text.hitching import (
    BARS,
    UNHITCHING,
    WATCH,
    bars_words,
    change_words,
    takes_bars,
    to_do,
    trailer_lines,
    unreached_words,
)
from planner.show.text.numbers import say, sentence
from planner.show.text.words import COUPLING_PARTS

TRIMMED: Final = "These are as planned. For the road set those that were trimmed on {when}: they stand under Set these."
PRACTICE: Final = "Common practice; the bars' maker comes first."
WEIGHINGS: Final[tuple[tuple[str, str, StageName], ...]] = (  # of the front axle, and the stage that has its load
    ("alone", "truck alone", "clear"),
    ("hitched", "hitched, bars slack", "lift"),
    ("bars", "hitched, bars set", "tow"),
)
DIP: Final = (
    "dip-out-of-reach",
    "plate-too-low",
    "front-helps-the-dip",
)  # findings of the stage where the hitch ducks under


@dataclass(frozen=True)
class Shown:
    """The plan on the screen, and whether it is of what stands in the fields now."""

    work: ProfileDraft
    plan: HitchPlan
    stale: bool


def find_answer(work: ProfileDraft, stale: bool) -> Shown | tuple[Problem, ...]:
    """Return the way to the trailer of some work, or why there is none."""
    try:
        return Shown(work, find_plan(setup_of(work)), stale)
    except (ValueError, ArithmeticError) as exc:
        return why_not(exc)


def draw_no_trailer() -> None:
    """Say what to do with a truck alone."""
    st.markdown("This load has no trailer, so there is nothing to hitch. Choose the trailer you are backing up to.")
    inputs.draw_pickers()


def draw_answer(shown: Shown) -> None:
    """Say in a line how low to go, and what the worst of the findings is."""
    plan = shown.plan
    if shown.stale:
        widgets.old_answer(state.profile())
    st.html(f'<p class="answer">{_how_low(plan)}</p>')
    if plan.findings and not shown.stale:
        findings.verdict(_said(plan))


def _how_low(plan: HitchPlan) -> str:
    """Return how low the hitch is to go, as HTML; where it does not reach, how far the jack must go up."""
    clear, hitch, system = plan.stages[0], plan.setup.hitch, state.system()
    assert hitch is not None  # a plan of hitching has one
    part = COUPLING_PARTS[hitch.coupling].capitalize()
    height, wanted, tow, jack = (
        html(say(value, "length", system))
        for value in (clear.height, clear.target, plan.stages[-1].height, abs(plan.jack_up))
    )
    if clear.reachable:
        return f"{part} at <b>{height}</b> to back under; {tow} to tow."
    if plan.jack_up < -REACHED:
        return f"{part} no higher than <b>{height}</b>: put the trailer's jack down by <b>{jack}</b>."
    if plan.jack_up > REACHED:
        return f"{part} no lower than <b>{height}</b>: put the trailer's jack up by <b>{jack}</b>."
    return f"{part} at <b>{height}</b>, and it should be at <b>{wanted}</b> to back under."


def draw_stages(shown: Shown) -> None:
    """Draw the four stages.

    Beside each other, two by two, where there is room for their words; on a narrow screen one at a time, with Back and
    Next under the thumb: a driver at the valves must not read the pressures of another stage, and one under the other
    they would be four screens of numbers that look alike.
    """
    with st.container(key="stages"):
        for place, stage in enumerate(shown.plan.stages):
            here = stage.name == state.tab().stage
            with st.container(key=f"{'now' if here else 'other'}-{stage.name}", gap="small"):
                _stage(shown, place, stage)


def draw_steps() -> None:
    """Draw Back and Next, for a narrow screen."""
    place = STAGES.index(state.tab().stage)
    with st.container(key="steps", horizontal=True, gap="small"):
        for way, to in (("back", place - 1), ("next", place + 1)):
            there = 0 <= to < len(STAGES)
            name: StageName = STAGES[to] if there else state.tab().stage
            label = f"{way.capitalize()}: {name}" if there else {"back": "First stage", "next": "Last stage"}[way]
            st.button(
                label,
                key=f"stage-{way}",
                type="primary" if way == "next" else "secondary",
                width="stretch",
                disabled=not there,
                on_click=state.go_to,
                args=(name,),
            )


def draw_findings(shown: Shown) -> None:
    """List the findings, worst first, and lead on where the truck does not stand as it says here."""
    navigation.draw_trim_button()
    if shown.plan.findings:
        st.header("Findings", anchor=False)
        findings.listed(_said(shown.plan))


def draw_hitch_share(shown: Shown) -> None:
    """Draw pressure against the share of the tongue that is on the truck."""
    st.header("From the jack to the truck", anchor=False)
    draw_picture(jack_curve(shown.plan, state.system()))
    widgets.hazard("Stop halfway as often as you like, but nobody under the tongue or the truck while it comes down.")


def draw_towed(shown: Shown) -> None:
    """Say how the trailer tows, which mount would level it, and how bars are set."""
    plan, system = shown.plan, state.system()
    st.header("Behind the truck", anchor=False)
    for words in trailer_lines(plan, system):
        st.markdown(plain(words))
    if plan.bed_clearance is not None:
        least = min(plan.bed_clearance)
        at = STAGES[plan.bed_clearance.index(least)]
        st.markdown(plain(f"Over the end of the bed it clears {say(least, 'length', system)} at the least, at {at}."))
    if takes_bars(plan):
        _bars(plan)


def draw_way_back() -> None:
    """Draw the way off the trailer."""
    st.header("Unhitching, the same way back", anchor=False)
    widgets.hazard("Chock the trailer's wheels before you unhook anything. Nobody between truck and trailer.")
    st.html(f'<ol class="list">{"".join(f"<li>{html(step)}</li>" for step in UNHITCHING)}</ol>')


def draw_fields() -> None:
    """Draw what is changed here: gap, lift to stow the jack, and what is hitched."""
    st.header("Room to back under", anchor=False)
    record = state.profile()
    hitch = record.work.profile.hitch
    if hitch is not None and not _goes_under_high(record.work):
        widgets.text(record, "hitching.gap", steps=True)
    widgets.text(record, "hitching.stow_lift", steps=True)
    inputs.draw_pickers()


def _goes_under_high(work: ProfileDraft) -> bool:
    """Tell whether the trailer is one that the plate lifts as it goes under, so that no gap is asked."""
    return work.trailer is not None and work.trailer.coupling == "fifth_wheel"


def _stage(shown: Shown, place: int, stage: Stage) -> None:
    """Draw one stage: what to set, what to do, what to watch, how it then stands, what has changed."""
    plan, system = shown.plan, state.system()
    st.header(f"{place + 1} of {len(STAGES)}: {stage.name}", anchor=False)
    st.markdown(plain(to_do(plan, stage)))
    draw_picture(stage_pressures(plan, stage, system))
    if stage.name == "tow" and (when := trimmed_on(shown.work)):
        widgets.hazard(TRIMMED.format(when=when.isoformat()))
    widgets.hazard(WATCH[stage.name])
    at_stage = [one for one in plan.findings if _of_stage(one.code, stage)]
    findings.listed([findings.Said(one.level, sentence(one, system)) for one in at_stage])
    if not stage.reachable and not at_stage:
        widgets.hazard(unreached_words(stage, system))
    draw_picture(stage_view(plan, stage, system))
    if place:
        before = plan.stages[place - 1]
        widgets.soft(f"Since {before.name}: {change_words(plan, before, stage, system)}.")
    if words := _air_words(plan, stage):
        widgets.soft(f"{words}.")


def _air_words(plan: HitchPlan, stage: Stage) -> str:
    """Return the air of a stage and how long it takes, by a typical supply where none is known.

    Empty where the truck finds no rest on the way.
    """
    setup = replace(plan.setup, truck=with_typical_air(plan.setup.truck))
    with suppress(ValueError, ArithmeticError):  # there are stages, and no rest on the way from one to the next
        return stage_words(find_budget(setup, Use(), plan), stage.name, state.system())
    return ""


def _of_stage(code: str, stage: Stage) -> bool:
    """Tell whether a finding is of a stage, by its code."""
    ours = (f"{stage.name}-out-of-reach", f"{stage.name}-{LINKAGE}")
    return code.startswith(ours) or (stage.name == "clear" and code in DIP)


def _bars(plan: HitchPlan) -> None:
    """Say what bars put back, and in which order they are set."""
    trailer = plan.setup.trailer
    assert trailer is not None  # a plan of hitching has one
    st.header("Weight-distribution bars", anchor=False)
    if not trailer.bars:
        st.markdown(plain(f"{trailer.name} has none set: bars 0 %. With bars, in this order:"))
    st.html(f'<ol class="list">{"".join(f"<li>{html(step)}</li>" for step in BARS)}</ol>')
    widgets.soft(PRACTICE)
    record = state.profile()
    asked = any(key.startswith(profile_form.WEIGHED) for key in record.work.typed)
    with st.expander("What do your bars put back? Three weighings tell", key="weighed-box", expanded=asked):
        for name, words, stage in WEIGHINGS:
            load = float(plan.stages[STAGES.index(stage)].answer.axle_load[0])
            hint = f"such as {say(load, 'load', state.system())}"
            widgets.text(record, f"{profile_form.WEIGHED}.{name}", f"Front axle, {words}", hint=hint)
        _put_back(plan)


def _put_back(plan: HitchPlan) -> None:
    """Say what the three weighings of the front axle tell of the bars."""
    system = state.system()
    weighed = profile_form.front_weighed(state.work(), system)
    if weighed is None:
        return
    found = bars_from_weighings(plan.setup, *weighed)
    st.markdown(plain(f"{bars_words(found, system)} Write it down as the trailer's bars on Truck & trailers."))
    if found.restoration > 1.0:
        widgets.hazard("More than the hitch took off: slacken the bars to 100 % at the most.")


def _said(plan: HitchPlan) -> list[findings.Said]:
    """Return the findings as sentences, worst first."""
    return [findings.Said(one.level, sentence(one, state.system())) for one in plan.findings]
