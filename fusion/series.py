"""Every instant of a packet, for the record: the live path says one readout a packet."""

from __future__ import annotations

from fusion.calibration.fit import BodyFit
from fusion.measure import SwingMeasure, tilt_only
from fusion.outputs import NO_SPREAD, Angles, Doubt, Moment, Phase, PhaseChange, Spread
from fusion.pairing import Pair
from fusion.rotation import Quat, inverse, mul
from fusion.spread import trusted


def doubtful_moments(times_s: list[float], doubt: Doubt) -> tuple[Moment, ...]:
    """Instants at which nothing can be said."""
    return tuple(Moment(t_s=t_s, phase=Phase.IDLE, angles=Angles(), spread=NO_SPREAD, doubt=doubt) for t_s in times_s)


def idle_moments(pairs: list[Pair], fit: BodyFit, q_idle: tuple[Quat, Quat]) -> tuple[Moment, ...]:
    """Between swings: elevations, from the idle orientations of forearm and club at the last instant."""
    last = pairs[-1]
    from_free = (mul(q_idle[0], inverse(last[1])), mul(q_idle[1], inverse(last[2])))
    return tuple(
        Moment(
            t_s=pair[0], phase=Phase.IDLE,
            angles=tilt_only(mul(from_free[0], pair[1]), mul(from_free[1], pair[2]), fit),
            spread=NO_SPREAD, doubt=Doubt.NO_ADDRESS,
        )
        for pair in pairs
    )  # fmt: skip


class SwingSeries:
    """One swing's instants. The spread is that of the packet's last instant."""

    def __init__(self, measure: SwingMeasure) -> None:
        self._measure = measure

    def moments(
        self, pairs: list[Pair], before: Phase, changes: list[PhaseChange], spread: Spread, doubt: Doubt
    ) -> tuple[Moment, ...]:
        """Instants of a packet: the phase `before` it holds until a change is dated."""
        out = []
        for pair in pairs:
            angles = self._measure.push(pair).angles
            phase = next((c.phase for c in reversed(changes) if c.t_s <= pair[0]), before)
            sure = doubt is Doubt.NONE
            out.append(
                Moment(
                    t_s=pair[0], phase=phase, angles=trusted(angles, spread) if sure else Angles(),
                    spread=spread if sure else NO_SPREAD, doubt=doubt,
                )
            )  # fmt: skip
        return tuple(out)
