"""Two streams of orientations to instants at which both are known.

Forearm samples set the instants; the club's orientation is interpolated to them. An instant is given out as soon as the
club has a sample at or after it, so the later of two packets completes it, whichever came first.
"""

from __future__ import annotations

from collections import deque

from fusion.orientation.track import Sample
from fusion.rotation import Quat, between
from sensors.ids import Role

HELD_S = 2.0
"""Instants older than this while the other sensor is silent are let go."""

Pair = tuple[float, Quat, Quat, float, float]
"""Session time, forearm and club orientation, each in its own free earth; size of the specific force on each, m/s^2, the
club's of its sample nearest in time."""


class Pairing:
    """Holds what waits for the other sensor."""

    def __init__(self) -> None:
        self._forearm: deque[Sample] = deque()
        self._club: deque[Sample] = deque()

    def restart(self) -> None:
        """Forget what waits: orientations before and after do not connect."""
        self._forearm.clear()
        self._club.clear()

    def give_up(self) -> list[float]:
        """Wait for the club no longer: session times of the forearm's samples that waited, which now stay alone."""
        alone = [t_s for t_s, _, _ in self._forearm]
        self._forearm.clear()
        return alone

    def push(self, role: Role, samples: list[Sample]) -> list[Pair]:
        """Take in a block's samples; give the instants that it completes, in order."""
        waiting = self._forearm if role is Role.FOREARM else self._club
        waiting.extend(samples)
        while waiting[-1][0] - waiting[0][0] > HELD_S:
            waiting.popleft()
        forearm, club = self._forearm, self._club
        pairs: list[Pair] = []
        if len(club) < 2:
            return pairs
        newest_s = club[-1][0]
        (t0, q0, force0), (t1, q1, force1) = club[0], club[1]
        while forearm:
            t_s, q_forearm, force_forearm = forearm[0]
            if newest_s < t_s:
                break
            while t1 < t_s and len(club) > 2:
                club.popleft()
                t0, q0, force0 = t1, q1, force1
                t1, q1, force1 = club[1]
            forearm.popleft()
            if t0 <= t_s <= t1:
                fraction = (t_s - t0) / (t1 - t0)
                force_club = force0 if fraction < 0.5 else force1
                pairs.append((t_s, q_forearm, between(q0, q1, fraction), force_forearm, force_club))
        return pairs
