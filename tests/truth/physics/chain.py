"""The player as a kinematic tree in MuJoCo: pelvis, thorax, lead arm, wrist, grip, club, and the two sensors.

World: z up, y from the player over the ball, x to the player's right. Segments from the upper arm down have ISB axes
(Wu et al. 2005, J Biomech 38:981-992): Y proximal, X volar, Z to the body's right. Joint values are anatomical and the
same for both hands (flexion, ulnar deviation and pronation positive, turn positive in the backswing): a left-handed
player is the mirror image, made here by mirroring positions and axes, nowhere else. Only hinges and slides, so that
velocities are the derivatives of positions. The two `loose` bodies carry a sensor that lies on a table, is held in the
fingers, or sits on a club laid aside.
"""

from __future__ import annotations

import mujoco
import numpy as np
from scipy.spatial.transform import Rotation

from tests.truth.physics.player import Player

JOINTS = (
    "pelvis_x", "pelvis_y", "pelvis_z", "yaw", "tilt", "turn", "side",
    "flex", "adduct", "humeral", "elbow", "pron",
    "skin_roll", "skin_tip",
    "bend", "dev", "axial",
    "grip_x", "grip_y", "grip_z", "spin",
    *(f"{body}_{axis}" for body in ("loosef", "loosec") for axis in ("x", "y", "z", "rz", "ry", "rx")),
)  # fmt: skip
INDEX = {name: i for i, name in enumerate(JOINTS)}
ISB_FROM_WORLD = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])  # rows: X forward, Y up, Z right


def build(player: Player, step_s: float = 1e-3) -> mujoco.MjModel:
    """Compile the tree; nq == nv == len(JOINTS), in the order of `JOINTS`."""
    m = player.mirror

    def at(x, y, z):  # a place in a world-like frame
        return f"{m * x:.9g} {y:.9g} {z:.9g}"

    def about(x, y, z):  # an axis of rotation there: a pseudovector
        return f"{x:.9g} {m * y:.9g} {m * z:.9g}"

    def at_isb(x, y, z):
        return f"{x:.9g} {y:.9g} {m * z:.9g}"

    def about_isb(x, y, z):
        return f"{m * x:.9g} {m * y:.9g} {z:.9g}"

    def joint(name, axis, kind="hinge"):
        return f'<joint name="{name}" type="{kind}" axis="{axis}" armature="0.02"/>'

    def hinge_chain(*pairs):
        return "".join(joint(name, axis) for name, axis in pairs)

    def site(name, place, mount=None):
        return f'<site name="{name}" pos="{place}" quat="{quat(mount or Rotation.identity())}"/>'

    mass = '<inertial pos="0 0 0" mass="1" diaginertia=".1 .1 .1"/>'
    isb = quat(Rotation.from_matrix(ISB_FROM_WORLD.T))
    club = quat(_hand_from_club(player))
    forearm_place = at_isb(-0.03, -(player.forearm_m - 0.05), 0.0)
    loose = "".join(
        f'<body name="{name}">{mass}'
        + "".join(joint(f"{name}_{a}", axis, "slide") for a, axis in (("x", "1 0 0"), ("y", "0 1 0"), ("z", "0 0 1")))
        + hinge_chain((f"{name}_rz", "0 0 1"), (f"{name}_ry", "0 1 0"), (f"{name}_rx", "1 0 0"))
        + site(f"{name}_sensor", "0 0 0")
        + "</body>"
        for name in ("loosef", "loosec")
    )
    xml = f"""
<mujoco><compiler angle="radian" autolimits="true"/>
<option timestep="{step_s}"><flag contact="disable" constraint="disable"/></option>
<worldbody>
 <body name="pelvis">{mass}
  {joint("pelvis_x", at(1, 0, 0), "slide")}{joint("pelvis_y", at(0, 1, 0), "slide")}{joint("pelvis_z", "0 0 1", "slide")}
  {joint("yaw", about(0, 0, 1))}
  <body name="thorax">{mass}
   {hinge_chain(("tilt", about(-1, 0, 0)), ("turn", about(0, 0, -1)), ("side", about(0, 1, 0)))}
   <body name="upper_arm" pos="{at(-player.shoulder_m, 0.03, player.torso_m)}" quat="{isb}">{mass}
    {hinge_chain(("flex", about_isb(0, 0, 1)), ("adduct", about_isb(-1, 0, 0)), ("humeral", about_isb(0, -1, 0)))}
    <body name="ulna" pos="0 {-player.upper_arm_m} 0">{mass}
     {hinge_chain(("elbow", about_isb(0, 0, 1)))}
     {site("elbow", "0 0 0")}
     <body name="forearm">{mass}
      {hinge_chain(("pron", about_isb(0, -1, 0)))}
      {site("forearm", "0 0 0")}{site("wrist", f"0 {-player.forearm_m} 0")}
      <body name="skin">{mass}
       {hinge_chain(("skin_roll", about_isb(0, -1, 0)), ("skin_tip", about_isb(0, 0, 1)))}
       {site("forearm_sensor", forearm_place, player.forearm_mount)}
      </body>
      <body name="hand" pos="0 {-player.forearm_m} 0">{mass}
       {hinge_chain(("bend", about_isb(0, 0, 1)), ("dev", about_isb(-1, 0, 0)), ("axial", about_isb(0, -1, 0)))}
       {site("hand", "0 0 0")}
       <body name="club" pos="{at_isb(0.03, -player.palm_m, 0)}" quat="{club}">{mass}
        {hinge_chain(("grip_x", about_isb(1, 0, 0)), ("grip_y", about_isb(0, 1, 0)), ("grip_z", about_isb(0, 0, 1)))}
        {hinge_chain(("spin", about_isb(0, 1, 0)))}
        {site("club", "0 0 0")}
        {site("club_sensor", at_isb(0.015, -0.2, 0.0), player.club_mount)}
        {site("butt", f"0 {player.grip_butt_m} 0")}{site("head", f"0 {player.grip_butt_m - player.club_m} 0")}
       </body>
      </body>
     </body>
    </body>
   </body>
  </body>
 </body>
 {loose}
</worldbody>
<sensor>{"".join(_sensor(kind, name) for kind, name in CHANNELS)}</sensor>
</mujoco>"""
    model = mujoco.MjModel.from_xml_string(xml)
    assert tuple(model.joint(i).name for i in range(model.njnt)) == JOINTS
    return model


SENSORS = ("forearm_sensor", "club_sensor", "loosef_sensor", "loosec_sensor")
CHANNELS = (
    *((kind, name) for name in SENSORS for kind in ("gyro", "accelerometer")),
    ("framequat", "forearm"), ("framequat", "hand"), ("framequat", "club"),
    ("gyro", "forearm"), ("gyro", "club"),
    ("framepos", "butt"), ("framepos", "head"), ("framepos", "wrist"), ("framepos", "elbow"),
    *((kind, name) for name in SENSORS for kind in ("framequat", "framepos")),
)  # fmt: skip


def slices() -> dict[tuple[str, str], slice]:
    """Where each channel lies in `sensordata`."""
    out, start = {}, 0
    for channel in CHANNELS:
        size = 4 if channel[0] == "framequat" else 3
        out[channel] = slice(start, start + size)
        start += size
    return out


def quat(rotation: Rotation) -> str:
    """Scalar first, as MuJoCo reads it."""
    return " ".join(f"{c:.15g}" for c in rotation.as_quat(scalar_first=True))


def _sensor(kind: str, name: str) -> str:
    if kind.startswith("frame"):
        return f'<{kind} objtype="site" objname="{name}"/>'
    return f'<{kind} site="{name}"/>'


def _hand_from_club(player: Player) -> Rotation:
    """Club axes in the hand: local y from head to butt, local x as nearly volar as that allows."""
    m, angle, volar = player.mirror, player.grip_angle_rad, player.grip_volar_rad
    radial = np.array([0.0, 0.0, -m])
    shaft = np.cos(volar) * (np.cos(angle) * np.array([0.0, -1.0, 0.0]) + np.sin(angle) * radial)
    shaft[0] = np.sin(volar)
    y = -shaft
    x = np.array([1.0, 0.0, 0.0]) - y[0] * y
    x /= np.linalg.norm(x)
    return Rotation.from_matrix(np.column_stack([x, y, np.cross(x, y)]))
