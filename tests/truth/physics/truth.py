"""True angles from the engine's orientations of forearm, hand and club, and the true dates of each swing.

Signs: ISB flexion (bow) and ulnar deviation positive on both hands, X and Y angles negated on a left arm; roll positive
with the palm turning down; face twist positive when it shuts (a left forearm's pronation, with the shaft in line,
opens the face of a right-handed player: check values G1, G5 and G7 of the project's list of published facts).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from tests.truth.physics.chain import slices
from tests.truth.physics.player import Player
from tests.truth.physics.stage import Swing

Series = NDArray[np.float64]
AT = slices()
ANYTIME = ("bend_deg", "hinge_deg", "shaft_elevation_deg", "arm_elevation_deg")
SINCE_ADDRESS = (
    "bend_change_deg",
    "hinge_change_deg",
    "forearm_roll_deg",
    "face_twist_deg",
    "shaft_pitch_deg",
    "butt_line_m",
)
FLOOR = ("floor_bend_change_deg", "floor_hinge_change_deg")
QUATS = ("forearm", "hand", "club", "forearm_sensor", "club_sensor")
DATES = ("takeaway_s", "shaft_level_s", "lead_arm_level_s", "top_s", "impact_s")
MOVED = np.radians(1.0)  # takeaway: the shaft is a degree away from where it lay
HOLD_S = 0.3


@dataclass(frozen=True, slots=True)
class Poses:
    """What truth needs of the engine's output, at equally spaced times."""

    t_s: Series
    forearm: Series  # (n, 4) scalar first
    hand: Series
    club: Series
    forearm_sensor: Series
    club_sensor: Series
    butt_m: Series
    head_m: Series
    forearm_turn_rad: Series  # integral of the rate about the bone's own y
    club_turn_rad: Series  # integral of the rate about the club's own y

    @staticmethod
    def of(t_s: Series, read: Series, step_s: float, before: Poses | None, every: int) -> Poses:
        """Integrate at the full rate, keep every n-th sample; continues where `before` ended."""
        turns = []
        for name, last in (
            ("forearm", before and before.forearm_turn_rad[-1]),
            ("club", before and before.club_turn_rad[-1]),
        ):
            rate = read[:, AT["gyro", name]][:, 1]
            turns.append((last or 0.0) + np.cumsum(rate) * step_s)
        pick = slice(every - 1, None, every)
        quats = (read[pick, AT["framequat", name]] for name in QUATS)
        places = (read[pick, AT["framepos", name]] for name in ("butt", "head"))
        return Poses(t_s[pick], *quats, *places, turns[0][pick], turns[1][pick])

    @staticmethod
    def join(parts: list[Poses]) -> Poses:
        return Poses(*(np.concatenate([getattr(p, name) for p in parts]) for name in Poses.__slots__))


def truth_of(player: Player, poses: Poses, swings: list[Swing]) -> tuple[dict[str, Series], list[dict[str, float]]]:
    """Series by name on `poses.t_s` (those since address are NaN outside a swing), and the dates of each swing."""
    forearm, hand, club = (Rotation.from_quat(q, scalar_first=True) for q in (poses.forearm, poses.hand, poses.club))
    m = player.mirror
    flexion, about_x, _ = (forearm.inv() * hand).as_euler("ZXY").T
    shaft = -club.as_matrix()[:, :, 1]
    arm = -forearm.as_matrix()[:, :, 1]
    series = {
        "bend_deg": np.degrees(flexion),
        "hinge_deg": np.degrees(-m * about_x),
        "shaft_elevation_deg": np.degrees(np.arcsin(np.clip(shaft[:, 2], -1.0, 1.0))),
        "arm_elevation_deg": np.degrees(np.arcsin(np.clip(arm[:, 2], -1.0, 1.0))),
        **{name: np.full(poses.t_s.size, np.nan) for name in (*SINCE_ADDRESS, *FLOOR)},
    }
    dates = [_swing(player, poses, swing, arm, shaft, series) for swing in swings]
    return series, dates


def _swing(
    player: Player, poses: Poses, swing: Swing, arm: Series, shaft: Series, series: dict[str, Series]
) -> dict[str, float]:
    t, m = poses.t_s, player.mirror
    hold = (t >= max(swing.hold_s, swing.start_s - HOLD_S)) & (t <= swing.start_s)
    lay = shaft[hold].mean(axis=0)
    lay /= np.linalg.norm(lay)
    away = np.arccos(np.clip(shaft @ lay, -1.0, 1.0))
    during = np.flatnonzero((t >= swing.hold_s) & (t <= swing.finish_s))
    up = np.flatnonzero((t >= swing.start_s) & (t < swing.impact_s))
    arm_up, shaft_up = series["arm_elevation_deg"], series["shaft_elevation_deg"]
    top = up[np.argmax(arm_up[up])]
    back = up[up <= top]
    takeaway = back[np.flatnonzero(away[back] < MOVED)[-1]]
    near = np.flatnonzero((t > t[top]) & (t < swing.impact_s + 0.05))
    dates = {
        "hold_s": swing.hold_s, "takeaway_s": t[takeaway], "shaft_level_s": _crossing(t, shaft_up, takeaway, top),
        "lead_arm_level_s": _crossing(t, arm_up, takeaway, top), "top_s": _peak(t, arm_up, top),
        "impact_s": t[near[np.argmin(away[near])]], "finish_s": swing.finish_s, "struck_s": swing.impact_s,
        "hit": float(swing.hit), "impact_off_deg": float(np.degrees(away[near].min())),
        **_lengths(arm, shaft, hold, top, lay),
    }  # fmt: skip
    outward = _outward(lay)
    for name, values in {
        "bend_change_deg": series["bend_deg"] - series["bend_deg"][hold].mean(),
        "hinge_change_deg": series["hinge_deg"] - series["hinge_deg"][hold].mean(),
        "forearm_roll_deg": np.degrees(-m * (poses.forearm_turn_rad - poses.forearm_turn_rad[hold].mean())),
        "face_twist_deg": np.degrees(m * (poses.club_turn_rad - poses.club_turn_rad[hold].mean())),
        "shaft_pitch_deg": pitch_deg(shaft, outward),
        "butt_line_m": butt_line_m(poses, shaft, outward, hold),
        **dict(zip(FLOOR, _floor(poses, hold, series, m), strict=True)),
    }.items():
        series[name][during] = values[during]
    return dates


def _outward(lay: Series) -> Series:
    """Level direction in which the shaft lies at address: from the player to the ball."""
    return np.array([lay[0], lay[1], 0.0]) / np.hypot(lay[0], lay[1])


def _lengths(arm: Series, shaft: Series, hold: NDArray[np.bool_], top: int, lay: Series) -> dict[str, float]:
    """How far arm and shaft have gone at the highest arm: the arm from its mean at address, the shaft past level (+).

    Past level is past it on the target side: the shaft has gone over the upright, carried by the turn that began at address.
    """
    at_address = arm[hold].mean(axis=0)
    at_address /= np.linalg.norm(at_address)
    elevation = float(np.degrees(np.arcsin(np.clip(shaft[top, 2], -1.0, 1.0))))
    along = np.cross(_outward(lay), [0.0, 0.0, 1.0])  # the target line, whichever way
    back = arm[top] @ along  # the arm has gone to the trail side
    over = np.sign(shaft[top] @ along) != np.sign(back)
    return {
        "arm_length_deg": float(np.degrees(np.arccos(np.clip(arm[top] @ at_address, -1.0, 1.0)))),
        "shaft_length_deg": -elevation if over else elevation - 180.0,
    }


def _floor(poses: Poses, hold: NDArray[np.bool_], series: dict[str, Series], mirror: float) -> tuple[Series, Series]:
    """Change of bend and hinge that sensors without any error would show if they were glued to bone and hand since address.

    What skin, play and slip alone cost an estimator that knows nothing of them.
    """
    forearm, hand, on_forearm, on_club = (
        Rotation.from_quat(getattr(poses, name), scalar_first=True)
        for name in ("forearm", "hand", "forearm_sensor", "club_sensor")
    )
    to_forearm = (on_forearm[hold].inv() * forearm[hold]).mean()
    to_hand = (on_club[hold].inv() * hand[hold]).mean()
    angles = ((on_forearm * to_forearm).inv() * (on_club * to_hand)).as_euler("ZXY", degrees=True)
    bend, hinge = angles[:, 0], -mirror * angles[:, 1]
    return bend - series["bend_deg"][hold].mean(), hinge - series["hinge_deg"][hold].mean()


def pitch_deg(shaft: Series, outward: Series) -> Series:
    """Angle of the shaft line to the horizontal in the upright plane of address, measured from the player's side:
    90 upright, more leans over the ball; NaN while the projection is shorter than half the shaft.
    """
    y, z = shaft @ outward, shaft[:, 2]
    angle = np.degrees(np.arctan2(z, -y)) % 180.0
    return np.where(np.hypot(y, z) < 0.5, np.nan, angle)


def butt_line_m(poses: Poses, shaft: Series, outward: Series, hold: NDArray[np.bool_]) -> Series:
    """Where the shaft line past the butt meets the ground: metres inside the ball line (+), while the shaft is
    steeper than 30 deg (a flatter line meets the ground anywhere)."""
    ground = poses.head_m[hold].mean(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        run = (poses.butt_m[:, 2] - ground[2]) / shaft[:, 2]
        hit = poses.butt_m - run[:, None] * shaft
    inside = (ground - hit) @ outward
    return np.where(shaft[:, 2] > 0.5, inside, np.nan)


def _crossing(t: Series, y: Series, start: int, end: int) -> float:
    """First time that y rises through 0 between two samples."""
    rising = start + np.flatnonzero((y[start:end] < 0.0) & (y[start + 1 : end + 1] >= 0.0))
    if not rising.size:
        return float("nan")
    i = rising[0]
    return float(t[i] - y[i] * (t[i + 1] - t[i]) / (y[i + 1] - y[i]))


def _peak(t: Series, y: Series, i: int) -> float:
    """Vertex of the parabola through the highest sample and its neighbours."""
    a, b, c = y[i - 1 : i + 2]
    curve = a - 2.0 * b + c
    return float(t[i] + (0.5 * (a - c) / curve * (t[1] - t[0]) if curve < 0.0 else 0.0))
