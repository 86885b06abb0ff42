"""Every instant of a packet, for the record: the live path says one readout a packet."""

from __future__ import annotations

from fusion.calibration.fit import BodyFit
from fusion.outputs.instant import NO_ANGLES, NO_SPREAD, Doubt, Moment, Phase, Spread
from fusion.outputs.rep import PhaseChange
from fusion.pairing import Pair
from fusion.pose import Posing
from fusion.rotation import Quat, inverse, mul
from fusion.spread import wild_in
from fusion.swing_angles import SwingAngles, Zero, tilt_only


def doubtful_moments(times_s: list[float], doubt: Doubt) -> tuple[Moment, ...]:
    """Instants at which nothing can be said."""
    idle = Phase.IDLE
    return tuple(Moment(t_s, idle, NO_ANGLES, NO_SPREAD, doubt) for t_s in times_s)


class IdleSeries:
    """Between swings: elevations, from the idle orientations of forearm and club at a packet's last instant."""

    def __init__(self, last: Pair, fit: BodyFit, q_idle: tuple[Quat, Quat]) -> None:
        self._fit = fit
        self._from_free = (mul(q_idle[0], inverse(last[1])), mul(q_idle[1], inverse(last[2])))

    def moments(self, pairs: list[Pair]) -> list[Moment]:
        """Some of the packet's instants."""
        (forearm, club), fit, idle, doubt = self._from_free, self._fit, Phase.IDLE, Doubt.NO_ADDRESS
        return [
            Moment(t_s, idle, tilt_only(mul(forearm, q_forearm), mul(club, q_club), fit), NO_SPREAD, doubt)
            for t_s, q_forearm, q_club, _, _ in pairs
        ]


class SwingSeries:
    """One swing's instants."""

    def __init__(self, angles: SwingAngles, fit: BodyFit) -> None:
        self._angles = angles
        self._posing = Posing(angles.state, fit, angles.butt)

    def moments(
        self, pairs: list[Pair], before: Phase, changes: list[PhaseChange], *, spread: Spread, doubt: Doubt, zero: Zero
    ) -> tuple[Moment, ...]:
        """Some instants, of about the same spread: the phase `before` them holds until a change is dated."""
        self._angles.zero = zero
        seen, pose_of = self._angles.seen, self._posing.of
        wild, sure = wild_in(spread), doubt is Doubt.NONE
        out = []
        for pair in pairs:
            angles, state = seen(pair)
            phase = before
            for change in changes:
                if change.t_s <= pair[0]:
                    phase = change.phase
            if sure:
                known = angles._replace(**wild) if wild else angles
                out.append(Moment(pair[0], phase, known, spread, doubt, pose_of(state)))
            else:
                out.append(Moment(pair[0], phase, NO_ANGLES, NO_SPREAD, doubt))
        return tuple(out)
