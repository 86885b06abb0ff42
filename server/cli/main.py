"""The `pitchbend` command: one file a sub-command beside this one."""

from __future__ import annotations

import os
import sys

import typer

from sensors.errors import SensorsError
from server.advice import error_sentence
from server.cli.analyse import analyse
from server.cli.answer import answer
from server.cli.board import board
from server.cli.demo import demo
from server.cli.drills import drills
from server.cli.export import export
from server.cli.failures import CommandFailed, tell
from server.cli.import_imu import import_imu
from server.cli.inspect import inspect
from server.cli.live import live
from server.cli.player_progress import progress
from server.cli.reanalyse import reanalyse
from server.cli.record import record
from server.cli.recordings import recordings
from server.cli.recover import recover_command
from server.cli.replay import replay
from server.cli.report import report
from server.cli.review import review
from server.cli.scan import scan
from server.cli.sensors import app as sensors_app
from server.cli.store import app as store_app
from server.cli.trust import app as trust_app
from server.cli.virtual_pair import virtual_pair

app = typer.Typer(
    name="pitchbend",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="markdown",
    help=(
        "Lead-wrist bend and shaft pitch of the backswing, seen and heard as it happens.\n\n"
        "New here? Try **pitchbend demo**: it needs no sensors. **pitchbend virtual-pair** plays two that do not exist.\n\n"
        "With two sensors, one on the lead forearm just above the wrist and one on the grip: **pitchbend live**."
    ),
    epilog="Help for one command: **pitchbend live --help**",
)
for command in (
    demo,
    live,
    board,
    record,
    replay,
    recordings,
    scan,
    drills,
    inspect,
    import_imu,
    analyse,
    reanalyse,
    export,
    answer,
    report,
    review,
    virtual_pair,
    progress,
):
    app.command()(command)
app.command("recover")(recover_command)
app.add_typer(sensors_app)
app.add_typer(store_app)
app.add_typer(trust_app)


def main() -> None:
    """Run the command; what a person can put right is one sentence on stderr and exit code 2."""
    try:
        app()
    except CommandFailed as failure:
        tell(str(failure))
        sys.exit(2)
    except SensorsError as error:
        tell(error_sentence(error))
        sys.exit(2)
    except BrokenPipeError:  # the reader of our output (a pager, `head`) has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
