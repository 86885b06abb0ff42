"""`pitchbend live`: a practice with two sensors, on the page, recorded as it goes."""

from __future__ import annotations

from typing import Annotated

import typer

from server.cli import serving
from server.cli.options import DEFAULT_PORT, Club, Folder, Forearm, LeadSide, NoBrowser, Player, Port, SensorProfile
from server.cli.ports import check_port
from server.cli.practice import prepare
from server.wire import SourceView


def live(
    *,
    forearm: Forearm = None,
    club: Club = None,
    lead_side: LeadSide = None,
    player: Player = None,
    folder: Folder = None,
    profile: SensorProfile = None,
    no_record: Annotated[bool, typer.Option("--no-record", help="Do not keep this practice.")] = False,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
) -> None:
    """Practise with two sensors, seen and heard live.

    The first time it lists the sensors it finds and asks which one is on the forearm, while one of them blinks; after
    that it knows them. The page leads through four short poses, then swing. Every practice is recorded unless told not to.

    For example: **pitchbend live**, or for a left-handed player:

    **pitchbend live --player "Maren" --lead-side right**
    """
    check_port(port)
    setup = prepare(forearm=forearm, club=club, lead_side=lead_side, player=player, folder=folder, profile=profile)
    serving.serve(
        setup.make_source,
        view=SourceView(kind="live", name="Bluetooth", speed=1.0),
        port=port,
        open_browser=not no_browser,
        repeat=False,
        record_to=None if no_record else setup.record_to,
        player=setup.player,
        trims=setup.trims,
    )
