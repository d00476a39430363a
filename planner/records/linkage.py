"""The links that hold a rear axle, and what hangs between axle and frame: driveshaft, shock absorbers, brake hose.

All places are those of the truck as it stands at kerb weight and design ride height on level ground: ahead of the rear
axle, left of the centre line, above ground. What is given for the left side is mirrored where the right has none.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Annotated, Final

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.fields import Count, Length, Place, default
from planner.units.quantity import Radian, Refusal, in_unit_of

SHORTEST_BAR: Final = 0.0508  # m (2 in) between the ends of a bar; no suspension comes near it
LEAST_HELD: Final = (
    0.1  # [-] see Linkage._bars_hold_the_axle: upper bars 45° apart have 0.25, bars along the truck 0.06
)
STEEPEST_SHAFT: Final = math.pi / 6  # rad (30°); no shaft of a truck comes near it

Angle = Annotated[Radian, Field(ge=-STEEPEST_SHAFT, le=STEEPEST_SHAFT)]
JointLimit = Annotated[Radian, Field(gt=0, le=math.pi / 2)]
Vector = tuple[float, float, float]


class Point(Record):
    """A place on the truck: the centre of a joint or of a bolt."""

    x: Annotated[Place, Field(title="Ahead of the rear axle")]
    y: Annotated[Place, Field(title="Left of the centre line")] = default("0 in", "length")
    z: Annotated[Length, Field(title="Above ground")]

    @property
    def at(self) -> Vector:
        """The place: forward, left, up. [m]"""
        return float(self.x), float(self.y), float(self.z)

    @property
    def mirrored(self) -> Vector:
        """The same place on the other side. [m]"""
        return float(self.x), -float(self.y), float(self.z)


class Ends(Record):
    """What reaches from frame to axle, by the centres of its ends: a bar."""

    frame: Point
    axle: Point

    @property
    def ends(self) -> tuple[Vector, Vector]:
        """Both at frame and axle. [m]"""
        return self.frame.at, self.axle.at

    @property
    def mirrored(self) -> tuple[Vector, Vector]:
        """The ends of the same on the other side. [m]"""
        return self.frame.mirrored, self.axle.mirrored

    @property
    def distance(self) -> float:
        """From one end to the other. [m]"""
        return math.dist(*self.ends)

    @rule
    def _ends_are_apart(self) -> Iterator[Broken]:
        """Require ends that are not in one place."""
        if not self.distance >= SHORTEST_BAR:
            least, got = (in_unit_of(value, self.frame.x) for value in (SHORTEST_BAR, self.distance))
            yield ("axle",), Refusal(f"must be at least {least} from the frame end", got, "measure both ends again")


class Driveshaft(Record):
    """The driveshaft, by the centres of its joints; its yokes at both ends of a piece are in line."""

    front: Point  # the joint at the transmission or the transfer case
    output_angle: Annotated[Angle, Field(title="Output shaft falls to the rear by")] = default("0 deg", "angle")
    carrier: Point | None = None  # the joint behind a carrier bearing
    pinion: Point  # the joint at the axle
    pinion_angle: Annotated[Angle, Field(title="Pinion's nose up by")]  # from level
    joint_limit: Annotated[JointLimit | None, Field(title="Joints' greatest angle")] = None  # by their maker

    @rule
    def _lies_in_order(self) -> Iterator[Broken]:
        """Require joints one behind the other, the pinion's last."""
        order = [("front", self.front), *([("carrier", self.carrier)] if self.carrier else []), ("pinion", self.pinion)]
        for (ahead, one), (behind, other) in pairwise(order):
            if not one.x > other.x:
                why = f'must be ahead of {behind} ("{other.x.text}")'
                yield (ahead, "x"), Refusal(why, f'"{one.x.text}"', "x counts forward from the rear axle")


class Shock(Ends):
    """A shock absorber: its ends, and its length from eye to eye closed and open."""

    shortest: Annotated[Length, Field(title="Length, closed")]
    longest: Annotated[Length, Field(title="Length, open")]

    @rule
    def _is_within_its_travel(self) -> Iterator[Broken]:
        """Require a shock that is neither closed nor open as the truck stands."""
        if not self.shortest < self.distance < self.longest:
            why = f'its ends must be more than shortest ("{self.shortest.text}") and less than longest apart'
            got = f'{in_unit_of(self.distance, self.shortest)}, longest "{self.longest.text}"'
            yield ("shortest",), Refusal(why, got, "measure again, eye to eye")


class BrakeHose(Ends):
    """The brake hose from frame to axle, by its fittings."""

    length: Annotated[Length, Field(title="Length of the hose")]  # pulled straight, fitting to fitting

    @rule
    def _is_long_enough(self) -> Iterator[Broken]:
        """Require a hose that is not taut as the truck stands."""
        if not self.length > self.distance:
            why = f"must be > the distance between its ends ({in_unit_of(self.distance, self.length)})"
            remedy = "measure the hose pulled straight, fitting to fitting, then where its ends are"
            yield ("length",), Refusal(why, f'"{self.length.text}"', remedy)


class Linkage(Record):
    """The bars that hold a solid rear axle: two lower, one or two upper ones, and a track bar, or uppers that meet.

    A bar's end that is a bush gives a little; one more bar than the axle needs lives on that.
    """

    lower: Ends
    lower_right: Ends | None = None
    upper: Ends
    upper_right: Ends | None = None
    uppers: Annotated[Count, Field(ge=1, le=2, title="Upper bars")] = 2
    track_bar: Ends | None = None
    driveshaft: Driveshaft | None = None
    shock: Shock | None = None  # the left one
    hose: BrakeHose | None = None
    bump_travel: Annotated[Length | None, Field(le=1, title="Travel up to the bump stop")] = None
    droop_travel: Annotated[Length | None, Field(le=1, title="Travel down to full droop")] = None
    # of the bars' ends, either way from where they stand at design height, by their maker
    joint_limit: Annotated[JointLimit | None, Field(title="Bar ends' greatest swing")] = None

    @property
    def bars(self) -> dict[str, tuple[Vector, Vector]]:
        """Ends at frame and axle of every bar, by name. [m]"""
        pairs = [("lower", self.lower, self.lower_right)]
        pairs += [("upper", self.upper, self.upper_right)] if self.uppers == 2 else []
        found = {}
        for name, left, right in pairs:
            found[f"{name} left"] = left.ends
            found[f"{name} right"] = left.mirrored if right is None else right.ends
        if self.uppers == 1:
            found["upper"] = self.upper.ends
        if self.track_bar is not None:
            found["track bar"] = self.track_bar.ends
        return found

    @rule
    def _one_upper_is_one(self) -> Iterator[Broken]:
        """Require no right upper bar where there is one in all, and then a track bar."""
        if self.uppers == 1 and self.upper_right is not None:
            remedy = "take it out, or set uppers = 2"
            yield ("upper_right",), Refusal("must be left out with uppers = 1", "a bar", remedy)
        if self.uppers == 1 and self.track_bar is None:
            why = "with three bars it is needed: nothing else holds the axle sideways"
            yield ("track_bar",), Refusal(why, "nothing", "add the table track_bar with frame and axle")

    @rule
    def _bars_hold_the_axle(self) -> Iterator[Broken]:
        """Require bars that keep the axle from shifting and turning in every way but rise and roll.

        Each bar counts by what it feels of a shift fore and aft and sideways [1] and of a turn nose down and to the
        left [m]; the volume that these rows span is nought where one way is free.
        """
        if len(self.bars) >= 4 and _volume([_felt(*ends) for ends in self.bars.values()]) < LEAST_HELD:
            why = "the bars must keep the axle from moving fore and aft or sideways, pitching and steering"
            remedy = "check their ends: parallel bars need a track_bar, and upper bars must sit above the lower ones"
            yield ("upper",), Refusal(why, "bars that let it move", remedy)


def _felt(frame: Vector, axle: Vector) -> list[float]:
    """Return what a bar feels of the axle's shift forward and left [1] and of its pitch and yaw [m]."""
    length = max(math.dist(frame, axle), 1e-9)
    ux, uy, uz = ((b - a) / length for a, b in zip(frame, axle, strict=True))
    ax, ay, az = axle
    return [ux, uy, az * ux - ax * uz, ax * uy - ay * ux]


def _volume(rows: Sequence[Sequence[float]]) -> float:
    """Return the volume that rows of four numbers span: the root of their Gram determinant."""
    gram = [[sum(row[i] * row[j] for row in rows) for j in range(4)] for i in range(4)]
    volume = 1.0
    for k in range(4):
        pivot = max(range(k, 4), key=lambda i: abs(gram[i][k]))
        gram[k], gram[pivot] = gram[pivot], gram[k]
        if abs(gram[k][k]) < 1e-15:
            return 0.0
        volume *= abs(gram[k][k])
        for i in range(k + 1, 4):
            part = gram[i][k] / gram[k][k]
            gram[i] = [a - part * b for a, b in zip(gram[i], gram[k], strict=True)]
    return math.sqrt(volume)
