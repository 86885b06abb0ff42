"""The club's stamps put in step with the forearm's, by what the practice shows of the two clocks."""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from fusion.calibration.collect import Collected
from fusion.kit import Kit
from fusion.orientation.track import Sample
from fusion.orientation.window import Array
from fusion.outputs.instant import Phase
from fusion.outputs.output import Output
from fusion.outputs.rep import PhaseChange
from fusion.swing.knock import LEAST_M_S2, hardest_s, knock_s
from fusion.sync import Anchor, Sync
from sensors.ids import Role
from sensors.ingest import Ingest

_BLOW_S = (0.1, 0.7)
"""From the top, when a ball is struck. Impact itself is not waited for: with clocks far apart none is found."""
_ABOUT_S = 0.08
"""A blow is looked for so far on either side of where the club felt most: stamps may be off by as much."""
_READY_S = 0.9
"""After the top, all samples that are wanted are at hand."""
_BLOW_COUNTS_S = 1.5
"""A blow counts from so long after the top: more than a packet holds, so where packets end does not matter."""
_MOVE_COUNTS_S = 0.5
"""A move from so long after the samples that ended it, for the same reason."""


@dataclass(frozen=True, slots=True)
class _Due:
    """What was shown, and from when on it counts."""

    from_s: float
    anchor: Anchor
    sd_s: float | None
    """Of a move; None of a blow."""


class InStep:
    """One for a practice."""

    def __init__(self, ingest: Ingest, kit: Kit) -> None:
        self._ingest = ingest
        self._kit = kit
        self._sync = Sync()
        self._now_s = -math.inf
        """Of the club's newest sample."""
        self._top_s: float | None = None
        """Of a swing whose blow is yet to be dated."""
        self._due: list[_Due] = []
        """In order."""

    def forget(self) -> None:
        """A device began its clock anew."""
        self._sync.forget()
        self._top_s = None
        self._due.clear()

    def shown(self, move: Collected, judged_s: float) -> None:
        """Note what a move shows, if it does: what the forearm's clock calls its middle the club's calls later.

        `judged_s` is the session time of the newest sample that ended the move.
        """
        skew = move.taken.skew
        if skew is not None:
            anchor = self._anchor(move.middle_s, move.middle_s + skew.late_s)
            self._note(_Due(judged_s + _MOVE_COUNTS_S, anchor, skew.sd_s))

    def stamped(self, samples: list[Sample]) -> list[Sample]:
        """Club samples with their stamps put in step."""
        before: list[Sample] = []
        while samples and self._due and samples[-1][0] >= self._due[0].from_s:
            cut = bisect.bisect_left(samples, self._due[0].from_s, key=lambda sample: sample[0])
            before, samples = before + self._shifted(samples[:cut]), samples[cut:]
            self._count(self._due.pop(0))
        return before + self._shifted(samples)

    def hear(self, outputs: Iterable[Output]) -> None:
        """Note a top among what was said."""
        for output in outputs:
            if isinstance(output, PhaseChange) and output.phase is Phase.TOP:
                self._top_s = output.t_s

    def look(self, now_s: float) -> None:
        """Date a blow, once the samples about it are at hand."""
        if self._top_s is None or now_s < self._top_s + _READY_S:
            return
        top_s, self._top_s = self._top_s, None
        if self._sync.is_shown:
            return
        skew_s = self.skew_s()
        most_s = self._felt_s(Role.CLUB, top_s + _BLOW_S[0] + skew_s, top_s + _BLOW_S[1] + skew_s, hardest_s)
        if most_s is None:
            return
        forearm_s, club_s = (
            self._felt_s(role, about_s - _ABOUT_S, about_s + _ABOUT_S, knock_s)
            for role, about_s in ((Role.FOREARM, most_s - skew_s), (Role.CLUB, most_s))
        )
        if forearm_s is not None and club_s is not None:
            self._note(_Due(top_s + _BLOW_COUNTS_S, self._anchor(forearm_s, club_s), None))

    def _felt_s(
        self, role: Role, start_s: float, end_s: float, date: Callable[[Array, Array, float], float | None]
    ) -> float | None:
        window = self._kit.tracks[role].window(start_s, end_s)
        return None if window is None else date(window.t_s, window.acc_m_s2, LEAST_M_S2[role])

    def _note(self, due: _Due) -> None:
        bisect.insort(self._due, due, key=lambda one: one.from_s)

    def _count(self, due: _Due) -> None:
        if due.sd_s is None:
            self._sync.add_blow(due.anchor)
        else:
            self._sync.add(due.anchor, due.sd_s)

    def _anchor(self, forearm_s: float, club_s: float) -> Anchor:
        device_s, worn = self._ingest.session_to_device_s, self._kit.sensors
        return Anchor(
            forearm_device_s=device_s(worn[Role.FOREARM], forearm_s),
            club_device_s=device_s(worn[Role.CLUB], club_s),
        )

    def skew_s(self) -> float:
        """How late the club's session stamps are against the forearm's, now."""
        return self._sync.skew_s(self.session_s, self._now_s)

    def session_s(self, role: Role, device_s: float) -> float:
        """Session time of a place's device time, as its clock stands now."""
        return self._ingest.device_to_session_s(self._kit.sensors[role], device_s)

    def _shifted(self, samples: list[Sample]) -> list[Sample]:
        if not samples:
            return samples
        self._now_s = samples[-1][0]
        skew_s = self.skew_s()
        return [(t_s - skew_s, q, force) for t_s, q, force in samples] if skew_s else samples
