"""What is to be heard, and which drill it is of."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True, kw_only=True)
class CueChange:
    """The cue starts or stops sounding."""

    arrival_ns: int
    t_s: float
    sounding: bool
    error_rad: float
    """How far outside the band: negative below it, positive above; 0 when it stops."""


class SignalKind(StrEnum):
    """A short sound, given once."""

    EDGE = "edge"
    """The quantity has come near the edge of its band."""
    IN_BAND = "in_band"
    """The whole swing's quantity, known now, is in the band."""
    BELOW = "below"
    """It is too short, or too quick."""
    ABOVE = "above"
    """It is too long, or too slow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A short sound."""

    arrival_ns: int
    t_s: float
    kind: SignalKind


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillNews:
    """Another drill is in force, or cannot be: then `problem` says why and the one before stays."""

    arrival_ns: int
    problem: str = ""
