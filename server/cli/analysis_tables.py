"""What an analysis found, for the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.box import SIMPLE
from rich.table import Table

from fusion.outputs.fit import Constant, FitProgress, FitReport
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Checkpoint, Rep
from server.analysis.missing_moves import cost, missing
from server.analysis.moves_log import MoveRecord, MovesLog
from server.analysis.quantities import QUANTITIES, values_of
from server.cli.tables import DOUBT_WORDS, MOVE_WORDS, minutes
from server.mounting_advice import CONSTANT_WORDS

_COLUMNS = ("bend_change_deg", "hinge_change_deg", "shaft_pitch_deg")
_CAPTION = (
    "At: from the first event. Values at the top, in degrees, ± one standard deviation; bend and hinge since address."
)


def moves_table(log: MovesLog) -> Table:
    """Say which moves were taken, and what was wrong with the others."""
    table = Table(
        "move", "taken", "not taken, because", title="Fit moves", title_justify="left", box=SIMPLE, pad_edge=False
    )
    for move, record in log.by_move.items():
        table.add_row(MOVE_WORDS[move], str(record.n_taken or "-"), _rejections(record))
    return table


def _rejections(record: MoveRecord) -> str:
    return "; ".join(dict.fromkeys(_why(progress) for progress in record.rejected))


def _why(progress: FitProgress) -> str:
    why = progress.reason.value.replace("_", " ")
    if progress.measured is None or progress.limit is None:
        return why
    return f"{why} ({progress.measured:.2f}, limit {progress.limit:.2f})"


def constants_table(report: FitReport) -> Table:
    """Say how well the fit knows each thing."""
    table = Table(
        "what", "within", title="How well the fit is known", title_justify="left", box=SIMPLE, pad_edge=False,
        caption="One standard deviation.", caption_justify="left",
    )  # fmt: skip
    for constant in Constant:
        sd_rad = report.sd_rad.get(constant)
        table.add_row(CONSTANT_WORDS[constant], "not shown" if sd_rad is None else f"{math.degrees(sd_rad):.1f}°")
    return table


def missing_sentences(log: MovesLog) -> list[str]:
    """Say what it costs that moves are missing."""
    return [f"Without {MOVE_WORDS[move]}: {cost(move)}." for move in missing(log.taken)]


def analysed_reps_table(reps: Sequence[Rep]) -> Table:
    """List the reps with what is particular about each."""
    table = Table(
        title="Reps", title_justify="left", box=SIMPLE, pad_edge=False, caption=_CAPTION, caption_justify="left"
    )
    for name in ("rep", "at", "back", "down", "tempo", "bend", "hinge", "pitch", "flags"):
        table.add_column(name, justify="left" if name == "flags" else "right", no_wrap=name != "flags")
    for rep in reps:
        flags = [*(flag.value.replace("_", " ") for flag in rep.flags), DOUBT_WORDS[rep.doubt]]
        table.add_row(
            str(rep.index),
            minutes(rep.takeaway_s),
            f"{rep.backswing_s:.2f}",
            "-" if rep.downswing_s is None else f"{rep.downswing_s:.2f}",
            "-" if rep.tempo is None else f"{rep.tempo:.1f}",
            *_at_top(rep.checkpoints.get(Phase.TOP)),
            ", ".join(flag for flag in flags if flag),
        )
    return table


def _at_top(mark: Checkpoint | None) -> list[str]:
    if mark is None:
        return ["-"] * len(_COLUMNS)
    shown = {}
    for quantity, value, sd in zip(QUANTITIES, values_of(mark.angles), values_of(mark.spread), strict=True):
        text = "-" if value is None else f"{value:.1f}"
        shown[quantity.name] = text if value is None or sd is None else f"{text} ± {sd:.1f}"
    return [shown[name] for name in _COLUMNS]
