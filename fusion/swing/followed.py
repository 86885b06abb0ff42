"""A swing being followed, with what is worked out beside it: its uncertainty and, when asked for, every instant."""

from __future__ import annotations

import bisect
from dataclasses import replace

from fusion.calibration.fit import BodyFit
from fusion.club_state import DISTAL
from fusion.drills.desk import Desk
from fusion.outputs.instant import Doubt, Moment, Phase
from fusion.outputs.output import Output
from fusion.outputs.rep import PhaseChange, Rep, RepFlag, RepRefined
from fusion.pairing import Pair
from fusion.rotation import rotate
from fusion.series import SwingSeries
from fusion.shaft.butt_line import ButtLine
from fusion.spread import Known, Spreads
from fusion.swing.enrich import enriched
from fusion.swing.follower import SwingFollower
from fusion.swing.strike import StrikeMemory
from fusion.swing_angles import SwingAngles
from fusion.ticks import tick_of
from fusion.zero import Zero
from sensors.events import PlayerSet


class FollowedSwing:
    """Passes instants to the follower, and completes what it says."""

    def __init__(
        self,
        follower: SwingFollower,
        spreads: Spreads,
        series: SwingSeries | None,
        fit: BodyFit,
        flags: tuple[RepFlag, ...] = (),
    ) -> None:
        self.follower = follower
        self.flags = flags
        """What is particular about its rep beside what the swing itself shows."""
        self._spreads = spreads
        self._series = series
        self._fit = fit
        self._spread_tick: int | None = None
        self._known: list[Known] = []

    @property
    def standing(self) -> bool:
        """The golfer still stands to the ball."""
        return self.follower.phase is Phase.ADDRESS

    def push(self, arrival_ns: int, pairs: list[Pair], doubt: Doubt) -> list[Output]:
        """Advance by some instants of one tick; `doubt` is why the angles cannot be trusted, if so."""
        follower = self.follower
        follower.doubt = doubt
        tick = tick_of(pairs[0][0])
        if self._spread_tick is None or (tick != self._spread_tick and follower.phase is not Phase.ADDRESS):
            self._spread_tick = tick
            self._known.append(self._spreads.at(pairs[0]))
            follower.spread = self._known[-1].spread
        return [self._completed(output) for output in follower.push(arrival_ns, pairs)]

    def hold(self, pairs: list[Pair]) -> list[Pair]:
        """Keep the instants that were pushed last for the record; gives those that came after the swing was over."""
        follower, series = self.follower, self._series
        n = bisect.bisect_right(pairs, follower.newest_s, key=lambda pair: pair[0]) if follower.over else len(pairs)
        if series is not None:
            series.hold(pairs[:n], follower.spread, follower.doubt)
        return pairs[n:]

    def hand_over(self, renewed: FollowedSwing) -> None:
        """Instants held since the zero of the swing that takes this one's place are its own."""
        if self._series is not None and renewed._series is not None:
            self._series.hand_over(renewed._series, renewed.follower.address_s)

    def moments(self) -> list[Moment]:
        """Every instant held since this was last asked for; none when nobody wants them."""
        return self._series.moments(self.follower.zero) if self._series is not None else []

    def close(self, arrival_ns: int) -> list[Output]:
        """Give what is due: the swing is about to be replaced."""
        return [self._completed(output) for output in self.follower.close(arrival_ns)]

    def _completed(self, output: Output) -> Output:
        match output:
            case PhaseChange() if self._series is not None:
                self._series.phases.note(output.t_s, output.phase)
                return output
            case Rep():
                return self._enriched(output)
            case RepRefined():
                if self._series is not None:
                    self._series.phases.refine(output.rep)
                return replace(output, rep=self._enriched(output.rep))
            case _:
                return output

    def _enriched(self, rep: Rep) -> Rep:
        follower = self.follower
        rep = replace(rep, flags=(*rep.flags, *self.flags))
        return enriched(rep, follower.instants, self._known, follower.at_address, self._fit)


def follow(
    zero: Zero,
    instants: list[Pair],
    fit: BodyFit,
    desk: Desk,
    player: PlayerSet | None,
    *,
    n_reps: int,
    strikes: StrikeMemory,
    flags: tuple[RepFlag, ...],
    wants_series: bool,
) -> FollowedSwing:
    """Begin to follow a swing from its zero; `instants` are those since then."""
    address = zero.address
    butt = ButtLine.at_address(
        address.shaft, rotate(address.q_earth_from_forearm, DISTAL),
        player.club_length_m if player else 0.0, player.arm_length_m if player else 0.0,
    )  # fmt: skip
    return FollowedSwing(
        SwingFollower(address, instants, fit, desk, n_reps=n_reps, strikes=strikes, butt=butt),
        Spreads(zero.inputs, address, fit, butt),
        SwingSeries(SwingAngles(address, fit, butt), fit) if wants_series else None,
        fit,
        flags,
    )
