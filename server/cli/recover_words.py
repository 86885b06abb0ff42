"""What was saved of a damaged recording, and what was not, in plain sentences."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from sensors.record.recover import Part, Recovery
from server.cli.tables import minutes

_MOST_TOLD: Final = 12
"""Stretches named one by one."""


def recovery_sentences(recovery: Recovery) -> list[str]:
    """Say what is in the new file, what is lost, and from when to when; times count from its first event."""
    n_packets = sum(sum(part.n_packets.values()) for part in recovery.parts)
    sensors = {sensor for part in recovery.parts for sensor in part.n_packets}
    length_s = (recovery.last_ns - recovery.first_ns) * 1e-9
    saved = f"Saved: {minutes(length_s)} of practice, {n_packets} packets of {_count(len(sensors), 'sensor')}"
    out = [f"{saved}, made {_at(recovery, recovery.first_ns):%Y-%m-%d %H:%M:%S}."]
    for part in recovery.parts:
        out += _part_sentences(recovery, part)
    if len(out) == 1 and len(recovery.parts) == 1:
        out.append("Nothing was missing: the new file holds all that the old one held.")
    return out


def _part_sentences(recovery: Recovery, part: Part) -> list[str]:
    report = part.report
    name = f"{part.path.name}: " if len(recovery.parts) > 1 else ""
    out = []
    if part.head_was_lost:
        out.append(
            f"{name}The file's beginning is destroyed; how much stood there before the first saved packet is unknown."
        )
    if report.n_damaged_chunks:
        places = "one place" if report.n_damaged_chunks == 1 else f"{report.n_damaged_chunks} places"
        out.append(f"{name}Damaged in {places}; {report.lost_s:.1f} s are lost.")
    out += [
        f"  Lost: {stretch.seconds:.1f} s, from {_since(recovery, stretch.start_ns)} "
        f"({_clock(recovery, stretch.start_ns)}) to {_since(recovery, stretch.end_ns)} "
        f"({_clock(recovery, stretch.end_ns)})"
        for stretch in report.lost[:_MOST_TOLD]
    ]
    if len(report.lost) > _MOST_TOLD:
        out.append(f"  and {len(report.lost) - _MOST_TOLD} more")
    if report.n_foreign_chunks:
        out.append(f"{name}Pieces of another recording lay in it; they were left out.")
    if report.truncated:
        out.append(
            f"{name}It ends abruptly at {_since(recovery, part.last_ns)} "
            f"({_clock(recovery, part.last_ns)}); what came after was never in the file, or was cut off."
        )
    if report.n_reintroduced:
        out.append(f"{name}{_count(report.n_reintroduced, 'sensor introduction')} restored.")
    if report.n_unknown_messages:
        out.append(
            f"{name}{_count(report.n_unknown_messages, 'entry', 'entries')} left out: of a kind this version does not "
            "know, or the part that says which sensor they are of is lost."
        )
    if report.n_malformed:
        out.append(f"{name}{_count(report.n_malformed, 'entry', 'entries')} left out that make no sense.")
    return out


def _since(recovery: Recovery, stamp_ns: int) -> str:
    """Time in the new file; what was lost before its beginning counts as that."""
    return minutes(max(0.0, (stamp_ns - recovery.first_ns) * 1e-9))


def _count(n: int, one: str, many: str = "") -> str:
    return f"{n} {one if n == 1 else many or one + 's'}"


def _at(recovery: Recovery, stamp_ns: int) -> datetime:
    return datetime.fromtimestamp((stamp_ns + recovery.wall_minus_host_ns) * 1e-9).astimezone()


def _clock(recovery: Recovery, stamp_ns: int) -> str:
    return f"{_at(recovery, stamp_ns):%H:%M:%S}"
