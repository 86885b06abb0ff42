"""Every instant of each swing of a practice, in a Parquet file of its own: worked out once, read a swing at a time.

A row group is a swing, from `BEFORE_S` before its takeaway to its finish; the file's own words say which, and where its address
puts hub and club. The rows are those of `pitchbend analyse --series`, with the poses beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import orjson
from pyarrow import ArrowException, parquet

from fusion.outputs.instant import Series
from fusion.outputs.output import Output
from fusion.outputs.rep import Rep, RepRefined
from fusion.rotation import Vec
from fusion.shaft.butt_line import CLUB_LENGTH_M, ButtLine
from sensors.events import PlayerSet, SourceEvent
from sensors.ids import Side
from server.analysis.host_clock import HostClock
from server.analysis.recent import RecentMoments
from server.analysis.series_file import SeriesFile, series_schema
from server.analysis.version import analysis_version

BEFORE_S: Final = 1.0
_AFTER_TOP_S: Final = 2.0
"""How much goes along of a swing whose finish was never seen."""
_WORDS: Final = b"pitchbend.swings"


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingPlace:
    """What one swing's address says of lengths and places, in its own earth."""

    number: int
    side: Side
    club_length_m: float
    club_assumed: bool
    """Nobody gave the length: a common one."""
    arm_assumed: bool
    butt: ButtLine | None


class SwingsFile:
    """Shown every event with its outputs, writes each swing once its rep has come to its last form."""

    def __init__(self, writer: parquet.ParquetWriter, clock: HostClock) -> None:
        self._writer = writer
        self._clock = clock
        self._rows = SeriesFile(writer, clock, poses=True)
        self._recent = RecentMoments()
        self._waiting: dict[int, Rep] = {}
        self._player: PlayerSet | None = None
        self._places: list[SwingPlace] = []

    def push(self, event: SourceEvent, outputs: tuple[Output, ...]) -> None:
        """Take in an event and what the pipeline, asked for series, made of it."""
        self._clock.see(event.arrival_ns)
        if isinstance(event, PlayerSet):
            self._player = event
        self.take(outputs)

    def take(self, outputs: tuple[Output, ...]) -> None:
        """Take in what the pipeline said."""
        refined: list[Rep] = []
        for output in outputs:
            match output:
                case Series(moments=moments):
                    self._recent.add(moments)
                case Rep():
                    self._waiting[output.index] = output
                case RepRefined(rep=rep):
                    refined.append(rep)
                case _:
                    pass
        for rep in refined:  # the packet's own instants come after its reps
            self._write(rep)

    def close(self) -> None:
        """Write the swings that were cut off by the end of the data, and say what is where."""
        for rep in list(self._waiting.values()):
            self._write(rep)
        words = {"made_by": analysis_version(), "swings": [asdict(place) for place in self._places]}
        self._writer.add_key_value_metadata({_WORDS: orjson.dumps(words)})

    def _write(self, rep: Rep) -> None:
        self._waiting.pop(rep.index, None)
        end_s = rep.finish_s
        if end_s is None:
            end_s = rep.takeaway_s + rep.backswing_s + _AFTER_TOP_S
        part = self._recent.between(rep.takeaway_s - BEFORE_S, end_s)
        if not part:
            return
        player, butt = self._player, next((one.pose.butt for one in reversed(part) if one.pose is not None), None)
        club_m = player.club_length_m if player is not None else 0.0
        self._rows.add(part)
        self._rows.flush()
        self._places.append(
            SwingPlace(
                number=rep.index,
                side=player.lead_side if player is not None else Side.LEFT,
                club_length_m=club_m or CLUB_LENGTH_M,
                club_assumed=not club_m,
                arm_assumed=player is None or not player.arm_length_m,
                butt=butt,
            )
        )


@contextmanager
def swings_file(path: Path, clock: HostClock) -> Iterator[SwingsFile]:
    """Open one for writing; leaving it without an error completes it. Raises OSError."""
    with parquet.ParquetWriter(path, series_schema(poses=True), compression="zstd") as writer:
        swings = SwingsFile(writer, clock)
        yield swings
        swings.close()


@dataclass(frozen=True, slots=True)
class SwingRows:
    """One swing as columns of the same length, by the names of `series_schema`, and its place."""

    columns: dict[str, list[Any]]
    place: SwingPlace


def read_swing(path: Path, number: int) -> SwingRows | None:
    """Read one swing; None when the file has none of that number. Raises `OSError`, also for a damaged file."""
    try:
        with parquet.ParquetFile(path) as file:
            for group, place in enumerate(_places_of(file)):
                if place.number == number:
                    return SwingRows(file.read_row_group(group).to_pydict(), place)
    except ArrowException as error:
        raise OSError(f"{path.name} is damaged") from error
    return None


def is_current(path: Path) -> bool:
    """Whether there is such a file, made by this very program."""
    try:
        with parquet.ParquetFile(path) as file:
            return bool(_words_of(file).get("made_by") == analysis_version())
    except (OSError, ArrowException):
        return False


def _words_of(file: parquet.ParquetFile) -> dict[str, Any]:
    found = (file.schema_arrow.metadata or {}).get(_WORDS) or (file.metadata.metadata or {}).get(_WORDS)
    return dict(orjson.loads(found)) if found else {}


def _places_of(file: parquet.ParquetFile) -> list[SwingPlace]:
    return [
        SwingPlace(**{**place, "side": Side(place["side"]), "butt": _butt_of(place["butt"])})
        for place in _words_of(file)["swings"]
    ]


def _butt_of(told: dict[str, Any] | None) -> ButtLine | None:
    if told is None:
        return None
    vectors: dict[str, Vec | None] = {name: tuple(told[name]) if told[name] else None for name in ("hub_m", "arm")}
    return ButtLine(**{**told, **vectors})
