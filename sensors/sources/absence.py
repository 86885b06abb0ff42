"""Why a sensor has gone, from what was known of it while it was there. Pure: evidence in, reason out.

The radio says that a link is down, seldom why. What is known beside that: how strongly the sensor was heard, how full its
battery was, and on newer Linux systems which end let go.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import Enum, auto
from typing import Final

from sensors.battery import NEARLY_EMPTY_PCT
from sensors.events import LinkReason

WEAK_DBM: Final = -85
"""Heard as weakly as this, links begin to break: common practice, no source."""
FADING_DB: Final = 12
"""A signal that fell by so much within its last few values was on its way out."""
FADING_BELOW_DBM: Final = -75
"""Falling above this is somebody's body between the two, not distance."""
FRESH_S: Final = 60.0
"""A signal strength older than this says nothing of where the sensor is now."""
_KEPT: Final = 5


class EndedBy(Enum):
    """Which end let the link go, as far as the operating system tells."""

    UNKNOWN = auto()
    SENSOR = auto()
    """It said good-bye: somebody switched it off."""
    TIMEOUT = auto()
    """It was no longer heard: distance, something in the way, or an empty battery."""
    THIS_MACHINE = auto()


class SignalTrail:
    """The last few signal strengths of one sensor, from scans or from whatever else measures them."""

    def __init__(self) -> None:
        self._dbm: deque[int] = deque(maxlen=_KEPT)
        self._last_s = 0.0

    def note(self, rssi_dbm: int, at_s: float) -> None:
        """Take in a value; 0 and above are no signal strengths, and left out."""
        if rssi_dbm < 0:
            self._dbm.append(rssi_dbm)
            self._last_s = at_s

    @property
    def last_dbm(self) -> int | None:
        """The newest value."""
        return self._dbm[-1] if self._dbm else None

    def is_weak(self, now_s: float) -> bool:
        """Whether it was heard weakly, or was fading, when it was heard last; False when that is too long ago."""
        last = self.last_dbm
        if last is None or now_s - self._last_s > FRESH_S:
            return False
        return last <= WEAK_DBM or (last <= FADING_BELOW_DBM and max(self._dbm) - last >= FADING_DB)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What is known of a sensor that has gone."""

    weak: bool = False
    battery_pct: int | None = None
    ended_by: EndedBy = EndedBy.UNKNOWN


def drop_reason(evidence: Evidence) -> LinkReason:
    """Why a link went down by itself."""
    if evidence.ended_by is EndedBy.SENSOR:
        return LinkReason.SWITCHED_OFF
    return _known_cause(evidence) or LinkReason.DROPPED


def absence_reason(evidence: Evidence) -> LinkReason:
    """Why a sensor is not heard by a scan."""
    if evidence.ended_by is EndedBy.SENSOR:
        return LinkReason.SWITCHED_OFF
    return _known_cause(evidence) or LinkReason.NOT_FOUND


def _known_cause(evidence: Evidence) -> LinkReason | None:
    if evidence.battery_pct is not None and evidence.battery_pct <= NEARLY_EMPTY_PCT:
        return LinkReason.BATTERY_EMPTY
    return LinkReason.OUT_OF_RANGE if evidence.weak else None
