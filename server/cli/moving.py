"""Finds out on a terminal which sensor is which: the one that is moved when its place is asked for is it. No key is pressed."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Final

from sensors.errors import RadioError
from sensors.events import LinkReason
from sensors.ids import PAIR, Role, SensorId
from sensors.sources.base import Controls, Source, controls_of
from server.advice import reason_advice
from server.choosing.candidates import Candidate, Candidates
from server.choosing.sentences import PLACE_WORDS, move_instruction
from server.cli.failures import CommandFailed

HELD_NS: Final = 1_000_000_000
"""It must be the one that moves for so long: a table that is knocked is over sooner."""
PATIENCE_S: Final = 120.0
"""For each place. Then nobody is there any more."""
_LOOK_EVERY_S: Final = 0.5


async def choose_by_moving(
    source: Source, places: Mapping[Role, SensorId], say: Callable[[str], None], *, patience_s: float = PATIENCE_S
) -> dict[Role, SensorId]:
    """Give every place of the pair that `places` lacks. `source` gathers. Raises `CommandFailed` when nobody moves any."""
    controls = controls_of(source)
    if controls is None:
        raise TypeError("this source has no sensors to choose from")
    asker = _Asker(controls, say)
    chosen = dict(places)
    wanted = [role for role in PAIR if role not in places]
    async with source, asyncio.TaskGroup() as tasks:
        trouble = tasks.create_task(asker.report_trouble(), name="radio trouble")
        for place in wanted:
            say(move_instruction(place))
            try:
                async with asyncio.timeout(patience_s):
                    sensor = await asker.moved(source)
            except TimeoutError:
                trouble.cancel()
                break
            controls.place({sensor: place})
            chosen[place] = sensor
            with suppress(RadioError):
                await controls.blink(sensor)
        trouble.cancel()
    missing = next((role for role in wanted if role not in chosen), None)
    if missing is not None:
        raise CommandFailed(
            f"No sensor was moved for {PLACE_WORDS[missing]}. Switch both on, bring them near and try again, "
            "or say which is which: --forearm ADDRESS --club ADDRESS."
        )
    say("Not right? Exchange the two with --swap, or choose again with --choose.")
    return chosen


class _Asker:
    def __init__(self, controls: Controls, say: Callable[[str], None]) -> None:
        self._controls = controls
        self._say = say
        self._candidates = Candidates()
        self._n_heard = 0
        self._since: tuple[SensorId, int] | None = None
        """Who moves, and since when."""

    async def moved(self, source: Source) -> SensorId:
        """Wait for one that has no place yet to be moved."""
        async for event in source:
            self._candidates.push(event)
            present = self._candidates.at(event.arrival_ns)
            self._note_heard(present)
            moving = next((one for one in present if one.moving and one.health.role is Role.SPARE), None)
            if moving is None:
                self._since = None
            elif self._since is None or self._since[0] != moving.health.sensor:
                self._since = moving.health.sensor, event.arrival_ns
            elif event.arrival_ns - self._since[1] >= HELD_NS:
                self._since = None
                self._say(f"That is {moving.health.name} ({moving.health.sensor}); it blinks, if it can.")
                return moving.health.sensor
        raise CommandFailed("The radio stopped. Start again.")

    async def report_trouble(self) -> None:
        """Say what is wrong with the radio of this machine, each time that it changes."""
        said = LinkReason.NONE
        while True:
            if self._controls.trouble is not said:
                said = self._controls.trouble
                if said is not LinkReason.NONE:
                    self._say(reason_advice(said) + " It goes on by itself then; Ctrl-C stops it.")
            await asyncio.sleep(_LOOK_EVERY_S)

    def _note_heard(self, present: tuple[Candidate, ...]) -> None:
        named = [one.health.name for one in present if one.health.name]
        if len(named) != self._n_heard:
            self._n_heard = len(named)
            self._say(f"Heard: {', '.join(named)}" if named else "No sensor is heard any more.")
