"""The rocker against MuJoCo (general-purpose multibody library), in three dimensions, with splay.

MuJoCo's own constraints are soft (they give under load), so its kinematics are used instead: bodies, hinges
and slides are MuJoCo's, positions and Jacobians are measured by it, and a Newton iteration on its measured
distances closes the loop. Nothing of the product's frames enters but the model's dimensions.
"""

import mujoco
import numpy as np
import pytest

from tests.laws.random_rockers import one, random_rockers
from valvetrain.mechanics.rocker.linkage import closed_position, planar_length, swung

COUNT = 24
MODEL = """
<mujoco>
  <compiler angle="radian"/>
  <worldbody>
    <body name="rocker" pos="{shaft_x} {shaft_y} 0">
      <joint name="shaft" type="hinge" axis="0 0 1"/>
      <geom size="0.001" mass="0.1"/>
      <site name="pad" pos="{pad_arm} 0 0"/>
      <site name="socket" pos="{socket_x} {socket_y} {splay}"/>
    </body>
    <body name="tappet" pos="{foot_x} {foot_y} 0">
      <joint name="bore" type="slide" axis="{bore_x} {bore_y} 0"/>
      <geom size="0.001" mass="0.1"/>
      <site name="ball" pos="0 0 0"/>
    </body>
  </worldbody>
</mujoco>
"""


class Machine:
    """One rocker in MuJoCo: joints set by hand, positions and Jacobians read back."""

    def __init__(self, g, splay):
        lean = g["tappet_angle"]
        text = MODEL.format(
            shaft_x=-g["setback"],
            shaft_y=g["height"],
            pad_arm=g["pad_arm"],
            socket_x=g["socket_arm"] * np.cos(g["arm_angle"]),
            socket_y=g["socket_arm"] * np.sin(g["arm_angle"]),
            splay=splay,
            foot_x=-g["setback"] - g["tappet_setback"] * np.cos(lean),
            foot_y=g["height"] - g["tappet_setback"] * np.sin(lean),
            bore_x=-np.sin(lean),
            bore_y=np.cos(lean),
        )
        self.model = mujoco.MjModel.from_xml_string(text)
        self.data = mujoco.MjData(self.model)

    def place(self, angle, position):
        self.data.qpos[:] = [angle, position]
        mujoco.mj_kinematics(self.model, self.data)
        mujoco.mj_comPos(self.model, self.data)

    def site(self, name):
        """Position [3] and Jacobian [3, 2] with respect to rocker angle and tappet travel."""
        jacobian = np.zeros((3, 2))
        mujoco.mj_jacSite(self.model, self.data, jacobian, None, self.model.site(name).id)
        return self.data.site(name).xpos.copy(), jacobian

    def distance(self):
        """Between the balls, and its derivatives."""
        (upper, turn), (lower, slide) = self.site("socket"), self.site("ball")
        span = upper - lower
        length = np.linalg.norm(span)
        return length, span @ (turn - slide) / length


GEOMETRY, FULL = random_rockers(COUNT, seed=7)


@pytest.mark.parametrize("row", range(COUNT))
def test_rocker_agrees_with_multibody(row):
    g = one(GEOMETRY, row)
    splay = 0.03 * np.cos(row)
    length = g.pop("pushrod_planar_length") + 0.02
    closed = closed_position(**g, pushrod_planar_length=planar_length(length=length, splay=splay))
    lifts = float(FULL[row]) * np.array([0.0, 0.3, 0.7, 1.0])
    swing = swung(closed, lifts, splay=splay)

    machine = Machine(g, splay)
    angle, position = 0.0, -length
    for _ in range(30):  # on the base circle: pad `lash` above the tip
        machine.place(angle, position)
        pad, jacobian = machine.site("pad")
        angle -= (pad[1] - g["pad_radius"] - g["lash"]) / jacobian[1, 0]
    for _ in range(30):
        machine.place(angle, position)
        now, slope = machine.distance()
        position -= (now - length) / slope[1]
    assert closed.pad_angle == pytest.approx(angle, abs=1e-9)
    closed_pad = pad[1]
    for column, lift in enumerate(lifts):
        for _ in range(30):
            machine.place(angle, position + lift)
            now, slope = machine.distance()
            angle -= (now - length) / slope[0]
        assert now == pytest.approx(length, abs=1e-14)
        pad, jacobian = machine.site("pad")
        assert swing.pad_angle[column] == pytest.approx(angle, abs=1e-9)
        assert swing.pad_drop[column] == pytest.approx(closed_pad - pad[1], abs=1e-11)
        assert swing.contact_x[column] == pytest.approx(pad[0], abs=1e-11)
        # Implicit derivative of the loop, from MuJoCo's Jacobians.
        assert swing.ratio[column] == pytest.approx(jacobian[1, 0] * slope[1] / slope[0], rel=1e-9)
        bore = np.array([-np.sin(g["tappet_angle"]), np.cos(g["tappet_angle"]), 0.0])
        rod = machine.site("socket")[0] - machine.site("ball")[0]
        off_bore = np.linalg.norm(np.cross(rod, bore)) / length
        assert np.sin(swing.tappet_angle[column]) == pytest.approx(off_bore, abs=1e-9)
