"""Every instant, for the record: the live path says one readout a packet.

Instants of a swing are held back until it is over: only then is it known to which phase each belongs.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from fusion.calibration.fit import BodyFit
from fusion.club_state import DISTAL
from fusion.orientation.track import SensorTrack
from fusion.outputs.instant import NO_ANGLES, NO_SPREAD, Angles, Doubt, Moment, Phase, Spread
from fusion.outputs.rep import Rep
from fusion.pairing import Pair
from fusion.pose import Posing
from fusion.rotation import Quat, Vec, rotate
from fusion.spread import wild_in
from fusion.swing_angles import SwingAngles, Zero
from sensors.ids import Role


def doubtful_moments(times_s: list[float], doubt: Doubt) -> list[Moment]:
    """Instants at which nothing can be said."""
    idle = Phase.IDLE
    return [Moment(t_s, idle, NO_ANGLES, NO_SPREAD, doubt) for t_s in times_s]


def idle_moments(pairs: Sequence[Pair], tracks: dict[Role, SensorTrack], fit: BodyFit) -> list[Moment]:
    """Instants between swings: elevations, from each sensor's idle orientation."""
    times, idle, doubt = [pair[0] for pair in pairs], Phase.IDLE, Doubt.NO_ADDRESS
    shaft = _rises(tracks[Role.CLUB].idle.at(times), fit.shaft_sensor)
    arm = _rises(tracks[Role.FOREARM].idle.at(times), rotate(fit.q_sensor_from_forearm, DISTAL))
    elevations: list[float] = np.arcsin(shaft + arm).tolist()
    return [
        Moment(t_s, idle, Angles(None, None, None, None, None, shaft_rad, None, arm_rad), NO_SPREAD, doubt)
        for t_s, shaft_rad, arm_rad in zip(times, elevations, elevations[len(times) :], strict=False)
    ]


def _rises(q_earth_from_sensor: Sequence[Quat], direction: Vec) -> list[float]:
    """Sines of a direction's elevations, by sensor axes and orientations."""
    dx, dy, dz = direction
    rises = [
        2 * (x * z - w * y) * dx + 2 * (y * z + w * x) * dy + (1 - 2 * (x * x + y * y)) * dz
        for w, x, y, z in q_earth_from_sensor
    ]
    return [max(-1.0, min(1.0, rise)) for rise in rises]


_DATED: Final = (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT)


@dataclass(slots=True)
class PhaseLog:
    """When each phase of one swing began, in order."""

    _begun: list[tuple[float, Phase]] = field(default_factory=lambda: [(-math.inf, Phase.ADDRESS)])

    def note(self, t_s: float, phase: Phase) -> None:
        """A phase began."""
        self._begun.append((t_s, phase))

    def refine(self, rep: Rep) -> None:
        """The swing's marks have been dated again: each belongs to the last phase of its name."""
        marks: dict[Phase, float] = {phase: rep.checkpoints[phase].t_s for phase in _DATED if phase in rep.checkpoints}
        marks[Phase.TAKEAWAY] = rep.takeaway_s
        for i in range(len(self._begun) - 1, -1, -1):
            at_s = marks.pop(self._begun[i][1], None)
            if at_s is not None:
                self._begun[i] = (at_s, self._begun[i][1])

    def at(self, times_s: Sequence[float]) -> list[Phase]:
        """The phase at each of some instants, in order; one that is dated before the phase it follows is passed over."""
        phases: list[Phase] = []
        latest_s = -math.inf
        begun: list[tuple[float, Phase]] = []
        for t_s, phase in self._begun:
            latest_s = max(latest_s, t_s)
            begun.append((latest_s, phase))
        i = 0
        for t_s in times_s:
            while i + 1 < len(begun) and begun[i + 1][0] <= t_s:
                i += 1
            phases.append(begun[i][1])
        return phases


class SwingSeries:
    """One swing's instants."""

    def __init__(self, angles: SwingAngles, fit: BodyFit) -> None:
        self.phases = PhaseLog()
        self._angles = angles
        self._posing = Posing(angles.state, fit, angles.butt)
        self._held: list[tuple[Sequence[Pair], Spread, Doubt]] = []

    def hold(self, pairs: Sequence[Pair], spread: Spread, doubt: Doubt) -> None:
        """Keep some instants, of about the same spread."""
        if pairs:
            self._held.append((pairs, spread, doubt))

    def hand_over(self, other: SwingSeries, since_s: float) -> None:
        """Let another swing's series have what was kept of the time since its zero."""
        held, self._held = self._held, []
        for pairs, spread, doubt in held:
            n = bisect.bisect_left(pairs, since_s, key=lambda pair: pair[0])
            self.hold(pairs[:n], spread, doubt)
            other.hold(pairs[n:], spread, doubt)

    def moments(self, zero: Zero) -> list[Moment]:
        """All that were kept since this was last asked for; changes since address are counted from `zero`."""
        held, self._held = self._held, []
        self._angles.zero = zero
        phases = iter(self.phases.at([pair[0] for pairs, _, _ in held for pair in pairs]))
        seen, pose_of = self._angles.seen, self._posing.of
        out = []
        for pairs, spread, doubt in held:
            wild, sure = wild_in(spread), doubt is Doubt.NONE
            for pair in pairs:
                angles, state = seen(pair)
                phase = next(phases)
                if sure:
                    known = angles._replace(**wild) if wild else angles
                    out.append(Moment(pair[0], phase, known, spread, doubt, pose_of(state)))
                else:
                    out.append(Moment(pair[0], phase, NO_ANGLES, NO_SPREAD, doubt))
        return out
