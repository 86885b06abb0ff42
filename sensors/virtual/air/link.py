"""The air between virtual controllers."""

from __future__ import annotations

import asyncio

from bumble.controller import Controller
from bumble.core import PhysicalTransport
from bumble.hci import Address
from bumble.link import LocalLink


class IntervalAir(LocalLink):
    """Carries data only at connection events, a fixed interval apart: packets come in bunches, as on the real air."""

    def __init__(self, interval_s: float) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # Bumble left this one without types
        self._interval_s = interval_s
        self._waiting: list[tuple[Controller, Address, PhysicalTransport, bytes]] = []

    def send_acl_data(
        self,
        sender_controller: Controller,
        destination_address: Address,
        transport: PhysicalTransport,
        data: bytes,
    ) -> None:
        """Keep it until the next connection event."""
        # One queue and one timer: asyncio does not keep the order of timers that are due at the same moment.
        if not self._waiting:
            loop = asyncio.get_running_loop()
            next_event = int(loop.time() / self._interval_s) + 1
            loop.call_at(next_event * self._interval_s, self._connection_event)
        self._waiting.append((sender_controller, destination_address, transport, data))

    def _connection_event(self) -> None:
        waiting, self._waiting = self._waiting, []
        for sender, destination, transport, data in waiting:
            # A link that went down meanwhile takes what was under way with it.
            receiver = self.find_le_controller(destination)
            link = sender.le_connections.get(destination)
            if receiver is not None and link is not None:
                # From the address that the connection was made with: a scan gives the sender's controller another one, under
                # which Bumble would send, and the receiver knows no connection with that.
                receiver.on_link_acl_data(link.self_address, transport, data)
