"""Makes the file of an answer: the whole recording once more, with what was worked out and said within it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fusion.outputs.instant import Moment, Phase
from sensors.errors import RecorderError
from sensors.record.attachments import MAX_BYTES, Attachment
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.watched import watched
from sensors.record.writer import Recorder
from server.analysis.analysis import Analysis
from server.analysis.reps_file import rep_records, reps_json
from server.analysis.series_file import SeriesFile, series_file
from server.answer.form import Answer, AnswerInvalid
from server.whole_file import whole_file

ANSWER_NAME: Final = "answer.json"
REPS_NAME: Final = "reps.json"
SERIES_NAME: Final = "swings.parquet"
DRILL_NAME: Final = "drill.toml"
_NOT_SWINGING: Final = (Phase.IDLE, Phase.ADDRESS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """What went into the file."""

    answer: Answer
    n_reps: int
    has_series: bool
    """False when the swings' instants are too many for one file."""
    report: ReadReport


def build_answer(
    recording: Path,
    place: Path,
    answer: Answer,
    *,
    overwrite: bool = False,
    on_progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Built:
    """Write `place`. `on_progress` is told bytes read, of both passes, and their sum.

    Raises `RecordingError` for the recording, `AnswerInvalid` when a note is about a swing that it does not hold, and
    `FileNotWritten`.
    """
    analysis = Analysis(recording)
    with whole_file(place, overwrite=overwrite) as part:
        worked_out = _work_out(analysis, on_progress)
        found = {rep.index for rep in analysis.reps}
        for note in answer.notes:
            if note.rep not in found:
                raise AnswerInvalid(f"a note is about rep {note.rep}, and the recording holds no such rep")
        answer = _with_player(answer, analysis)
        said = [Attachment(name=ANSWER_NAME, media_type="application/json", data=answer.model_dump_json().encode())]
        if answer.drill_text:
            said.append(Attachment(name=DRILL_NAME, media_type="application/toml", data=answer.drill_text.encode()))
        report = ReadReport()
        try:
            _record_again(recording, part, [*said, *worked_out], report, on_progress)
        except RecorderError as error:
            raise error.cause from error
    has_series = any(one.name == SERIES_NAME for one in worked_out)
    return Built(answer=answer, n_reps=len(found), has_series=has_series, report=report)


def _with_player(answer: Answer, analysis: Analysis) -> Answer:
    player = analysis.player
    return answer if player is None or answer.player else answer.model_copy(update={"player": player.name})


class _Swings:
    """Keeps the instants of swings and lets all others go."""

    def __init__(self, series: SeriesFile) -> None:
        self._series = series

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Take in the instants that a packet completed."""
        self._series.add(tuple(moment for moment in moments if moment.phase not in _NOT_SWINGING))


def _work_out(analysis: Analysis, on_progress: Callable[[int, int], None]) -> list[Attachment]:
    with tempfile.TemporaryDirectory(prefix="pitchbend-") as folder:
        series_place = Path(folder) / SERIES_NAME
        with series_file(series_place, analysis.clock) as series:
            report = analysis.report
            steps = analysis.run(_Swings(series))
            for _ in watched(steps, lambda: on_progress(report.read_bytes, 2 * report.size_bytes)):
                pass
        instants = series_place.read_bytes() if series_place.stat().st_size <= MAX_BYTES else b""
    records = rep_records(analysis.reps, analysis.clock, analysis.remarks)
    found = [Attachment(name=REPS_NAME, media_type="application/json", data=reps_json(records))]
    if instants:
        found.append(Attachment(name=SERIES_NAME, media_type="application/vnd.apache.parquet", data=instants))
    return [one for one in found if len(one.data) <= MAX_BYTES]


def _record_again(
    recording: Path,
    place: Path,
    attachments: list[Attachment],
    report: ReadReport,
    on_progress: Callable[[int, int], None],
) -> None:
    """Every event with its stamp and its time of day: the practice is known again by its first packets."""
    head = read_head(recording)
    events = read_events(recording, report=report)
    first = next(events, None)
    offset_ns = report.wall_minus_host_ns or 0
    start_ns = 0 if first is None else first.arrival_ns
    with Recorder(
        place, notes=head.notes, wall_clock_ns=lambda: start_ns + offset_ns, utc_offset_s=lambda _: head.utc_offset_s
    ) as recorder:
        if first is not None:
            recorder.write(first)
        for event in watched(events, lambda: on_progress(report.size_bytes + report.read_bytes, 2 * report.size_bytes)):
            recorder.write(event)
        for one in attachments:
            recorder.attach(one)
