"""Two tables and their marks as one stream of events in order of arrival, as a radio would have given it.

Stamps count from `zero_s`, a whole second at or before the first row, so that they are small and exact whatever epoch the
arrival clock has; `server/analysis/host_clock.py` adds it again.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from fusion.kit import TRIM_MOVES
from sensors.events import LinkChange, LinkState, MoveEnd, MoveStart, PlayerSet, SensorInfo, SourceEvent
from sensors.ids import PAIR, Role, SensorId
from sensors.profiles.float_imu import name_with_rate
from server.importing.faults import Fault, ImportFault
from server.importing.marks import Marks
from server.importing.packets import packets, stamp_ns
from server.importing.rate import measured_rate_hz
from server.importing.table import ImuTable

SENSORS: Final = {role: SensorId(f"imported-{role.value}") for role in PAIR}


class ImportedStream:
    """The events of one import; `events` can be asked for once."""

    def __init__(self, tables: dict[Role, ImuTable], marks: Marks, marks_path: Path) -> None:
        """Look at the first blocks. Raises `ImportFault` when they have no sensible sampling rate."""
        self._tables = tables
        self._marks = marks
        self._marks_path = marks_path
        self._first_s = min(float(table.first.arrival_s[0]) for table in tables.values())
        self.zero_s = math.floor(self._first_s)
        self.first_ns = stamp_ns(self._first_s, self.zero_s)
        self.rates_hz = {role: measured_rate_hz(table.path, table.first.device_s) for role, table in tables.items()}
        self.outside: list[str] = []
        """Names of moves that lie outside the data; complete when all events are out."""

    def events(self) -> Iterator[SourceEvent]:
        """All events in order of arrival. Raises `ImportFault` where a row is at fault, or at the end if nothing fits."""
        yield from self._introductions()
        streams = [packets(SENSORS[role], table.blocks(), self.zero_s) for role, table in self._tables.items()]
        yield from heapq.merge(self._moves(), *streams, key=lambda event: event.arrival_ns)
        self._check_ends()

    def _introductions(self) -> Iterator[SourceEvent]:
        at_ns, marks = self.first_ns, self._marks
        yield PlayerSet(
            arrival_ns=at_ns,
            name="",
            lead_side=marks.lead_side,
            club_length_m=marks.club_length_m or 0.0,
            arm_length_m=marks.arm_length_m or 0.0,
        )
        for role, table in self._tables.items():
            sensor = SENSORS[role]
            profile = name_with_rate(self.rates_hz[role])
            yield SensorInfo(arrival_ns=at_ns, sensor=sensor, role=role, profile=profile, name=table.path.name)
            yield LinkChange(arrival_ns=at_ns, sensor=sensor, state=LinkState.STREAMING)

    def _moves(self) -> list[MoveStart | MoveEnd]:
        """Starts and ends in order; where one move ends as the next begins, the end comes first."""
        out: list[tuple[int, int, MoveStart | MoveEnd]] = []
        for move in self._marks.moves:
            if move.end_s <= self._first_s:
                self.outside.append(move.name.value)
                continue
            start_ns = stamp_ns(max(move.start_s, self._first_s), self.zero_s)
            end_ns = stamp_ns(move.end_s, self.zero_s)
            out.append((start_ns, 1, MoveStart(arrival_ns=start_ns, move=move.name)))
            out.append((end_ns, 0, MoveEnd(arrival_ns=end_ns, move=move.name)))
        return _with_last([event for _, _, event in sorted(out, key=lambda item: item[:2])])

    def _check_ends(self) -> None:
        spans = [(float(table.first.arrival_s[0]), table.last_arrival_s) for table in self._tables.values()]
        if max(start for start, _ in spans) >= min(end for _, end in spans):
            raise ImportFault(self._tables[Role.CLUB].path, Fault.NO_OVERLAP)
        last_s = max(end for _, end in spans)
        self.outside += [move.name.value for move in self._marks.moves if move.start_s >= last_s]
        if self._marks.moves and len(self.outside) == len(self._marks.moves):
            raise ImportFault(self._marks_path, Fault.MARKS_ELSEWHERE, found=f"{self._first_s:.3f} to {last_s:.3f}")


def _with_last(events: list[MoveStart | MoveEnd]) -> list[MoveStart | MoveEnd]:
    """Mark the end after which no other kind of move begins, those that calibrate a sensor aside. They may be made again."""
    ahead = {event.move for event in events}.difference(TRIM_MOVES)
    for i, event in enumerate(events):
        if isinstance(event, MoveEnd):
            ahead.discard(event.move)
            if not ahead:
                return [*events[:i], replace(event, is_last=True), *events[i + 1 :]]
    return events
