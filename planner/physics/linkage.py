"""Where a solid axle goes on its links as the body rises and rolls over it: rigid bars in space, many cases at once.

All places are seen from the body, which stands still: x forward, y left, z up, from the axle's centre at design height.
Of the axle's six ways to move, rise and roll are given; its bars fix the other four: fore-aft and sideways shift, pitch
(nose down positive) and yaw (to the left positive). Four bars do that exactly. A fifth, as the track bar beside four
bars, is one more than a free axle needs: the axle then goes where the bars are stretched least (least squares), and
what is left of stretch is what their bushings must give.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.validation import Array, Flags, require_finite, require_positive

FREE: Final = 4  # of the axle's ways to move: x, y, pitch, yaw
LENGTH_KEPT: Final = 1e-9  # [m] to which as many bars as the axle needs keep their length
BUSHING_GIVE: Final = 0.003  # [m] that the bushings of one bar too many may give, both ends together (from memory)
PARTS: Final = 4  # of the way from design height: each begins where the one before ended, on the same side of a fold
MOST_STEPS: Final = 40  # in one part; a reachable pose takes three to five
SETTLED: Final = 1e-10  # [m, rad] a step below it is the last
ON_THE_WAY: Final = 1e-4  # [m, rad] the same in every part but the last
ROUNDING: Final = 1e-9  # [-] by which the sum of squares of a spare bar may seem to grow near its least
LONGEST_STEP: Final = 0.1  # [m, rad]
LEAST_DAMPING: Final = 1e-13  # [-] beside squares of levers of about 1e-2 m² or more: keeps a solve from failing


@dataclass(frozen=True, eq=False)
class AxleLinks:
    """The bars that hold a solid axle.

    Attributes
    ----------
    frame, axle : ends at design height, from the axle's centre, shape (n, 3), n >= 4 [m]

    Raises
    ------
    Refusal
        If there are fewer than four bars, or one has no length.

    Examples
    --------
    >>> axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0.1, 0.2], [0, -0.1, 0.2]])
    >>> frame = axle + np.array([[0.7, 0.0, 0.05]] * 2 + [[0.5, 0.3, 0.02], [0.5, -0.3, 0.02]])
    >>> AxleLinks(frame, axle).length.round(3).tolist()
    [0.702, 0.702, 0.583, 0.583]
    """

    frame: Array
    axle: Array

    def __post_init__(self) -> None:
        """Refuse what holds no axle."""
        if self.frame.shape != self.axle.shape or self.frame.ndim != 2 or self.frame.shape[1] != 3:
            got = f"{self.frame.shape} and {self.axle.shape}"
            raise Refusal("bar ends must have shape (n, 3) each", got, "give a frame end and an axle end for each bar")
        if len(self.frame) < FREE:
            raise Refusal("an axle needs four bars or more", f"{len(self.frame)}", "add the missing bar")
        require_finite(("bar end at the frame", self.frame, "m"), ("bar end at the axle", self.axle, "m"))
        require_positive(("length of a bar", self.length, "m"))

    @cached_property
    def length(self) -> Array:
        """Length of each bar, shape (n,). [m]"""
        length: Array = np.linalg.norm(self.axle - self.frame, axis=-1)
        return length

    @property
    def give(self) -> float:
        """Stretch up to which a pose counts as reached: rounding, or what bushings give where a bar is spare. [m]"""
        return LENGTH_KEPT if len(self.frame) == FREE else BUSHING_GIVE


class AxlePose(NamedTuple):
    """Where the axle is, seen from the body; every array of shape (...) but stretch.

    x, y, z : of the axle's centre: forward, left, up; z is the rise with its sign turned [m]
    pitch, yaw, roll : nose down, to the left, left side up; roll is the body's with its sign turned [rad]
    stretch : by which each bar would be longer than it is, shape (..., n) [m]
    converged : whether the search came to its end; where it did not, the pose is only the last one tried
    reached : whether it converged and no bar is stretched by more than `AxleLinks.give`; else the axle cannot be there
    """

    x: Array
    y: Array
    z: Array
    pitch: Array
    yaw: Array
    roll: Array
    stretch: Array
    converged: Flags
    reached: Flags

    @property
    def turn(self) -> Array:
        """Rotation of the axle against its design attitude, Rz(yaw) Rx(roll) Ry(pitch), shape (..., 3, 3)."""
        return _turn(self.pitch, self.yaw, self.roll)

    def at(self, point: ArrayLike) -> Array:
        """Return where a point of the axle is, given where it is at design height, shapes (..., 3). [m]"""
        place: Array = (self.turn @ np.asarray(point, float)[..., None])[..., 0]
        place += np.stack([self.x, self.y, self.z], axis=-1)
        return place


class AxleRates(NamedTuple):
    """How the axle moves at a pose: of x, y [m], pitch and yaw [rad], shape (..., 4) each.

    by_rise : per metre that the body rises over the axle
    by_roll : per radian that the body rolls over the axle
    """

    by_rise: Array
    by_roll: Array


def pose_axle(links: AxleLinks, rise: ArrayLike, roll: ArrayLike = 0.0, *, longer: ArrayLike = 0.0) -> AxlePose:
    r"""Return where the axle goes as the body stands higher over it and rolls, each of shape (...).

    Parameters
    ----------
    links : AxleLinks
    rise : array_like, shape (...)
        Of the body over the axle's centre, against design height. [m]
    roll : array_like, a shape that broadcasts
        Of the body against the axle, left side up positive. [rad]
    longer : array_like, shape (..., n) or one that broadcasts
        By how much bars are longer than at design height they are. [m]

    Returns
    -------
    AxlePose
        `reached` is false where the bars do not come that far: nothing is clipped to where they do.

    Raises
    ------
    Refusal
        If a rise, a roll or a length is not finite, or a bar is left without length.

    Notes
    -----
    Each bar keeps :math:`|p + R a_i - f_i| = l_i`. Gauss-Newton with the bars' exact derivatives, which for four bars
    is Newton's method on the lengths; damped (Levenberg-Marquardt) where a step does not help. The way from design
    height is gone in parts, so that the pose found is the one the axle can move to and not its mirror image.

    References
    ----------
    .. [1] J. Nocedal and S. J. Wright, Numerical Optimization, 2nd ed., Springer, 2006, sec. 10.3.

    Examples
    --------
    A bar of 0.5 m that is level at design height: its end drops 0.1 m and comes 0.5 - sqrt(0.5² - 0.1²) forward.

    >>> axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0.5, 0.2], [0, -0.5, 0.2], [0, 0.4, 0.0]])
    >>> frame = axle + np.array([[0.5, 0, 0]] * 4 + [[0, -9.0, 0]])
    >>> round(float(pose_axle(AxleLinks(frame, axle), 0.1).x), 3)
    0.01
    """
    require_finite(("rise", rise, "m"), ("roll", roll, "rad"), ("change of a bar's length", longer, "m"))
    lengths = links.length + np.asarray(longer, float)
    require_positive(("length of a bar", lengths, "m"))
    shape = np.broadcast_shapes(np.shape(rise), np.shape(roll), lengths.shape[:-1])
    z, tilt = (-np.broadcast_to(np.asarray(one, float), shape).reshape(-1) for one in (rise, roll))
    wanted = np.broadcast_to(lengths, (*shape, lengths.shape[-1])).reshape(-1, lengths.shape[-1])
    q = np.zeros((z.size, FREE))
    settled = np.ones(z.size, bool)
    for n in range(1, PARTS + 1):
        part, last = n / PARTS, SETTLED if n == PARTS else ON_THE_WAY
        q, settled = _search(links, q, part * z, part * tilt, links.length + part * (wanted - links.length), last)
    stretch = _bars(links, q, z, tilt)[0] - wanted
    reached = settled & (np.abs(stretch).max(axis=-1) <= links.give)
    x, y, pitch, yaw, z, tilt = (one.reshape(shape) for one in (*q.T, z, tilt))
    flags = (one.reshape(shape) for one in (settled, reached))
    return AxlePose(x, y, z, pitch, yaw, tilt, stretch.reshape(*shape, -1), *flags)


def axle_rates(links: AxleLinks, pose: AxlePose) -> AxleRates:
    """Return how the axle moves at a pose, shape (..., 4) each: the derivative of the bars' lengths solved for it.

    Examples
    --------
    >>> axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0.1, 0.2], [0, -0.1, 0.2]])
    >>> frame = axle + np.array([[0.7, 0.0, 0.0]] * 2 + [[0.5, 0.3, 0.0], [0.5, -0.3, 0.0]])
    >>> links = AxleLinks(frame, axle)
    >>> axle_rates(links, pose_axle(links, 0.0)).by_rise.round(6).tolist()  # all bars level: straight down
    [0.0, 0.0, 0.0, 0.0]
    """
    q = np.stack([pose.x, pose.y, pose.pitch, pose.yaw], axis=-1)
    _, jacobian, along, by_roll = _bars(links, q, pose.z, pose.roll)
    asked = np.swapaxes(jacobian, -1, -2) @ np.stack([along[..., 2], by_roll], axis=-1)
    rates = np.linalg.solve(_normal(jacobian, np.zeros(())), asked).astype(float, copy=False)
    return AxleRates(rates[..., 0], rates[..., 1])


def side_view_centre(rates: AxleRates) -> Array:
    """Return the instant centre of the axle in side view, from its centre: ahead and above, shape (..., 2). [m]

    The point of the axle that stands still as the body rises; infinite where the axle does not pitch.

    Examples
    --------
    A pitch of 1 rad a metre, nose up as the body rises: 1 m ahead.

    >>> side_view_centre(AxleRates(np.array([0.0, 0.0, -1.0, 0.0]), np.zeros(4))).tolist()
    [1.0, 0.0]
    """
    forward, pitch = rates.by_rise[..., 0], rates.by_rise[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead, above = -1.0 / pitch, -forward / pitch
    level = np.where(forward == 0.0, 0.0, np.copysign(np.inf, forward))
    centre: Array = np.stack([np.where(pitch == 0, np.inf, ahead), np.where(pitch == 0, level, above)], axis=-1)
    centre += 0.0  # no minus before nought
    return centre


def anti_squat(rates: AxleRates, wheel_radius: ArrayLike, mass_height: ArrayLike, wheelbase: ArrayLike) -> Array:
    r"""Return the part of the load that driving puts on the rear axle which its links carry, shape (...). [-]

    Parameters
    ----------
    rates : AxleRates
    wheel_radius : array_like
        Height of the axle's centre above ground, > 0. [m]
    mass_height : array_like
        Of the truck's mass above ground, > 0. [m]
    wheelbase : array_like
        > 0. [m]

    Raises
    ------
    Refusal
        If one of them is not > 0.

    Notes
    -----
    :math:`\tan\phi \, L / h`, with φ the slope of the line from the tyre's contact to the instant centre in side view;
    for a solid axle that drives [1]_. Taken from the contact's own motion, so that it stands where the centre is far.

    References
    ----------
    .. [1] T. D. Gillespie, Fundamentals of Vehicle Dynamics, SAE, 1992, ch. 7, "Anti-squat" (from memory).

    Examples
    --------
    Centre 2 m ahead and 0.5 m above ground, wheel radius 0.4 m: slope 0.25, times 3 m over 0.75 m.

    >>> rates = AxleRates(np.array([0.05, 0.0, -0.5, 0.0]), np.zeros(4))
    >>> round(float(anti_squat(rates, 0.4, 0.75, 3.0)), 12)
    1.0
    """
    radius, height, length = (np.asarray(one, float) for one in (wheel_radius, mass_height, wheelbase))
    require_positive(("wheel radius", radius, "m"), ("height of the mass", height, "m"), ("wheelbase", length, "m"))
    share: Array = (rates.by_rise[..., 0] - radius * rates.by_rise[..., 2]) * length / height
    return share


def roll_centre(rates: AxleRates) -> Array:
    """Return the height over the axle's centre about which the body rolls there, shape (...). [m]

    The point of the axle's upright plane that does not move sideways as the body rolls over the axle.

    Examples
    --------
    >>> float(roll_centre(AxleRates(np.zeros(4), np.array([0.0, -0.1, 0.0, 0.0]))))
    0.1
    """
    height: Array = -rates.by_roll[..., 1]
    return height


def bar_swing(links: AxleLinks, pose: AxlePose) -> Array:
    """Return by how much each bar has swung since design height, at frame and axle, shape (..., n, 2). [rad]

    Examples
    --------
    >>> axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0.1, 0.2], [0, -0.1, 0.2]])
    >>> links = AxleLinks(axle + np.array([[0.7, 0.0, 0.0]] * 2 + [[0.5, 0.3, 0.0], [0.5, -0.3, 0.0]]), axle)
    >>> float(bar_swing(links, pose_axle(links, 0.0)).max())
    0.0
    """
    q = np.stack([pose.x, pose.y, pose.pitch, pose.yaw], axis=-1)
    _, _, along, _ = _bars(links, q, pose.z, pose.roll)
    design = (links.axle - links.frame) / links.length[:, None]
    from_axle = along @ pose.turn  # R^T u, a row each
    swing: Array = np.stack([angle_between(design, one) for one in (along, from_axle)], axis=-1)
    return swing


def angle_between(one: Array, other: Array) -> Array:
    """Return the angle between unit vectors, shapes (..., 3) that broadcast; exact near nought too. [rad]

    Examples
    --------
    >>> float(angle_between(np.array([1.0, 0, 0]), np.array([1.0, 0, 0])))
    0.0
    """
    apart, along = np.linalg.norm(one - other, axis=-1), np.linalg.norm(one + other, axis=-1)
    angle: Array = 2.0 * np.arctan2(apart, along)  # W. Kahan's form
    return angle


def _turn(pitch: Array, yaw: Array, roll: Array) -> Array:
    """Return Rz(yaw) Rx(roll) Ry(pitch), shape (..., 3, 3): roll is that of the wheels' heights, whatever the pitch."""
    cp, sp, cy, sy, cr, sr = (f(one) for one in (pitch, yaw, roll) for f in (np.cos, np.sin))
    turn = np.empty((*np.shape(pitch), 3, 3))
    turn[..., 0, 0], turn[..., 0, 1], turn[..., 0, 2] = cy * cp - sy * sr * sp, -sy * cr, cy * sp + sy * sr * cp
    turn[..., 1, 0], turn[..., 1, 1], turn[..., 1, 2] = sy * cp + cy * sr * sp, cy * cr, sy * sp - cy * sr * cp
    turn[..., 2, 0], turn[..., 2, 1], turn[..., 2, 2] = -cr * sp, sr, cr * cp
    return turn


def _bars(links: AxleLinks, q: Array, z: Array, roll: Array) -> tuple[Array, Array, Array, Array]:
    """Return length of each bar (..., n), its slopes by x, y, pitch, yaw (..., n, 4), direction, slope by axle roll.

    A turn about an axis e moves the end at b from the axle's centre by e × b, and lengthens a bar along u by
    u · (e × b) = e · (b × u).
    """
    turn = _turn(q[..., 2], q[..., 3], roll)
    arm = np.einsum("...ij,nj->...ni", turn, links.axle)
    bar = arm - links.frame
    bar[..., 0] += q[..., 0, None]
    bar[..., 1] += q[..., 1, None]
    bar[..., 2] += z[..., None]
    length: Array = np.sqrt(np.einsum("...i,...i->...", bar, bar))
    along: Array = bar / length[..., None]
    (ax, ay, az), (ux, uy, uz) = (np.moveaxis(one, -1, 0) for one in (arm, along))
    lever = np.stack([ay * uz - az * uy, az * ux - ax * uz, ax * uy - ay * ux], axis=-1)
    jacobian = np.empty((*length.shape, FREE))
    jacobian[..., :2] = along[..., :2]
    jacobian[..., 2] = np.einsum("...ni,...i->...n", lever, turn[..., :, 1])
    jacobian[..., 3] = lever[..., 2]
    by_roll = np.cos(q[..., 3, None]) * lever[..., 0] + np.sin(q[..., 3, None]) * lever[..., 1]
    return length, jacobian, along, by_roll


def _normal(jacobian: Array, damping: Array) -> Array:
    """Return the normal matrix of bars, damped, shape (..., 4, 4)."""
    square: Array = np.swapaxes(jacobian, -1, -2) @ jacobian
    square += np.maximum(damping, LEAST_DAMPING)[..., None, None] * np.eye(FREE)
    return square


def _search(links: AxleLinks, q: Array, z: Array, roll: Array, wanted: Array, last: float) -> tuple[Array, Flags]:
    """Return the poses (m, 4) that stretch the bars least, searched for from others, and which searches ended.

    A search ends with a step below `last` [m, rad].
    """
    q, open_cases, damping = q.copy(), np.arange(len(q)), np.zeros(len(q))
    length, jacobian = _bars(links, q, z, roll)[:2]
    off = length - wanted
    for _ in range(MOST_STEPS):
        if not open_cases.size:
            break
        n = open_cases
        down = np.einsum("mni,mn->mi", jacobian[n], off[n])[..., None]
        step = np.linalg.solve(_normal(jacobian[n], damping[n]), down)[..., 0]
        longest = np.abs(step).max(axis=-1, keepdims=True)
        tried = q[n] - step * np.minimum(1.0, LONGEST_STEP / np.maximum(longest, LONGEST_STEP))
        length, slopes = _bars(links, tried, z[n], roll[n])[:2]
        now = length - wanted[n]
        small = longest[:, 0] < last
        helps = ((now**2).sum(axis=-1) <= (1.0 + ROUNDING) * (off[n] ** 2).sum(axis=-1)) | small
        better = n[helps]
        q[better], off[better], jacobian[better] = tried[helps], now[helps], slopes[helps]
        eased = np.where(damping[n] > 1e-9, 0.1 * damping[n], 0.0)
        damping[n] = np.where(helps, eased, np.maximum(10.0 * damping[n], 1e-6))
        open_cases = n[~(small & (damping[n] == 0.0))]
    settled = np.ones(len(q), bool)
    settled[open_cases] = False
    return q, settled
