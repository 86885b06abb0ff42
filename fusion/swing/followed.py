"""A swing being followed, with what is worked out beside it: its uncertainty and, when asked for, every instant."""

from __future__ import annotations

from dataclasses import replace

from fusion.calibration.fit import BodyFit
from fusion.outputs import Doubt, Moment, Output, Phase, PhaseChange, Rep, RepRefined, Spread
from fusion.pairing import Pair
from fusion.series import SwingSeries
from fusion.spread import Spreads
from fusion.swing.enrich import enriched
from fusion.swing.follower import SwingFollower


class FollowedSwing:
    """Passes instants to the follower, and completes what it says."""

    def __init__(self, follower: SwingFollower, spreads: Spreads, series: SwingSeries | None, fit: BodyFit) -> None:
        self.follower = follower
        self._spreads = spreads
        self._series = series
        self._fit = fit
        """The practice's, before this address's turn of the grip."""
        self._spread_log: list[tuple[float, Spread]] = []

    def push(self, arrival_ns: int, pairs: list[Pair], doubt: Doubt) -> list[Output]:
        """Advance by the instants that a packet completed; `doubt` is why the angles cannot be trusted, if so."""
        follower = self.follower
        follower.doubt = doubt
        follower.spread = self._spreads.at(pairs[-1])
        self._spread_log.append((pairs[-1][0], follower.spread))
        return [self._completed(output) for output in follower.push(arrival_ns, pairs)]

    def close(self, arrival_ns: int) -> list[Output]:
        """Give what is due: the swing is about to be replaced."""
        return [self._completed(output) for output in self.follower.close(arrival_ns)]

    def moments(self, pairs: list[Pair], before: Phase, outputs: list[Output]) -> tuple[Moment, ...] | None:
        """Every instant of a packet, in phase `before` until the outputs change it; None when nobody asked."""
        if self._series is None:
            return None
        changes = [output for output in outputs if isinstance(output, PhaseChange)]
        return self._series.moments(pairs, before, changes, self.follower.spread, self.follower.doubt)

    def _completed(self, output: Output) -> Output:
        match output:
            case Rep():
                return self._enriched(output)
            case RepRefined():
                return replace(output, rep=self._enriched(output.rep))
            case _:
                return output

    def _enriched(self, rep: Rep) -> Rep:
        follower = self.follower
        return enriched(rep, follower.instants, self._spread_log, follower.at_address, self._fit)
