"""What is watched for as long as a fit is in force: sensors that turn, and a grip that is taken anew."""

from __future__ import annotations

from collections.abc import Sequence

from fusion.calibration.fit import BodyFit
from fusion.calibration.turned import TurnWatch
from fusion.grip import GripWatch
from fusion.outputs.fit import SensorTurned
from fusion.outputs.rep import RepFlag
from fusion.pairing import Pair
from fusion.rotation import Vec
from fusion.swing.followed import FollowedSwing
from sensors.ids import Role


class Watches:
    """One fit's."""

    def __init__(self, fit: BodyFit, ups_at_fit: dict[Role, Vec]) -> None:
        """`ups_at_fit` as for `TurnWatch`."""
        self.fit = fit
        self.turns = TurnWatch(fit, ups_at_fit)
        self.grip = GripWatch(fit)

    @property
    def flags(self) -> tuple[RepFlag, ...]:
        """What a rep made now must say."""
        return (*self.turns.flags, *self.grip.flags)

    def look(
        self, arrival_ns: int, recent: Sequence[Pair], swing: FollowedSwing | None, trouble_s: float
    ) -> list[SensorTurned]:
        """Look at the newest instant, once a tick; `trouble_s` is when orientations last ceased to be followed."""
        if not recent:
            return []
        pair = recent[-1]
        news = self.turns.moved(arrival_ns, pair)
        gripped = swing is not None and not swing.standing
        if not gripped:
            self.grip.look(pair, trouble_s)
        if swing is not None and (news or not gripped):
            swing.flags = self.flags
        return news
