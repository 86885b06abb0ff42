"""Follows a practice and says what there is to remember of it: a pure function of its events and of what came of them.

Rule 1: a practice is known by its first packets, stamps and bytes: so is its recording, and every copy of that.
Rule 2: a practice without a rep is not remembered.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Final, Protocol

from fusion.drills.course import BlockTally, Course
from fusion.drills.drill import Drill
from fusion.outputs.cue import DrillNews
from fusion.outputs.output import Output
from fusion.outputs.rep import Rep, RepRefined
from sensors.events import DrillSet, NoteWritten, PlayerSet, RawPacket, RepMarked, SensorInfo, SourceEvent
from sensors.ids import Side
from sensors.record.format import clean_text
from server.analysis.host_clock import HostClock
from server.analysis.reps_file import rep_record
from server.analysis.version import analysis_version
from server.store.records import (
    BlockRecord,
    NoteRecord,
    PracticeRecord,
    Remembered,
    RepKind,
    RepStored,
    SensorRecord,
    StintRecord,
)

KEY_PACKETS: Final = 32
"""By so many a practice is known: a second's worth or less, and no two practices begin alike."""


class AtDesk(Protocol):
    """What is asked of a pipeline."""

    @property
    def drill(self) -> Drill:
        """The drill in force."""

    @property
    def course(self) -> Course:
        """Where the player stands in its blocks."""


@dataclass(slots=True)
class _Stint:
    number: int
    begun_unix_s: float
    drill: Drill
    text: str
    tallies: tuple[BlockTally, ...] = ()


def wall_of(wall_minus_host_ns: int) -> Callable[[int], float]:
    """Seconds since 1970 of a stamp, by what the wall clock showed when the practice began."""
    return lambda arrival_ns: (arrival_ns + wall_minus_host_ns) * 1e-9


class Ledger:
    """`push` everything, then `take`. `wall_s` gives the time of day of a stamp, in seconds since 1970.

    `utc_offset_s` is what the recording says of the clocks on the wall; where it says nothing, this computer's are taken.
    """

    def __init__(
        self,
        *,
        wall_s: Callable[[int], float],
        notes: Mapping[str, str] | None = None,
        utc_offset_s: int | None = None,
    ) -> None:
        notes = notes or {}
        self._wall_s = wall_s
        self._utc_offset_s = utc_offset_s
        self._clock = HostClock(notes)
        self._provenance = notes.get("provenance", "")
        self._hash = hashlib.sha256()
        self._n_packets = 0
        self._first_ns: int | None = None
        self._last_ns = 0
        self._key: str | None = None
        self._player = PlayerSet(arrival_ns=0, name="", lead_side=Side.LEFT)
        self._named = False
        self._club: tuple[str, float | None] = ("", None)
        self._stints: list[_Stint] = []
        self._sensors: dict[str, SensorRecord] = {}
        self._reps: dict[int, RepStored] = {}
        self._notes: list[NoteRecord] = []

    def push(self, event: SourceEvent, outputs: Sequence[Output], desk: AtDesk) -> None:
        """Take in an event and what the pipeline made of it."""
        self._last_ns = event.arrival_ns
        if self._first_ns is None:
            self._first_ns = event.arrival_ns
            self._clock.see(event.arrival_ns)
        match event:
            case RawPacket():
                self._packet(event)
            case PlayerSet():
                self._set_player(event)
            case SensorInfo():
                self._sensors[event.sensor] = SensorRecord(
                    address=_plain(event.sensor), role=event.role.value, name=_plain(event.name),
                    profile=_plain(event.profile), firmware=_plain(event.firmware),
                )  # fmt: skip
            case RepMarked():
                self._note(event, "mark", event.mark.value)
            case NoteWritten():
                self._note(event, "note", event.text)
            case _:
                pass
        for output in outputs:
            self._made(event, output, desk)

    def _made(self, event: SourceEvent, output: Output, desk: AtDesk) -> None:
        match output:
            case DrillNews(problem="") if isinstance(event, DrillSet):
                self._begin_stint(event.arrival_ns, desk.drill, event.text)
            case Rep():
                self._rep(output, desk)
            case RepRefined():
                self._refined(output.rep)
            case _:
                pass

    def take(self) -> Remembered | None:
        """Give what there is to remember; None when nobody swung."""
        if not self._reps:
            return None
        used = {rep.stint for rep in self._reps.values()}
        return Remembered(
            practice=self._practice(self._key or self._hash.hexdigest()),
            sensors=tuple(self._sensors.values()),
            stints=tuple(self._stint_record(stint) for stint in self._stints if stint.number in used),
            reps=tuple(self._reps.values()),
            notes=tuple(self._notes),
        )

    def _note(self, event: RepMarked | NoteWritten, kind: str, text: str) -> None:
        self._notes.append(
            NoteRecord(
                number=len(self._notes), at_unix_s=self._wall_s(event.arrival_ns), author=_plain(event.by), kind=kind,
                text=_plain(text), rep=event.rep or None,
            )
        )  # fmt: skip

    def _packet(self, packet: RawPacket) -> None:
        self._n_packets += 1
        if self._key is None:
            self._hash.update(b"%d %d " % (packet.arrival_ns, len(packet.payload)))
            self._hash.update(clean_text(packet.sensor).encode() + b" " + packet.payload)
            if self._n_packets == KEY_PACKETS:
                self._key = self._hash.hexdigest()

    def _set_player(self, player: PlayerSet) -> None:
        if not self._named:  # whose practice it is; what comes later is another club
            self._player, self._named = player, True
        self._club = (_plain(player.club), player.club_length_m or None)

    def _begin_stint(self, arrival_ns: int, drill: Drill, text: str) -> None:
        self._stints.append(
            _Stint(len(self._stints), self._wall_s(arrival_ns), drill, text, Course.of(drill.blocks).tallies)
        )

    def _rep(self, rep: Rep, desk: AtDesk) -> None:
        if not self._stints:
            self._begin_stint(self._first_ns or rep.arrival_ns, desk.drill, "")
        stint, block = self._counted_for(rep, desk)
        self._reps[rep.index] = RepStored(
            stint=stint.number,
            block=block,
            kind=_kind(rep),
            club=self._club[0],
            club_length_m=self._club[1],
            verdict=rep.verdict.value,
            worst=None if rep.worst is None else rep.quantity.unit.shown(rep.worst),
            out_s=rep.out_s,
            values=rep_record(rep, self._clock),
        )

    def _counted_for(self, rep: Rep, desk: AtDesk) -> tuple[_Stint, int | None]:
        """Find the stint that a rep belongs to, and the block in which it was counted."""
        stint = self._stints[-1]
        before, stint.tallies = stint.tallies, desk.course.tallies
        for i, (old, new) in enumerate(zip(before, stint.tallies, strict=True)):
            if new.n_swung > old.n_swung:
                return stint, i
        waits = Course(tallies=before).index is not None and not rep.paused
        begun_before = (
            rep.drill != stint.drill.name or waits
        )  # swung as the drill was being changed: counted for neither
        return (self._stints[-2] if begun_before and len(self._stints) > 1 else stint), None

    def _refined(self, rep: Rep) -> None:
        known = self._reps.get(rep.index)
        if known is not None:
            self._reps[rep.index] = replace(known, values=rep_record(rep, self._clock))

    def _practice(self, key: str) -> PracticeRecord:
        first_ns = self._first_ns or 0
        begun_s = self._wall_s(first_ns)
        known_s = self._utc_offset_s
        utc = datetime.fromtimestamp(begun_s, tz=UTC)
        local = utc.astimezone(None if known_s is None else timezone(timedelta(seconds=known_s)))
        offset = local.utcoffset()
        return PracticeRecord(
            key=key,
            provenance=_plain(self._provenance),
            player=_plain(self._player.name),
            lead_side=str(self._player.lead_side),
            begun_unix_s=begun_s,
            utc_offset_s=0 if offset is None else round(offset.total_seconds()),
            offset_assumed=known_s is None,
            day=local.date().isoformat(),
            duration_s=(self._last_ns - first_ns) * 1e-9,
            n_packets=self._n_packets,
            program_version=analysis_version(),
        )

    def _stint_record(self, stint: _Stint) -> StintRecord:
        drill = stint.drill
        return StintRecord(
            number=stint.number,
            begun_unix_s=stint.begun_unix_s,
            drill=_plain(drill.name),
            quantity=drill.quantity.value,
            unit=drill.quantity.unit.value,
            low=round(drill.quantity.unit.shown(drill.low), 6),
            high=round(drill.quantity.unit.shown(drill.high), 6),
            text=_plain(stint.text),
            blocks=tuple(
                BlockRecord(
                    n_reps=tally.block.n_reps, cue=tally.block.cue.value, n_swung=tally.n_swung, n_cued=tally.n_cued,
                    n_judged=tally.n_judged, n_in_band=tally.n_in_band,
                )
                for tally in stint.tallies
            ),
        )  # fmt: skip


def _kind(rep: Rep) -> RepKind:
    if rep.paused:
        return RepKind.PAUSED
    if rep.testing:
        return RepKind.TEST
    return RepKind.CUED if rep.cued else RepKind.SILENT


def _plain(text: str) -> str:
    """Leave out what some database cannot hold."""
    return clean_text(text).replace("\0", "")
