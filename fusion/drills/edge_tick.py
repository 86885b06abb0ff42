"""The tick near the edge of the band: a warning before the cue.

It ticks as the quantity comes into the margin from inside, and again only after it was out of the margin by the hysteresis: a
value that lingers there ticks once. And once a phase at most, so that it never becomes a rattle.
"""

from __future__ import annotations

from fusion.outputs.instant import Phase


class EdgeTick:
    """Takes the distance to the nearer edge, instant by instant."""

    def __init__(self, warn: float | None, hysteresis: float) -> None:
        self._warn = warn
        self._hysteresis = hysteresis
        self._armed = True
        self._ticked: set[Phase] = set()

    def push(self, phase: Phase, margin: float) -> bool:
        """Say whether it ticks now. Past the edge the cue itself sounds: no tick, on the way back in neither."""
        if self._warn is None:
            return False
        if margin >= self._warn + self._hysteresis:
            self._armed = True
        if margin >= self._warn or not self._armed:
            return False
        self._armed = False
        if margin < 0 or phase in self._ticked:
            return False
        self._ticked.add(phase)
        return True

    def forget(self) -> None:
        """What follows does not continue what was."""
        self._armed = True
