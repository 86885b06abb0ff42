"""For tests of recordings that play under somebody's hand: an engine on a deck, and one client that hears everything."""

from __future__ import annotations

import asyncio
import json
from contextlib import asynccontextmanager

from sensors.record.writer import Recorder
from server.chosen import Chosen
from server.engine import Engine
from server.replay.deck import Deck
from server.replay.survey import survey
from server.wire import SourceView
from tests.live_service import never

REPLAY = SourceView(kind="replay", name="evening.mcap", speed=1.0)


def recorded(path, events):
    with Recorder(path) as recorder:
        for event in events:
            recorder.write(event)
    return path


async def surveyed_here(path, view, chosen, states):
    """The first reading in this process, all at once."""
    with states.open("wb", buffering=0) as file:
        yield list(survey(path, view, chosen, file))


def surveyed_before(path):
    """A survey that has its news from an earlier reading of the same file: slow machines read it once for many tests."""
    states = path.with_suffix(".states")
    with states.open("wb", buffering=0) as file:
        news = list(survey(path, REPLAY, Chosen(), file))

    async def told(_, __, ___, place):
        place.write_bytes(states.read_bytes())
        yield news

    return told


async def not_surveyed(*_):
    await asyncio.Event().wait()
    yield []


class Player:
    """Says things to a deck and hears what the pages hear."""

    def __init__(self, path, *, survey=surveyed_here, speed=0.0, **options):
        self.deck = Deck(path, speed=speed, survey=survey, **options)
        self.engine = Engine(deck=self.deck, view=REPLAY, sleep=never)
        self.mailbox = self.engine.hub.join()
        self.heard = []

    @asynccontextmanager
    async def playing(self):
        task = asyncio.create_task(self.engine.run())
        try:
            yield self
        finally:
            task.cancel()
            await asyncio.wait({task})
        if not task.cancelled():
            task.result()

    async def until(self, wanted):
        """Take messages up to a wanted one, and give it."""
        async with asyncio.timeout(60):
            while True:
                self.heard.append(json.loads(await self.mailbox.take()))
                if wanted(self.heard[-1]):
                    return self.heard[-1]

    async def ask(self, message):
        """Wish for something, wait until it is so, and give the newest frame."""
        assert self.engine.replay(message) is None
        async with asyncio.timeout(60):
            while self.deck._target is not None or self.deck._steps or self.deck.view.seeking:
                await asyncio.sleep(0)
        return self.engine.hub.present.frame

    async def end(self):
        async with asyncio.timeout(60):
            while not self.engine.hub.present.ended:
                await asyncio.sleep(0)
