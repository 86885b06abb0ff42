"""Tables for the terminal, in a coach's words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.table import Table

from fusion.outputs import Doubt, Rep, Verdict
from sensors.ids import Move
from sensors.record.reader import ReadReport, RecordingHead
from sensors.record.summary import SensorSummary, Summary

MOVE_WORDS = {
    Move.STILL: "sensors still",
    Move.ARM_DOWN: "arm down",
    Move.ARM_LEVEL: "arm level",
    Move.CLUB_HANG: "club hanging",
}
VERDICT_WORDS = {
    Verdict.IN_BAND: "stayed in",
    Verdict.BELOW: "below",
    Verdict.ABOVE: "above",
    Verdict.UNKNOWN: "not judged",
}
DOUBT_WORDS = {
    Doubt.NONE: "",
    Doubt.NOT_FITTED: "sensors not fitted to the body",
    Doubt.NO_ADDRESS: "no rest over the ball",
    Doubt.SENSOR_MISSING: "a sensor was missing",
    Doubt.GAP: "data lost during the swing",
    Doubt.SATURATED: "too fast for the sensor",
    Doubt.OUT_OF_RANGE: "a sensor or the grip had slipped",
    Doubt.FORESHORTENED: "shaft along the line of view",
}


def minutes(seconds: float) -> str:
    """Write a time as m:ss.s, which is how one finds it again in a recording."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"


def contents_table(head: RecordingHead, summary: Summary) -> Table:
    """What the recording is."""
    table = Table(show_header=False, box=None, pad_edge=False)
    player = summary.player
    who = "" if player is None else f"{player.name or 'no name'}, lead arm {player.lead_side.value}"
    moves = ", ".join(f"{MOVE_WORDS[move]} {minutes(at_s)}" for at_s, move in summary.moves)
    rows = {
        "made": head.created.replace("T", " ").replace("+00:00", " UTC"),
        "by": f"Pitchbend {head.program_version}" if head.program_version else "",
        "player": who + (f", {player.club}" if player and player.club else ""),
        "length": minutes(summary.duration_s),
        "packets": str(summary.n_packets),
        "fit moves": moves or "none",
        **head.notes,
    }
    for name, text in rows.items():
        if text:
            table.add_row(f"[dim]{name}[/]", text)
    return table


def sensors_table(sensors: Sequence[SensorSummary]) -> Table:
    """How each sensor fared."""
    table = Table(title="Sensors", title_justify="left")
    for name in (
        "worn on",
        "sensor",
        "samples",
        "a second",
        "lost",
        "unreadable",
        "link drops",
        "longest wait",
        "battery",
    ):
        table.add_column(name, justify="left" if name in {"worn on", "sensor"} else "right")
    for s in sensors:
        total = s.n_samples + s.n_lost
        table.add_row(
            s.role or "unknown",
            f"{s.name} ({s.sensor})" if s.name else str(s.sensor),
            str(s.n_samples),
            f"{s.rate_hz:.1f}" if s.rate_hz is not None else "-",
            f"{s.n_lost} ({s.n_lost / total:.1%})" if total else "-",
            str(s.n_malformed),
            str(s.n_drops + s.n_restarts),
            f"{s.longest_gap_s:.2f} s at {minutes(s.longest_gap_at_s)}",
            f"{s.battery_pct} %" if s.battery_pct is not None else "-",
        )
    return table


def reps_table(drill_name: str, reps: Sequence[Rep]) -> Table:
    """What the swings were, judged by the drill."""
    table = Table(title=f"Reps, drill: {drill_name}", title_justify="left")
    for name in ("rep", "at", "backswing", "downswing", "verdict", "furthest", "outside for", ""):
        table.add_column(name, justify="left" if name in {"verdict", ""} else "right")
    for rep in reps:
        table.add_row(
            str(rep.index),
            minutes(rep.address_s),
            f"{rep.backswing_s:.2f} s",
            f"{rep.downswing_s:.2f} s" if rep.downswing_s is not None else "-",
            VERDICT_WORDS[rep.verdict],
            f"{math.degrees(rep.worst_rad):+.0f}°" if rep.worst_rad is not None else "-",
            f"{rep.out_s:.2f} s",
            DOUBT_WORDS[rep.doubt],
        )
    return table


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
