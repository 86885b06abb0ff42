"""`pitchbend inspect FILE`: what a recording holds, how sound it is, and what the swings were."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import orjson
import typer
from rich.console import Console

from fusion.drills.quantity import Unit
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.errors import ProfileError, UnknownProfile
from sensors.events import MessageSaid, NoteWritten, RepMarked
from sensors.record.reader import ReadReport, RecordingHead, read_events, read_head
from sensors.record.summary import Remark, Summariser, Summary
from sensors.record.watched import watched
from server.answer.form import Answer, AnswerInvalid
from server.answer.read import read_answer
from server.cli.answer_words import answer_sentences
from server.cli.health_tables import drops_table, health_sentences, health_table, worst_table
from server.cli.options import LengthUnits, Recording
from server.cli.progress import QuietBar
from server.cli.remark_words import remark_sentences
from server.cli.tables import contents_table, damage_sentences, reps_table, sensors_table
from server.drills import default_drill
from server.units import Units, units_here


class Inspection:
    """One pass over a recording: what it holds and, if wanted, its reps."""

    def __init__(self, path: Path, *, with_reps: bool) -> None:
        self.path = path
        self.head: RecordingHead = read_head(path)
        self.answer: Answer | None = None
        self.answer_problem = ""
        try:
            self.answer = read_answer(path)
        except AnswerInvalid as error:
            self.answer_problem = f"The answer in it cannot be used: {error}."
        self.report = ReadReport()
        self.reps: list[Rep] | None = [] if with_reps else None
        self.reps_problem = ""
        self._summariser = Summariser()

    @property
    def summary(self) -> Summary:
        """What the recording holds."""
        return self._summariser.summary()

    def run(self, bar: QuietBar) -> None:
        """Read it all."""
        pipeline = Pipeline(default_drill())
        for event in watched(read_events(self.path, report=self.report), lambda: bar.show_reading(self.report)):
            self._summariser.push(event)
            if self.reps is not None:
                try:
                    self.reps += [output for output in pipeline.push(event) if isinstance(output, Rep)]
                except UnknownProfile as error:
                    self.reps = None
                    self.reps_problem = f"This version cannot read sensors of the kind {error.profile}."
                except ProfileError as error:
                    self.reps = None
                    self.reps_problem = f"This version cannot read the sensor profile in this recording: {error}."


def inspect(
    file: Recording,
    *,
    reps: Annotated[bool, typer.Option(help="Also find and judge the swings.")] = True,
    units: LengthUnits = None,
    as_json: Annotated[bool, typer.Option("--json", help="For other programs: JSON instead of tables.")] = False,
) -> None:
    """See what is in a recording.

    Shows who swung and when, how well the sensors did, whether the file is damaged, and every rep with its verdict.
    """
    inspection = Inspection(file, with_reps=reps)
    with QuietBar("Reading the swings" if reps else "Reading") as bar:
        inspection.run(bar)
    if as_json:
        sys.stdout.write(orjson.dumps(as_values(inspection), option=orjson.OPT_INDENT_2).decode() + "\n")
        return
    show(inspection, Console(), units or units_here())


def show(inspection: Inspection, console: Console, units: Units) -> None:
    """Print the tables."""
    console.print(f"[bold]{inspection.path.name}[/]")
    console.print(contents_table(inspection.head, inspection.summary, units))
    for sentence in damage_sentences(inspection.report):
        console.print(f"[yellow]{sentence}[/]")
    _show_answer(inspection, console)
    sensors = inspection.summary.sensors
    console.print(sensors_table(sensors))
    console.print(health_table(sensors))
    for table in (worst_table(sensors), drops_table(sensors)):
        if table is not None:
            console.print(table)
    for sentence in health_sentences(sensors, inspection.summary.hitches):
        console.print(f"[yellow]{sentence}[/]", highlight=False)
    if inspection.reps_problem:
        console.print(inspection.reps_problem)
    elif inspection.reps:
        console.print(reps_table(inspection.reps, units))
    elif inspection.reps is not None:
        console.print("No swings in it.")
    for sentence in remark_sentences(inspection.summary.remarks):
        console.print(sentence, soft_wrap=True, highlight=False, markup=False)


def _show_answer(inspection: Inspection, console: Console) -> None:
    if inspection.answer_problem:
        console.print(f"[yellow]{inspection.answer_problem}[/]", highlight=False)
    if inspection.answer is not None:
        for sentence in answer_sentences(inspection.answer):
            console.print(sentence, soft_wrap=True, highlight=False, markup=False)


def as_values(inspection: Inspection) -> dict[str, Any]:
    """The same as plain values; angles in degrees, times in seconds from the first event."""
    head, summary = inspection.head, inspection.summary
    player = summary.player
    return {
        "file": inspection.path.name,
        "created": head.created,
        "program_version": head.program_version,
        "notes": dict(head.notes),
        "answer": inspection.answer and inspection.answer.model_dump(),
        "duration_s": summary.duration_s,
        "n_events": summary.n_events,
        "n_packets": summary.n_packets,
        "player": player
        and {
            "name": player.name,
            "lead_side": player.lead_side,
            "club": player.club,
            "club_length_m": player.club_length_m or None,
            "arm_length_m": player.arm_length_m or None,
        },
        "moves": [{"at_s": mark.start_s, "end_s": mark.end_s, "move": mark.move} for mark in summary.moves],
        "sensors": [asdict(sensor) for sensor in summary.sensors],
        "hitches": [asdict(hitch) for hitch in summary.hitches],
        "advice": health_sentences(summary.sensors, summary.hitches),
        "damage": asdict(inspection.report),
        "remarks": [_remark_values(remark) for remark in summary.remarks],
        "reps": None if inspection.reps is None else [_rep_values(rep) for rep in inspection.reps],
    }


def _remark_values(remark: Remark) -> dict[str, Any]:
    event = remark.event
    said = {"at_s": remark.at_s, "by": event.by}
    match event:
        case RepMarked(rep=rep, mark=mark):
            return said | {"kind": "mark", "rep": rep, "mark": mark}
        case NoteWritten(rep=rep, text=text):
            return said | {"kind": "note", "rep": rep or None, "text": text}
        case MessageSaid(text=text):
            return said | {"kind": "said", "text": text}


def _worst(rep: Rep) -> float | None:
    return None if rep.worst is None else rep.quantity.unit.shown(rep.worst)


def _rep_values(rep: Rep) -> dict[str, Any]:
    return {
        "index": rep.index,
        "address_s": rep.address_s,
        "takeaway_s": rep.takeaway_s,
        "backswing_s": rep.backswing_s,
        "downswing_s": rep.downswing_s,
        "verdict": rep.verdict,
        "worst_deg": _worst(rep) if rep.quantity.unit is Unit.DEG else None,
        "worst": _worst(rep),
        "quantity": rep.quantity,
        "out_s": rep.out_s,
        "doubt": rep.doubt,
        "drill": rep.drill,
        "cued": rep.cued,
        "testing": rep.testing,
        "paused": rep.paused,
    }
