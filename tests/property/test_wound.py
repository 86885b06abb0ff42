"""Wherever a recording is wound to and however it came there, everything is as in playing it through, to the last bit."""

from __future__ import annotations

import asyncio
import bisect

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from server.wire_replay import ReplayPlayMessage, ReplaySeekMessage, ReplaySkipMessage, ReplayStepMessage
from tests.replaying import Player, not_surveyed, recorded, surveyed_here
from tests.virtual import virtual_run

RUN = (6, 2)
MOVES = st.one_of(
    st.builds(ReplaySeekMessage, to_s=st.floats(0, 90)),
    st.builds(ReplaySkipMessage, by_s=st.sampled_from([-5.0, -0.05, 0.05, 0.3, 7.0])),
    st.builds(ReplayStepMessage, packets=st.sampled_from([-3, -1, 1, 2])),
)


class Wound:
    """The recording, and what the pages know after each event of it when nobody winds."""

    def __init__(self, path):
        self.path = recorded(path, virtual_run(*RUN).events)
        self.through = asyncio.run(self.play())

    def __repr__(self):
        return "the recording"

    async def play(self):
        player, told = Player(self.path, survey=not_surveyed), []
        push = player.engine._stage.push

        def noting(event):
            push(event)
            told.append((event.arrival_ns, known(player)))

        player.engine._stage.push = noting
        async with player.playing():
            await player.end()
        return told


@pytest.fixture(scope="module")
def wound(tmp_path_factory):
    return Wound(tmp_path_factory.mktemp("wound") / "a.mcap")


def known(player):
    """Everything that follows from the events so far, but for the count of frames made."""
    told = dict(player.engine.hub.present.told)
    frame = told.pop("_frame")
    told.pop("sensors")  # asked of the clock as well
    told["_reps"] = tuple(told["_reps"])
    told["_notes"] = tuple(told["_notes"])
    told["_said"] = tuple(told["_said"])
    return {
        **{name: value.copy() if isinstance(value, dict) else value for name, value in told.items()},
        "frame": None if frame is None else frame.model_dump(exclude={"seq"}),
    }


@settings(max_examples=4, deadline=None, phases=[Phase.generate])
@given(moves=st.lists(MOVES, min_size=2, max_size=5), read=st.booleans())
def test_winding_gives_what_playing_through_gives(wound, moves, read):
    through = wound.through

    async def wind():
        player = Player(wound.path, survey=surveyed_here if read else not_surveyed)
        async with player.playing():
            while player.deck._head is None:
                await asyncio.sleep(0)
            await player.ask(ReplayPlayMessage(playing=False))
            for move in moves:
                await player.ask(move)
                n = player.deck._head.stream.n_events
                if n:
                    assert known(player) == through[n - 1][1]
                if isinstance(move, ReplaySeekMessage):
                    stamps = [at_ns for at_ns, _ in through[:-2]]  # without the two links that end
                    wanted_ns = stamps[0] + round(move.to_s * 1e9)
                    assert n == bisect.bisect_right(stamps, wanted_ns)
            await player.ask(ReplaySkipMessage(by_s=4.0))
            assert known(player) == through[player.deck._head.stream.n_events - 1][1]

    asyncio.run(wind())
