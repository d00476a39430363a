"""The axle on its links against a general rigid-body engine: bars as bodies on ball joints, their ends connected.

The engine is told where the bars' ends are and nothing of how they move; from design height its own constraints and
their own derivatives bring it to where bars and axle meet again. Goal of the design: 1e-6 m, at one metre for angles.
"""

import mujoco
import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.linkage import pose_axle
from tests.physics.links import INCH, four_bars, three_bars_and_track_bar

NEAR = 1e-6  # [m]
JOINTS = ("x", "y", "z", "yaw", "roll", "pitch")
pytestmark = pytest.mark.no_cover


def _xml(links):
    """Return the axle on three slides and three hinges, and a bar on a ball joint for each link."""
    mass = '<inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>'
    axes = ("1 0 0", "0 1 0", "0 0 1", "0 0 1", "1 0 0", "0 1 0")
    kinds = ("slide",) * 3 + ("hinge",) * 3
    nest = "".join(
        f'<body name="{name}">{mass}<joint name="{name}" type="{kind}" axis="{axis}"/>'
        for name, kind, axis in zip(JOINTS, kinds, axes, strict=True)
    )
    bars, ties = "", ""
    for n, (frame, axle) in enumerate(zip(links.frame, links.axle, strict=True)):
        bars += f'<body name="bar{n}" pos="{_text(frame)}">{mass}<joint type="ball"/></body>'
        ties += f'<connect body1="bar{n}" body2="pitch" anchor="{_text(axle - frame)}"/>'
    return (
        f'<mujoco><option gravity="0 0 0" jacobian="dense"/><worldbody>{nest}{"</body>" * 6}{bars}</worldbody>'
        f"<equality>{ties}</equality></mujoco>"
    )


def _text(place):
    return " ".join(f"{value:.17g}" for value in place)


def _engine_pose(links, rise, roll):
    """Return x, y, pitch and yaw to which the engine's constraints bring the axle."""
    model = mujoco.MjModel.from_xml_string(_xml(links))
    data = mujoco.MjData(model)
    held = [model.joint(name).dofadr[0] for name in ("z", "roll")]
    free = np.setdiff1d(np.arange(model.nv), held)
    for part in np.linspace(0.25, 1, 4):
        for name, value in (("z", -rise), ("roll", -roll)):
            data.qpos[model.joint(name).qposadr[0]] = part * value
        for _ in range(12):
            mujoco.mj_fwdPosition(model, data)
            rows = data.efc_type == mujoco.mjtConstraint.mjCNSTR_EQUALITY
            jacobian = data.efc_J.reshape(-1, model.nv)[rows]
            move = np.zeros(model.nv)
            move[free] = -np.linalg.lstsq(jacobian[:, free], data.efc_pos[rows], rcond=1e-10)[0]
            mujoco.mj_integratePos(model, data.qpos, move, 1.0)
    mujoco.mj_fwdPosition(model, data)
    assert np.abs(data.efc_pos).max() < 1e-10
    return [data.qpos[model.joint(name).qposadr[0]] for name in ("x", "y", "pitch", "yaw")]


@pytest.mark.parametrize("seed", range(6))
def test_four_bars_bring_the_axle_where_the_engine_has_it(seed):
    rng = np.random.default_rng(seed)
    links = four_bars(rng) if seed < 5 else three_bars_and_track_bar(slope=0.1)
    for rise, roll in zip(rng.uniform(-4, 4, 4) * INCH, rng.uniform(-0.1, 0.1, 4), strict=True):
        pose = pose_axle(links, rise, roll)
        found = [pose.x, pose.y, pose.pitch, pose.yaw]
        assert_allclose(found, _engine_pose(links, rise, roll), rtol=0, atol=NEAR)
