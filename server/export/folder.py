"""One recording as a folder of files: tables for spreadsheets, a file a swing for laboratories."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from fusion.outputs.instant import Moment
from fusion.outputs.rep import Rep
from sensors.ids import Side
from server.analysis.analysis import Analysis, TakesMoments
from server.analysis.reps_file import rep_records
from server.analysis.series_file import csv_series_file
from server.export.c3d_file import write_c3d
from server.export.markers import markers
from server.export.motion import PosedMoments, SwingMotion, swing_motion
from server.export.orientation_file import write_orientations
from server.export.reps_table import write_reps
from server.whole_file import whole_file


class Form(StrEnum):
    """What can be written."""

    CSV = "csv"
    OPENSIM = "opensim"
    C3D = "c3d"


@dataclass(slots=True)
class Written:
    """What an export came to."""

    n_swings: int = 0
    n_unknown: int = 0
    """Swings of which too little is known for a file."""


class FolderExport:
    """`run` pauses after every event. Files stand in the folder whole or not at all; what was there of another name stays."""

    def __init__(self, recording: Path, folder: Path, forms: frozenset[Form], *, overwrite: bool) -> None:
        """Raises `RecordingError`."""
        self.written = Written()
        self.analysis = Analysis(recording, on_refined=self._swing)
        self._folder = folder
        self._forms = forms
        self._overwrite = overwrite
        self._recent = PosedMoments()
        self._done: set[int] = set()

    def run(self) -> Iterator[None]:
        """Read it all and write. Raises `FileNotWritten`."""
        with ExitStack() as stack:
            takers: list[TakesMoments] = [self._recent]
            if Form.CSV in self._forms:
                place = stack.enter_context(whole_file(self._folder / "series.csv", overwrite=self._overwrite))
                takers.append(stack.enter_context(csv_series_file(place, self.analysis.clock)))
            yield from self.analysis.run(_All(takers))
        for rep in self.analysis.reps:  # one whose swing was cut off by the end of the data
            self._swing(rep)
        if Form.CSV in self._forms:
            with whole_file(self._folder / "reps.csv", overwrite=self._overwrite) as place:
                write_reps(place, rep_records(self.analysis.reps, self.analysis.clock, self.analysis.remarks))

    def _swing(self, rep: Rep) -> None:
        if rep.index in self._done or not self._forms & {Form.OPENSIM, Form.C3D}:
            return
        self._done.add(rep.index)
        motion = swing_motion(rep, self._recent)
        if motion is None:
            self.written.n_unknown += 1
            return
        self._write(motion)
        self.written.n_swings += 1

    def _write(self, motion: SwingMotion) -> None:
        player = self.analysis.player
        stem = f"rep-{motion.rep.index:03d}"
        if Form.OPENSIM in self._forms:
            with whole_file(self._folder / f"{stem}.sto", overwrite=self._overwrite) as place:
                write_orientations(place, motion, player.lead_side if player is not None else Side.LEFT)
        if Form.C3D in self._forms:
            points_m = markers(
                motion,
                club_length_m=player.club_length_m if player is not None else 0.0,
                arm_length_m=player.arm_length_m if player is not None else 0.0,
            )
            with whole_file(self._folder / f"{stem}.c3d", overwrite=self._overwrite) as place:
                write_c3d(place, motion, points_m)


class _All:
    """Passes every instant on to several."""

    def __init__(self, takers: list[TakesMoments]) -> None:
        self._takers = takers

    def add(self, moments: tuple[Moment, ...]) -> None:
        for taker in self._takers:
            taker.add(moments)
