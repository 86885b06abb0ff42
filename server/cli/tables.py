"""Tables for the terminal, in a coach's words."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from rich.box import SIMPLE
from rich.table import Table

from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import Checkpoint, Rep, Verdict
from sensors.events import PlayerSet
from sensors.ids import Move
from sensors.record.reader import ReadReport, RecordingHead
from sensors.record.summary import SensorSummary, Summary
from server.units import Units, length_words

MOVE_WORDS = {
    Move.STILL: "sensors still",
    Move.ATTITUDE: "attitude",
    Move.NEUTRAL: "wrist straight",
    Move.BEND: "bend",
    Move.HINGE: "hinge",
    Move.ROLL: "roll",
    Move.TWIRL: "club twirled",
    Move.LOCKED: "wrist locked",
    Move.PALM: "palm flat",
    Move.ADDRESS: "address",
}
VERDICT_WORDS = {
    Verdict.IN_BAND: "in band",
    Verdict.BELOW: "below",
    Verdict.ABOVE: "above",
    Verdict.UNKNOWN: "not judged",
}
_CAPTION = (
    "Times in seconds; out: outside the band. Bend since address: - cupped, + bowed. Pitch: 90° is upright. "
    "Butt line: where the shaft line meets the ground at lead arm level; + inside the ball line, toward the player."
)
DOUBT_WORDS = {
    Doubt.NONE: "",
    Doubt.NOT_FITTED: "not fitted",
    Doubt.NO_ADDRESS: "no rest over the ball",
    Doubt.SENSOR_MISSING: "sensor missing",
    Doubt.GAP: "data lost",
    Doubt.SATURATED: "too fast",
    Doubt.OUT_OF_RANGE: "slipped",
    Doubt.SENSOR_TURNED: "sensor turned",
    Doubt.FORESHORTENED: "shaft along the line of view",
}


def minutes(seconds: float) -> str:
    """Write a time as m:ss.s, which is how one finds it again in a recording."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"


def contents_table(head: RecordingHead, summary: Summary, units: Units = Units.METRIC) -> Table:
    """What the recording is."""
    table = Table(show_header=False, box=None, pad_edge=False)
    player = summary.player
    who = "" if player is None else f"{player.name or 'no name'}, lead arm {player.lead_side.value}"
    moves = ", ".join(f"{MOVE_WORDS[mark.move]} {minutes(mark.start_s)}" for mark in summary.moves)
    rows = {
        "made": head.created.replace("T", " ").replace("+00:00", " UTC"),
        "by": f"Pitchbend {head.program_version}" if head.program_version else "",
        "player": who + (f", {player.club}" if player and player.club else ""),
        "lengths": "" if player is None else _lengths(player, units),
        "duration": minutes(summary.duration_s),
        "packets": str(summary.n_packets),
        "fit moves": moves or "none",
        **head.notes,
    }
    for name, text in rows.items():
        if text:
            table.add_row(f"[dim]{name}[/]", text)
    return table


def _lengths(player: PlayerSet, units: Units) -> str:
    known = {"club": player.club_length_m, "arm": player.arm_length_m}
    return ", ".join(f"{what} {length_words(length_m, units)}" for what, length_m in known.items() if length_m)


def sensors_table(sensors: Sequence[SensorSummary]) -> Table:
    """How each sensor fared, a column each: that fits a terminal of 80 characters."""
    table = Table(title="Sensors", title_justify="left", box=SIMPLE, pad_edge=False)
    table.add_column("worn on", style="dim")
    for s in sensors:
        table.add_column(s.role or "unknown", justify="right")
    rows: tuple[tuple[str, Callable[[SensorSummary], str]], ...] = (
        ("name", lambda s: s.name or "-"),
        ("address", lambda s: str(s.sensor)),
        ("samples", lambda s: str(s.n_samples)),
        ("lost", _lost),
        ("unreadable", lambda s: str(s.n_malformed)),
        ("link drops", lambda s: str(s.n_drops)),
        ("longest wait", lambda s: f"{s.longest_gap_s:.2f} s at {minutes(s.longest_gap_at_s)}"),
        ("calibrated", lambda s: "yes" if s.trimmed else "no"),
    )
    for name, text in rows:
        table.add_row(name, *(text(s) for s in sensors))
    return table


def _lost(sensor: SensorSummary) -> str:
    if sensor.n_lost is None:
        return "unknown"
    return str(sensor.n_lost) if sensor.n_samples + sensor.n_lost else "-"


def reps_table(reps: Sequence[Rep], units: Units) -> Table:
    """What the swings were: the drill's verdict, and bend, pitch and butt line at the marks a coach reads."""
    drills = list(dict.fromkeys(rep.drill for rep in reps))
    rationed = not all(rep.cued for rep in reps)
    table = Table(
        title=f"Reps, drill: {', then '.join(drills)}",
        padding=(0, 1, 0, 0),
        title_justify="left",
        box=SIMPLE,
        pad_edge=False,
        caption=_CAPTION,
        caption_justify="left",
    )
    for name in (
        "rep",
        "at",
        "back",
        "down",
        "verdict",
        "out",
        "bend\nshaft\nlevel",
        "bend\narm\nlevel",
        "bend\ntop",
        "pitch\narm\nlevel",
        f"butt\nline\n{units.mark}",
    ):
        table.add_column(name, justify="left" if name == "verdict" else "right", no_wrap=True)
    if rationed:
        table.add_column("cue", no_wrap=True)
    for rep in reps:
        marks = rep.checkpoints
        table.add_row(
            str(rep.index),
            minutes(rep.address_s),
            f"{rep.backswing_s:.2f}",
            f"{rep.downswing_s:.2f}" if rep.downswing_s is not None else "-",
            DOUBT_WORDS[rep.doubt] or VERDICT_WORDS[rep.verdict],
            f"{rep.out_s:.2f}",
            *(_bend(marks.get(phase)) for phase in (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP)),
            _degrees(marks[Phase.ARM_LEVEL].angles.shaft_pitch_rad) if Phase.ARM_LEVEL in marks else "-",
            _butt_line(marks.get(Phase.ARM_LEVEL), units),
            *([_cue_word(rep)] if rationed else []),
        )
    return table


def _cue_word(rep: Rep) -> str:
    if rep.paused:
        return "pause"
    if rep.testing:
        return "test"
    return "cue" if rep.cued else "-"


def _bend(mark: Checkpoint | None) -> str:
    value = None if mark is None else mark.angles.bend_change_rad
    return "-" if value is None else f"{math.degrees(value):+.0f}°"


def _butt_line(mark: Checkpoint | None, units: Units) -> str:
    inside_m = None if mark is None else mark.angles.butt_line_m
    return "-" if inside_m is None else f"{units.shown(inside_m):+.0f}"


def _degrees(value_rad: float | None) -> str:
    return "-" if value_rad is None else f"{math.degrees(value_rad):.0f}°"


def damage_sentences(report: ReadReport) -> list[str]:
    """Say in plain words what is wrong with the file; nothing when all is well."""
    out = []
    if report.truncated:
        out.append("The recording ends abruptly (the program or the computer stopped); all before that is here.")
    if report.n_damaged_chunks:
        places = "one place" if report.n_damaged_chunks == 1 else f"{report.n_damaged_chunks} places"
        out.append(f"The file is damaged in {places}; {report.lost_s:.1f} s were left out.")
    if report.n_reintroduced:
        out.append("A sensor's introduction was damaged and has been restored.")
    if report.n_unknown_messages:
        out.append(
            f"{report.n_unknown_messages} entries are of a kind this version does not know and were passed over."
        )
    if report.n_malformed:
        out.append(f"{report.n_malformed} entries do not make sense and were passed over.")
    return out
