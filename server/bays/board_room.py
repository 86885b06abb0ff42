"""The practices of a board: those that are heard on a bus come, go away, come back, and are dropped when they stay away."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from typing import Final

from server.bays.bay import Bays
from server.bays.names import slug
from server.bays.remote_bay import RemoteBay
from server.bus.bus import MOST_BYTES, Bus, BusMessage
from server.bus.messages import HereMessage
from server.bus.requests import Requests
from server.bus.subjects import ALL_HERE, BayAddress, address_in, all_live, new_number
from server.wire import PROTOCOL_VERSION

MOST_BAYS: Final = 64
MOST_HERE_BYTES: Final = 16_384
DROPPED_AFTER_S: Final = 30 * 60.0
LEFT_AFTER_S: Final = 60.0
_LOOK_EVERY_S: Final = 1.0


class BoardRoom:
    """`await run()`; `bays` then holds those that are heard. `tell` hears, a sentence at a time, of strangers."""

    def __init__(
        self,
        bus: Bus,
        bays: Bays,
        *,
        tell: Callable[[str], None] = lambda _: None,
        clock_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.number = new_number()
        self.n_refused = 0
        """Messages that were malformed, of another version, or of one practice too many."""
        self._bus = bus
        self._requests = Requests(bus)
        self._bays = bays
        self._tell = tell
        self._clock_s = clock_s
        self._known: dict[BayAddress, RemoteBay] = {}
        self._running: dict[RemoteBay, asyncio.Task[None]] = {}
        self._told: set[str] = set()

    async def run(self) -> None:
        """Listen until cancelled."""
        stops = [
            self._bus.subscribe(ALL_HERE, self._hear_here),
            self._bus.subscribe(all_live(self.number), self._hear_live),
        ]
        try:
            while True:
                await asyncio.sleep(_LOOK_EVERY_S)
                self.look()
        finally:
            for stop in stops:
                stop()
            for task in self._running.values():
                task.cancel()
            if self._running:
                await asyncio.wait(list(self._running.values()))

    def look(self) -> None:
        """See who has gone away, drop those that stay away, and begin again what has failed."""
        for bay in list(self._running):
            bay.look()
            if bay.n_guests == 0 and bay.silent_s > (LEFT_AFTER_S if bay.left else DROPPED_AFTER_S):
                self._drop(bay)
            elif self._running[bay].done():
                self._run(bay)

    def _hear_here(self, heard: BusMessage) -> None:
        address = address_in(heard.subject)
        here = self._here(heard.data) if address is not None else None
        if address is None or here is None:
            self.n_refused += 1
            return
        bay = self._known.get(address) or self._back(address, here)
        if bay is None and here.left:
            return
        if bay is None:
            if len(self._known) >= MOST_BAYS and not self._make_room():
                self.n_refused += 1
                return
            bay = self._add(address, here)
        bay.heard(address, here)

    def _hear_live(self, heard: BusMessage) -> None:
        address = address_in(heard.subject)
        bay = self._known.get(address) if address is not None else None
        if bay is None or len(heard.data) > MOST_BYTES:
            self.n_refused += 1
            return
        bay.told(heard.data)

    def _here(self, data: bytes) -> HereMessage | None:
        if len(data) > MOST_HERE_BYTES:
            return None
        try:
            protocol = json.loads(data)["protocol"]
            if protocol == PROTOCOL_VERSION:
                return HereMessage.model_validate_json(data)
        except (ValueError, TypeError, KeyError, RecursionError):  # pydantic's error is a ValueError
            return None
        if type(protocol) is int:  # JSON has true and false besides
            self._say_once(
                f"A practice on the bus is of another version of Pitchbend (its messages are of version {protocol}, here "
                f"{PROTOCOL_VERSION}), so it is not shown. Install the same version on both computers."
            )
        return None

    def _say_once(self, sentence: str) -> None:
        if len(self._told) < 8 and sentence not in self._told:
            self._told.add(sentence)
            self._tell(sentence)

    def _back(self, address: BayAddress, here: HereMessage) -> RemoteBay | None:
        """Find the one that this is, begun anew: the same practice of the same computer, gone away."""
        for before, bay in self._known.items():
            if before.id == address.id and bay.host == here.host and bay.away:
                del self._known[before]
                self._known[address] = bay
                return bay
        return None

    def _add(self, address: BayAddress, here: HereMessage) -> RemoteBay:
        bay = RemoteBay(
            self._bus, self._requests, id=self._free_id(address, here), address=address, here=here, board=self.number,
            clock_s=self._clock_s,
        )  # fmt: skip
        if any(other.name == bay.name for other in self._bays):
            bay.name = f"{bay.name}, {here.host}"
        self._known[address] = bay
        self._bays.add(bay)
        self._run(bay)
        return bay

    def _free_id(self, address: BayAddress, here: HereMessage) -> str:
        wanted = [address.id, f"{address.id}-{slug(here.host)}"]
        wanted += [f"{wanted[-1]}-{number}" for number in range(2, MOST_BAYS + 2)]
        return next(one for one in wanted if self._bays.find(one) is None)

    def _run(self, bay: RemoteBay) -> None:
        self._running[bay] = asyncio.get_running_loop().create_task(bay.run(), name=f"practice {bay.id} elsewhere")

    def _make_room(self) -> bool:
        """Drop the one that has been away longest."""
        gone = [bay for bay in self._running if bay.away and bay.n_guests == 0]
        if gone:
            self._drop(max(gone, key=lambda bay: bay.silent_s))
        return bool(gone)

    def _drop(self, bay: RemoteBay) -> None:
        self._running.pop(bay).cancel()
        self._known.pop(bay.address, None)
        self._bays.remove(bay.id)
