"""`pitchbend sensors list` and `pitchbend sensors check PROFILE CAPTURE`: the kinds of sensor, and whether a profile is right."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table
from rich.text import Text

from sensors.check.capture import CaptureError, as_spoken, read_capture
from sensors.check.findings import Check, Grade, Subject, check_packets
from sensors.check.others import who_reads
from sensors.ids import SensorId
from sensors.profile_files import known_profiles, profiles_folder, wanted_profile
from sensors.profiles.base import ClockKind, Profile
from sensors.profiles.load_instrument import STANDARD_GRAVITY_M_S2
from server.check_advice import found_words
from server.cli.failures import CommandFailed, tell
from server.cli.tables import damage_sentences

app = typer.Typer(
    name="sensors",
    no_args_is_help=True,
    rich_markup_mode="markdown",
    help="Which kinds of sensor Pitchbend knows, and whether the profile of a new one is right (docs/adding-a-sensor.md).",
)

_FIRST_PROBLEMS = 10
_MARKS = {
    Grade.GOOD: "[green]good[/]",
    Grade.DOUBTFUL: "[yellow]look[/]",
    Grade.BAD: "[red]wrong[/]",
    Grade.UNKNOWN: "[dim]unknown[/]",
}
_SUBJECT_WORDS = {
    Subject.PACKETS: "notifications",
    Subject.RATE: "rate",
    Subject.CLOCK: "clock",
    Subject.LOSS: "loss",
    Subject.GRAVITY: "gravity",
    Subject.REST_RATE: "turning at rest",
    Subject.AXES: "axes",
    Subject.GYR_SCALE: "gyroscope scale",
    Subject.SATURATION: "end of range",
}
_CLOCK_WORDS = {
    ClockKind.PER_PACKET_LAST: "of a packet's last sample",
    ClockKind.PER_PACKET_FIRST: "of a packet's first sample",
    ClockKind.PER_SAMPLE: "of every sample",
    ClockKind.NONE: "none",
}


@app.command("list")
def list_profiles() -> None:
    """List the kinds of sensor that can be used: those Pitchbend brings along, and your own."""
    known = known_profiles()
    console = Console(soft_wrap=True)
    for profile in known.profiles:
        choices = profile.choices
        console.print(Text(profile.name, style="bold"))
        table = Table(box=None, show_header=False, pad_edge=False)
        table.add_column()
        table.add_column(overflow="fold")  # an address that was cut off helps nobody
        loss = "" if profile.shows_loss else "; what it loses cannot be seen"
        rows = {
            "is": profile.title,
            "rate": f"{_choices(choices.rates_hz)} samples a second",
            "ranges": f"{_choices(choices.gyr_ranges_deg_s)} deg/s; {_choices(choices.acc_ranges_g)} g",
            "clock": _CLOCK_WORDS[profile.clock.kind] + loss,
            "described in": profile.source,
        }
        for name, words in rows.items():
            table.add_row(f"  [dim]{name}[/]", Text(words))
        console.print(table)
    console.print(Text("The first of several numbers is what the sensor does by itself."))
    folder = profiles_folder()
    console.print(Text(f"Files of your own: {folder}{'' if folder.is_dir() else ' (make this folder to have some)'}"))
    for problem in known.problems:
        tell(f"Not used: {problem}.")


@app.command("check")
def check(
    profile: Annotated[str, typer.Argument(metavar="PROFILE", help="A profile file (.toml), or a name from the list.")],
    capture: Annotated[
        Path,
        typer.Argument(metavar="CAPTURE", help="A recording (.mcap), or a text file of lines `arrival_seconds hex`."),
    ],
    *,
    every: Annotated[
        bool, typer.Option("--all", help="Show every unreadable notification, not only the first ten.")
    ] = False,
) -> None:
    """Check a profile against what a sensor sent.

    Exit code 0 when nothing is wrong, 1 when something is, 2 when profile or capture cannot be read.

    For the axes the capture must hold half a minute of turning the sensor by hand about each of its axes in turn while that axis
    lies level, a quarter turn a second; for the scales, a few seconds of lying still.
    """
    wanted = wanted_profile(profile)
    try:
        sent_by = read_capture(capture, wanted)
    except CaptureError as error:
        raise CommandFailed(f"{error}.") from error
    console = Console(soft_wrap=True)
    fits = True
    for sentence in damage_sentences(sent_by.damage):
        tell(sentence)
    if sent_by.last_line_cut_off:
        tell("The last line of this capture is cut off, and is passed over.")
    for sensor, sent in sent_by.packets.items():
        result = check_packets(as_spoken(wanted, sent_by.settings.get(sensor, {})), sent)
        show(sensor, result, console, every=every)
        fits = fits and result.fits
        if not result.decoded.n_samples:
            others = who_reads(sent, known_profiles().profiles)
            names = ", ".join(profile.name for profile in others if profile.name != wanted.name)
            if names:
                console.print(Text(f"These notifications can be read as {names}."))
    if not fits:
        raise typer.Exit(1)


def show(sensor: SensorId, check: Check, console: Console, *, every: bool) -> None:
    """Print one sensor's result."""
    console.print(Text(f"{sensor}, read as {check.profile.name} ({check.profile.title})", style="bold"))
    _show_problems(check, console, every=every)
    if check.decoded.n_samples:
        console.print(_ranges(check))
    table = Table(box=None, show_header=False, pad_edge=False)
    for finding in check.findings:
        table.add_row(_MARKS[finding.grade], _SUBJECT_WORDS[finding.subject], Text(found_words(check, finding)))
    console.print(table)
    if not check.fits:
        console.print("[red]The profile and these packets do not fit.[/]")
    elif check.not_shown:
        missing = ", ".join(_SUBJECT_WORDS[subject] for subject in check.not_shown)
        console.print(f"[yellow]Nothing wrong in what this capture shows. It does not show: {missing}.[/]")
    else:
        console.print("[green]Nothing wrong.[/]")


def _show_problems(check: Check, console: Console, *, every: bool) -> None:
    problems = check.decoded.problems
    shown = problems if every else problems[:_FIRST_PROBLEMS]
    for one in shown:
        beginning = one.payload[:12].hex(" ") + (" ..." if len(one.payload) > 12 else "")
        console.print(
            Text(
                f"  notification {one.number} at {one.arrival_s:.3f} s, {len(one.payload)} bytes [{beginning}]: {one.problem}"
            )
        )
    if len(shown) < len(problems):
        console.print(Text(f"  and {len(problems) - len(shown)} more; --all shows them"))


def _ranges(check: Check) -> Table:
    """What each axis read, from lowest to highest."""
    profile, decoded = check.profile, check.decoded
    table = Table(box=SIMPLE, pad_edge=False)
    for heading in ("", "x", "y", "z", "range"):
        table.add_column(heading, justify="left" if not heading else "right")
    gyr, acc = np.degrees(decoded.gyr_rad_s), decoded.acc_m_s2 / STANDARD_GRAVITY_M_S2
    rows = (
        ("gyroscope, deg/s", gyr, math.degrees(profile.gyr.range_si), 0),
        ("accelerometer, g", acc, profile.acc.range_si / STANDARD_GRAVITY_M_S2, 2),
    )
    for name, values, end, digits in rows:
        # A zero has no sign here.
        ends = [(round(values[:, i].min(), digits) + 0.0, round(values[:, i].max(), digits) + 0.0) for i in range(3)]
        seen = [f"{low:.{digits}f} to {high:.{digits}f}" for low, high in ends]
        table.add_row(name, *seen, f"{end:g}")
    return table


def _choices(values: tuple[float, ...]) -> str:
    return ", ".join(f"{value:g}" for value in values)


def profiles_for(wanted: str | None) -> tuple[Profile, ...]:
    """Give the profiles that a command may use, a wanted one first; says on stderr which of the person's files are wrong."""
    known = known_profiles((wanted,) if wanted else ())
    for problem in known.problems:
        tell(f"Not used: {problem}.")
    return known.profiles
