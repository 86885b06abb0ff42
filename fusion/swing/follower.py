"""One swing from its address: measures every instant that matters, and lets `SwingStory` say what becomes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState
from fusion.drills.desk import Desk
from fusion.measure import Instant, SwingMeasure
from fusion.outputs.instant import NO_ANGLES, NO_SPREAD, Doubt, Phase, Readout
from fusion.outputs.output import Output
from fusion.pairing import Pair
from fusion.shaft.butt_line import ButtLine
from fusion.spread import trusted
from fusion.swing.story import SwingStory
from fusion.swing.strike import StrikeMemory
from fusion.swing_angles import Zero
from fusion.ticks import tick_of

_AT_BALL_RAD: Final = math.radians(1.2)
"""While the club has turned no more than this it stays at the ball."""


class SwingFollower:
    """Lives from a rest at address until the swing is over; a new rest at address replaces it.

    `pairs` are the instants from the address to now, at least one; `strikes` is the practice's, shared by all its swings.
    """

    def __init__(
        self,
        address: Address,
        pairs: list[Pair],
        fit: BodyFit,
        desk: Desk,
        *,
        n_reps: int,
        strikes: StrikeMemory,
        butt: ButtLine | None = None,
    ) -> None:
        self._address = address
        self.spread = NO_SPREAD
        """Of the newest instant; kept up by the owner."""
        self._measure = SwingMeasure(address, fit, butt)
        self._instant = self._measure.push(pairs[0])
        self._story = SwingStory(self._instant, desk, n_reps, strikes)
        self._tick = tick_of(pairs[0][0])
        for pair in pairs[1:]:
            # Of a tick that has been looked at nothing more is wanted.
            if tick_of(pair[0]) != self._tick and self._measure.stands(pair[2], _AT_BALL_RAD):
                self._stand(pair)

    @property
    def phase(self) -> Phase:
        """Where the swing is."""
        return self._story.phase

    @property
    def address_s(self) -> float:
        """When its zero was taken."""
        return self._address.t_s

    @property
    def over(self) -> bool:
        """Nothing more will come of it."""
        return self._story.phase is Phase.IDLE

    @property
    def newest_s(self) -> float:
        """Session time of the newest instant that was looked at."""
        return self._instant.t_s

    @property
    def n_reps(self) -> int:
        """Reps of the practice so far, this swing's included once it is one."""
        return self._story.n_reps

    @property
    def doubt(self) -> Doubt:
        """Why its angles cannot be trusted."""
        return self._story.doubt

    @doubt.setter
    def doubt(self, doubt: Doubt) -> None:
        self._story.doubt = doubt

    @property
    def zero(self) -> Zero:
        """What changes since address are counted from."""
        return self._measure.zero

    @property
    def at_address(self) -> ClubState:
        """Arm and club as the zero was taken."""
        return self._measure.state

    @property
    def instants(self) -> Sequence[Instant]:
        """The newest instants that were looked at, in order."""
        return self._story.instants

    def push(self, arrival_ns: int, pairs: list[Pair]) -> list[Output]:
        """Advance by the instants that a packet completed."""
        out: list[Output] = []
        measure, story = self._measure, self._story
        for pair in pairs:
            phase = story.phase
            if phase is Phase.IDLE:
                break
            if phase is Phase.ADDRESS and measure.stands(pair[2], _AT_BALL_RAD):
                self._stand(pair)
                continue
            if phase is Phase.FINISH and not self._first_of_tick(pair):
                continue
            self._instant = measure.push(pair)
            out.extend(story.push(arrival_ns, self._instant))
        return out

    def _stand(self, pair: Pair) -> None:
        """While the club stays at the ball one instant a tick will do."""
        if self._first_of_tick(pair):
            self._instant = self._measure.stand(pair)
            self._story.stand(self._instant)

    def _first_of_tick(self, pair: Pair) -> bool:
        before, self._tick = self._tick, tick_of(pair[0])
        return self._tick != before

    def close(self, arrival_ns: int) -> list[Output]:
        """Stop the cue if it sounds and give what is due: the swing is about to be replaced, or the data ends."""
        return self._story.close(arrival_ns)

    def readout(self, arrival_ns: int) -> Readout:
        """The newest instant; angles are left out when in doubt."""
        instant, doubt = self._instant, self.doubt
        angles = trusted(instant.angles, self.spread) if doubt is Doubt.NONE else NO_ANGLES
        pitch_doubt = doubt
        if doubt is Doubt.NONE and angles.shaft_pitch_rad is None:
            pitch_doubt = Doubt.FORESHORTENED
        return Readout(
            arrival_ns=arrival_ns,
            t_s=instant.t_s,
            phase=self.phase,
            angles=angles,
            doubt=doubt,
            pitch_doubt=pitch_doubt,
            since_rest_s=instant.t_s - self._address.t_s,
            error_rad=self._story.error_rad,
            cue_error_rad=self._story.cue_error_rad,
            spread=self.spread if doubt is Doubt.NONE else NO_SPREAD,
        )
