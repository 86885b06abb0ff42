"""An analysis into its files, each whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

from server.analysis.analysis import Analysis
from server.analysis.reps_file import rep_records, reps_json
from server.analysis.series_file import series_file
from server.whole_file import whole_file


def analysed_into(analysis: Analysis, series: Path | None, reps: Path | None) -> Iterator[None]:
    """Run it, with a pause after each event for whoever shows progress. Raises `FileNotWritten`, and what the analysis raises."""
    with ExitStack() as stack:
        reps_place = None if reps is None else stack.enter_context(whole_file(reps, overwrite=True))
        into = None
        if series is not None:
            series_place = stack.enter_context(whole_file(series, overwrite=True))
            into = stack.enter_context(series_file(series_place, analysis.clock))
        yield from analysis.run(into)
        if reps_place is not None:
            reps_place.write_bytes(reps_json(rep_records(analysis.reps, analysis.clock, analysis.remarks)))
