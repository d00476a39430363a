"""What a scale showed: the slips of one weigh-in, as printed, and other ways to weigh a tongue.

Any part may be missing. Readings that contradict each other by more than rounding explains are refused, in words that
say which slip to look at.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from typing import Annotated, Final

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.fields import Day, Length, Name, Weight, default
from planner.records.file_header import Filed
from planner.units.quantity import Kilogram, Metre, Quantity, Refusal, in_unit_of

TOLERANCE_STEP: Final = 500  # divisions; a scale in use may be off by one for each of these or part of it:
# NIST Handbook 44, sec. 2.20, table 6, class III L, maintenance tolerance (from memory)
AHEAD_GAIN: Final = 0.10  # of a tongue load, the most that a bed hitch puts on the front axle: common practice
WHOLE: Final = "truck"  # both axles of the truck in one draft
AXLES: Final = ("front", "rear", "trailer")


class TruckWeights(Record):
    """What the truck weighed: an axle at a time, wheel by wheel, or all of it in one draft."""

    front_axle: Annotated[Weight | None, Field(title="Front axle")] = None
    rear_axle: Annotated[Weight | None, Field(title="Rear axle")] = None
    truck: Annotated[Weight | None, Field(title="Truck in one draft")] = None  # both axles together on the scale
    front_left: Annotated[Weight | None, Field(title="Front left wheel")] = None
    front_right: Annotated[Weight | None, Field(title="Front right wheel")] = None
    rear_left: Annotated[Weight | None, Field(title="Rear left wheel")] = None
    rear_right: Annotated[Weight | None, Field(title="Rear right wheel")] = None

    def axle(self, name: str) -> float | None:
        """Return what an axle weighs [kg]: as printed, else its wheels together; None where the slip does not say."""
        printed: Quantity | None = getattr(self, f"{name}_axle", None)
        if printed is not None:
            return float(printed)
        wheels = self.wheels(name)
        return None if wheels is None else float(sum(wheels))

    def wheels(self, name: str) -> tuple[Quantity, Quantity] | None:
        """Return what the left and the right wheels of an axle weigh [kg]; None where one of them is missing."""
        left, right = getattr(self, f"{name}_left", None), getattr(self, f"{name}_right", None)
        return None if left is None or right is None else (left, right)

    @property
    def whole(self) -> float | None:
        """What the truck weighs [kg]: in one draft, else both axles together; None where the slip does not say."""
        if self.truck is not None:
            return float(self.truck)
        front, rear = self.axle("front"), self.axle("rear")
        return None if front is None or rear is None else front + rear

    @property
    def is_empty(self) -> bool:
        """Whether nothing is printed on it."""
        return all(getattr(self, name) is None for name in type(self).model_fields)


class HitchedWeights(TruckWeights):
    """What truck and trailer weighed, hitched: the trailer's axles together."""

    trailer_axles: Annotated[Weight | None, Field(title="Trailer axles, together")] = None
    trailer_left: Annotated[Weight | None, Field(title="Trailer's left wheels")] = None
    trailer_right: Annotated[Weight | None, Field(title="Trailer's right wheels")] = None

    def axle(self, name: str) -> float | None:
        """Return what an axle, or the trailer's together, weigh [kg]; None where the slip does not say."""
        if name == "trailer" and self.trailer_axles is not None:
            return float(self.trailer_axles)
        return super().axle(name)

    @property
    def all_axles(self) -> tuple[float, ...]:
        """What every part of truck and trailer weighs [kg], to be added up; empty where the slip lacks one."""
        truck = (self.axle("front"), self.axle("rear")) if self.truck is None else (float(self.truck),)
        found = [one for one in (*truck, self.axle("trailer")) if one is not None]
        return tuple(found) if len(found) == len(truck) + 1 else ()


class TrailerWeights(Record):
    """The trailer unhitched: all of it, its jack on the scale, its axles."""

    gross: Annotated[Weight | None, Field(title="Trailer, jack and all")] = None
    jack: Annotated[Weight | None, Field(title="Jack on the scale")] = None
    axles: Annotated[Weight | None, Field(title="Its axles, jack off the scale")] = None
    # of the jack's foot; left out: under the coupling
    jack_behind: Annotated[Annotated[Metre, Field(ge=0, le=30)] | None, Field(title="Jack behind the coupling")] = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was weighed."""
        return self.gross is None and self.jack is None and self.axles is None


class Lever(Record):
    """A bathroom scale under one end of a beam, the other on a fixed pivot, the tongue on the beam between them."""

    reading: Annotated[Weight | None, Field(title="Scale, tongue on the beam")] = None
    # with the beam alone on it
    beam: Annotated[Annotated[Kilogram, Field(ge=0, le=1000)] | None, Field(title="Scale, beam alone")] = None
    tongue_arm: Annotated[Length | None, Field(title="Pivot to tongue")] = None
    scale_arm: Annotated[Length | None, Field(title="Pivot to scale")] = None
    resolution: Annotated[Annotated[Weight, Field(le=100)], Field(title="Bathroom scale's division")] = default(
        "1 lb", "weight"
    )

    @property
    def is_empty(self) -> bool:
        """Whether something is missing that it takes."""
        return self.reading is None or self.tongue_arm is None or self.scale_arm is None

    @rule
    def _the_tongue_presses(self) -> Iterator[Broken]:
        """Require a scale that shows more with the tongue on the beam than without."""
        if self.reading is not None and self.beam is not None and not self.reading > self.beam:
            why = f'must be > the beam alone ("{self.beam.text}")'
            yield ("reading",), Refusal(why, f'"{self.reading.text}"', "check that the two readings are not swapped")


class Slip(Filed):
    """One weigh-in: what was on the scale, each time it was."""

    on: Annotated[Day | None, Field(title="Date")] = None
    scale: Annotated[Name | None, Field(title="Which scale")] = None
    truck: Annotated[Name | None, Field(title="Truck")] = None  # names of files, and of a hitch of that truck
    trailer: Annotated[Name | None, Field(title="Trailer")] = None
    hitch: Annotated[Name | None, Field(title="Hitch")] = None
    resolution: Annotated[Annotated[Weight, Field(le=1000)], Field(title="Scale's division")] = default(
        "20 lb", "weight"
    )
    # the most it may be off, besides its division; left out: NIST Handbook 44
    tolerance: Annotated[Annotated[Kilogram, Field(ge=0, le=1000)] | None, Field(title="Scale's greatest error")] = None
    alone: TruckWeights | None = None
    hitched: HitchedWeights | None = None
    hitched_with_bars: HitchedWeights | None = None
    trailer_alone: TrailerWeights | None = None
    lever: Lever | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was weighed."""
        parts = (self.alone, self.hitched, self.hitched_with_bars, self.trailer_alone, self.lever)
        return all(one is None or one.is_empty for one in parts)

    @property
    def source(self) -> str:
        """Where its numbers come from, in words: its name, the scale, the day."""
        said = (self.name, self.scale, None if self.on is None else self.on.isoformat())
        return ", ".join(one for one in said if one)[:120]

    def greatest_error(self, *readings: float) -> float:
        """Return the most that readings added up may be off [kg]: each by half a division and the scale's tolerance."""
        division = float(self.resolution)
        tolerance = None if self.tolerance is None else float(self.tolerance)
        return sum(division / 2 + scale_tolerance(one, division, tolerance) for one in readings)

    @rule
    def _parts_make_their_whole(self) -> Iterator[Broken]:
        """Require wheels that weigh what their axle does, and axles that weigh what the truck does in one draft."""
        for name in ("alone", "hitched", "hitched_with_bars"):
            one: TruckWeights | None = getattr(self, name)
            if one is None:
                continue
            for axle in AXLES:
                field = "trailer_axles" if axle == "trailer" else f"{axle}_axle"
                yield from self._apart((name, field), getattr(one, field, None), one.wheels(axle), "wheels")
            front, rear = one.axle("front"), one.axle("rear")
            axles = None if front is None or rear is None else (front, rear)
            yield from self._apart((name, WHOLE), one.truck, axles, "axles")
        own = self.trailer_alone
        if own is not None:
            parts = None if own.jack is None or own.axles is None else (float(own.jack), float(own.axles))
            yield from self._apart(("trailer_alone", "gross"), own.gross, parts, "jack and axles")

    def _apart(
        self, loc: tuple[str, str], whole: Quantity | None, parts: Sequence[float] | None, names: str
    ) -> Iterator[Broken]:
        """Yield the fault of a whole that its parts do not make."""
        if whole is None or parts is None or abs(sum(parts) - whole) <= self.greatest_error(whole, *parts):
            return
        got = f'"{whole.text}" against {in_unit_of(sum(parts), whole)} on its {names}'
        yield (
            loc,
            Refusal(f"must equal the sum of its {names}", got, f"read the slip of [{loc[0]}] again, one number is off"),
        )

    @rule
    def _a_trailer_presses_down(self) -> Iterator[Broken]:
        """Require a truck that is no lighter hitched than alone."""
        alone = None if self.alone is None else self.alone.whole
        for name in ("hitched", "hitched_with_bars"):
            one: HitchedWeights | None = getattr(self, name)
            if one is None:
                continue
            if alone is not None and one.whole is not None and one.whole < alone:
                got = f"{self._say(one.whole)} against {self._say(alone)} alone, so the tongue would pull up"
                why = "the truck must not weigh less hitched than alone"
                remedy = (
                    f"check that [alone] and [{name}] are not swapped, and that the same people and load were aboard"
                )
                yield (name,), Refusal(why, got, remedy)
            rear, rear_alone = one.axle("rear"), None if self.alone is None else self.alone.axle("rear")
            if name == "hitched" and rear is not None and rear_alone is not None and rear < rear_alone:
                got = f"{self._say(rear)} against {self._say(rear_alone)} alone"
                why = "the rear axle must not weigh less hitched than alone"
                yield (name, "rear_axle"), Refusal(why, got, f"check the rear axle in [alone] and in [{name}]")

    @rule
    def _a_ball_behind_takes_off_the_front(self) -> Iterator[Broken]:
        """Require a front axle that hitching does not load, but for the little that a hitch in the bed puts there."""
        if self.alone is None or self.hitched is None:
            return
        alone, hitched = self.alone.axle("front"), self.hitched.axle("front")
        if alone is None or hitched is None:
            return
        gained = hitched - alone
        before, after = self.alone.whole, self.hitched.whole
        most = AHEAD_GAIN * max(0.0, after - before) if before is not None and after is not None else 0.0
        if self.hitched_with_bars is not None and not self.hitched_with_bars.is_empty:
            most = 0.0  # bars hang on a hitch behind the axle
        if gained > most + self.greatest_error(alone, hitched):
            yield ("hitched", "front_axle"), front_gain(self, gained)

    @rule
    def _bars_move_load_forward_and_back(self) -> Iterator[Broken]:
        """Require bars that load the front axle and the trailer, not more than was taken off, and conserve weight."""
        slack, bars = self.hitched, self.hitched_with_bars
        if bars is None:
            return
        front, alone = bars.axle("front"), None if self.alone is None else self.alone.axle("front")
        if front is not None and alone is not None and front > alone + self.greatest_error(front, alone):
            got = f"{self._say(front)} against {self._say(alone)} alone"
            why = (
                "the front axle must not weigh more with bars than alone: bars may only put back what hitching took off"
            )
            remedy = "check that [alone] and [hitched_with_bars] are not swapped; if not, ease the bars and weigh again"
            yield ("hitched_with_bars", "front_axle"), Refusal(why, got, remedy)
        if slack is None:
            return
        for axle, words in (("front", "the front axle"), ("trailer", "the trailer's axles")):
            with_bars, without = bars.axle(axle), slack.axle(axle)
            if (
                with_bars is not None
                and without is not None
                and with_bars < without - self.greatest_error(with_bars, without)
            ):
                field = "trailer_axles" if axle == "trailer" else f"{axle}_axle"
                got = f"{self._say(with_bars)} against {self._say(without)} with the bars slack"
                why = f"{words} must not weigh less with bars than without"
                remedy = "check that [hitched] and [hitched_with_bars] are not swapped"
                yield ("hitched_with_bars", field), Refusal(why, got, remedy)
        before, after = slack.all_axles, bars.all_axles
        if before and after and abs(sum(after) - sum(before)) > self.greatest_error(*before, *after):
            got = f"{self._say(sum(after))} against {self._say(sum(before))} with the bars slack"
            why = "truck and trailer must weigh the same with bars and without"
            remedy = "check [hitched] and [hitched_with_bars]: something came aboard in between, or a number is off"
            yield ("hitched_with_bars",), Refusal(why, got, remedy)

    @rule
    def _the_trailer_stands_on_its_axles(self) -> Iterator[Broken]:
        """Require a trailer whose parts make its whole, and that rests on its axles more than on its coupling."""
        gross = self._gross_alone()
        own = self.trailer_alone
        if own is not None and gross is not None and own.jack is not None and own.jack > gross / 2:
            why = f"must be < half of the trailer ({in_unit_of(gross / 2, own.jack)})"
            remedy = "check that jack and axles of [trailer_alone] are not swapped"
            yield ("trailer_alone", "jack"), Refusal(why, f'"{own.jack.text}"', remedy)
        axles = None if self.hitched is None else self.hitched.axle("trailer")
        if axles is None or self.hitched is None:
            return
        if gross is not None and gross < axles:
            got = f"{self._say(axles)} against {self._say(gross)} in all, so the tongue would pull up"
            why = "the trailer's axles must not weigh more hitched than the whole trailer"
            remedy = "check [trailer_alone] and the trailer's axles in [hitched]"
            yield ("hitched", "trailer_axles"), Refusal(why, got, remedy)
        alone, hitched = None if self.alone is None else self.alone.whole, self.hitched.whole
        tongues = [hitched - alone] if alone is not None and hitched is not None else []
        tongues += [gross - axles] if gross is not None else []
        if any(tongue > axles for tongue in tongues):
            got = f"{self._say(max(tongues))} on the coupling, {self._say(axles)} on the axles"
            why = "a trailer must carry more on its axles than on its coupling"
            remedy = "check that the truck's and the trailer's axles in [hitched] are not swapped"
            yield ("hitched", "trailer_axles"), Refusal(why, got, remedy)

    def _gross_alone(self) -> float | None:
        """Return what the trailer weighs unhitched [kg]; None where the slip does not say."""
        own = self.trailer_alone
        if own is None:
            return None
        if own.gross is not None:
            return float(own.gross)
        return None if own.jack is None or own.axles is None else float(own.jack + own.axles)

    def _say(self, weight: float) -> str:
        """Return a weight in the unit of the scale's division."""
        return in_unit_of(weight, self.resolution)


def front_gain(slip: Slip, gained: float) -> Refusal:
    """Return the refusal of a front axle that is heavier hitched, bars slack, by a weight [kg]."""
    got = f"{in_unit_of(gained, slip.resolution)} more"
    why = "the front axle must not weigh more hitched than alone: a hitch behind the rear axle takes load off it"
    return Refusal(why, got, "check the front axle in [alone] and in [hitched], and who sat in front each time")


def scale_tolerance(load: float, division: float, tolerance: float | None = None) -> float:
    """Return the most that a scale may be off at a load besides rounding [kg], where it is not known otherwise."""
    return division * max(1, ceil(load / (TOLERANCE_STEP * division))) if tolerance is None else tolerance


def with_defaults(table: Mapping[str, object], name: str) -> dict[str, object]:
    """Return the table of a slip file with schema and name where it has none: such a file may hold readings only."""
    return {"schema": 1, "name": name, **table}
