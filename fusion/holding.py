"""Instants of the record that wait for the end of their swing, and whose they are when another takes its place."""

from __future__ import annotations

from fusion.outputs.instant import Moment
from fusion.pairing import Pair
from fusion.swing.followed import FollowedSwing


class Holding:
    """Of one practice."""

    def __init__(self) -> None:
        self._swing: FollowedSwing | None = None
        """Whose instants are not all given out yet."""

    def keep(self, swing: FollowedSwing, pairs: list[Pair]) -> list[Pair]:
        """Keep what was pushed into a swing last; gives the instants that came after it was over."""
        self._swing = swing
        return swing.hold(pairs)

    def unless(self, swing: FollowedSwing | None) -> list[Moment]:
        """Give out what is kept of any other swing; what has come since the zero of the one that takes its place is its own."""
        held = self._swing
        if held is swing or held is None:
            return []
        if swing is not None:
            held.hand_over(swing)
        self._swing = swing
        return held.moments()

    def everything(self) -> list[Moment]:
        """Give out what is kept, whatever comes."""
        held = self._swing
        return held.moments() if held is not None else []
