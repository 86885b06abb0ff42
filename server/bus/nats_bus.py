"""A bus on a NATS server. The only file that imports its library, which is an extra.

Connects again by itself, for as long as it runs. It keeps nothing while it is away: whoever publishes waits, and its mailbox
makes old frames give way to new ones.
"""

from __future__ import annotations

import asyncio
import itertools
import logging
import ssl
from collections.abc import Awaitable, Callable, Coroutine
from typing import Any, Final, TypeVar

from nats.aio.client import Client
from nats.aio.msg import Msg
from nats.errors import Error as NatsError

from server.bus.address import BusAddress, NotEncrypted
from server.bus.advice import away_advice, back_advice
from server.bus.bus import MOST_BYTES, BusMessage, Heard, Stop

T = TypeVar("T")

_log = logging.getLogger(__name__)

_UNCONFIRMED_BYTES: Final = 65_536
"""So much is on its way before the server has confirmed it: more would be old by the time it arrives."""
_NEVER_FULL_BYTES: Final = 64 * MOST_BYTES
"""Of the library's own buffer: what is not confirmed is held back before."""
_CLOSING_S: Final = 1.0
_TROUBLE: Final = (NatsError, OSError, TimeoutError, ssl.SSLError)


class NatsBus:
    """`await run()` in a task; the rest is `Bus`. `tell` hears, a sentence at a time, that the bus is away or back."""

    def __init__(
        self,
        address: BusAddress,
        *,
        name: str = "pitchbend",
        tell: Callable[[str], None] = lambda _: None,
        retry_s: float = 1.0,
        answer_s: float = 3.0,
    ) -> None:
        self.n_connected = 0
        """How often a connection was made."""
        self.n_too_long = 0
        """Messages that were never sent, because they were too long for the bus."""
        self.trouble = ""
        """Why it is away, in a sentence; empty while it is there."""
        self._address = address
        self._name = name
        self._tell = tell
        self._retry_s = retry_s
        self._answer_s = answer_s
        self._said: set[str] = set()
        """Since it was there last."""
        self._client: Client | None = None
        self._up = asyncio.Event()
        self._gone = asyncio.Event()
        self._last_error: Exception | None = None
        self._unconfirmed_bytes = 0
        self._numbers = itertools.count()
        self._listeners: dict[int, tuple[str, Heard]] = {}
        self._stops: dict[int, Callable[[], Coroutine[Any, Any, None]]] = {}
        self._lines = asyncio.Lock()
        self._calls: set[asyncio.Task[Any]] = set()
        self._changed = asyncio.Event()

    async def run(self) -> None:
        """Be connected until cancelled."""
        try:
            while True:
                if await self._connect():
                    await self._stay()
                await asyncio.sleep(self._retry_s)
        finally:
            await self._leave()

    async def publish(self, subject: str, data: bytes, *, reply_to: str = "") -> None:
        """See `Bus.publish`."""
        if len(data) > MOST_BYTES:
            self.n_too_long += 1
            _log.warning("%d bytes on %s are too long for the bus", len(data), subject)
            return
        while True:
            await self._up.wait()
            client = self._client
            if client is None:
                continue
            try:
                await self._bring_into_line(client)
                if self._unconfirmed_bytes > _UNCONFIRMED_BYTES:
                    self._unconfirmed_bytes = 0
                    await self._within(client.flush(round(self._answer_s) + 1), self._answer_s)
                self._unconfirmed_bytes += len(data)
                await client.publish(subject, data, reply=reply_to)
            except _TROUBLE as error:
                self._lose(client, error)
                continue
            return

    def subscribe(self, pattern: str, heard: Heard) -> Stop:
        """See `Bus.subscribe`."""
        number = next(self._numbers)
        self._listeners[number] = pattern, heard
        self._changed.set()

        def stop() -> None:
            self._listeners.pop(number, None)
            self._changed.set()

        return stop

    async def _connect(self) -> bool:
        client = _Client(must_encrypt=self._address.url.startswith("tls://"))
        self._last_error = None
        try:
            await self._within(
                client.connect(
                    self._address.url,
                    name=self._name,
                    error_cb=self._note_error,
                    closed_cb=self._note_closed(client),
                    allow_reconnect=False,
                    max_reconnect_attempts=1,  # and no more tries within: those are made here
                    reconnect_time_wait=0,
                    connect_timeout=max(1, round(self._answer_s)),
                    ping_interval=max(1, round(self._answer_s)),
                    max_outstanding_pings=2,
                    pending_size=_NEVER_FULL_BYTES,
                ),
                3 * self._answer_s,
                given_up=lambda: _abort(client),
            )
        except _TROUBLE as error:
            await self._close(client)
            self._away(self._last_error or error)
            return False
        self._client, self._unconfirmed_bytes = client, 0
        self._stops.clear()
        self._gone.clear()
        self._changed.set()
        self.n_connected += 1
        if self.trouble:
            self.trouble = ""
            self._said.clear()
            self._tell(back_advice(self._address.shown))
        self._up.set()
        return True

    async def _stay(self) -> None:
        """Keep the subscriptions as they are wanted, until the connection is gone."""
        client = self._client
        if client is None:
            return
        async with asyncio.TaskGroup() as tasks:
            keeping = tasks.create_task(self._keep_in_line(client), name="bus subscriptions")
            await self._gone.wait()
            keeping.cancel()
        self._up.clear()
        self._client = None
        _abort(client)
        await self._close(client)
        self._away(self._last_error)

    async def _keep_in_line(self, client: Client) -> None:
        while True:
            await self._changed.wait()
            try:
                await self._bring_into_line(client)
            except _TROUBLE as error:
                self._lose(client, error)
                return

    async def _bring_into_line(self, client: Client) -> None:
        """Subscribe and unsubscribe as wanted, before anything else is said: an answer must find its listener."""
        if not self._changed.is_set():
            return
        async with self._lines:
            self._changed.clear()
            for number in self._stops.keys() - self._listeners.keys():
                await self._within(self._stops.pop(number)(), self._answer_s)
            for number in self._listeners.keys() - self._stops.keys():
                pattern, heard = self._listeners[number]
                call = client.subscribe(pattern, cb=_passing_on(pattern, heard))
                subscription = await self._within(call, self._answer_s)
                self._stops[number] = subscription.unsubscribe

    def _lose(self, client: Client, error: Exception) -> None:
        """A connection that fails once is made anew: who waits for it waits on."""
        if client is self._client:
            self._last_error = error
            self._up.clear()
            self._gone.set()

    async def _note_error(self, error: Exception) -> None:
        self._last_error = error

    def _note_closed(self, client: Client) -> Callable[[], Awaitable[None]]:
        async def closed() -> None:
            if client is self._client:
                self._up.clear()
                self._gone.set()

        return closed

    def _away(self, error: Exception | None) -> None:
        sentence = away_advice(self._address.shown, error)
        self.trouble = sentence
        if sentence not in self._said:  # a server that refuses may hang up before its reason is read, or after
            self._said.add(sentence)
            self._tell(sentence)

    async def _leave(self) -> None:
        client, self._client = self._client, None
        self._up.clear()
        if client is not None:
            await self._close(client)

    async def _close(self, client: Client) -> None:
        try:
            await self._within(client.close(), _CLOSING_S)
        except _TROUBLE:
            _log.debug("closing the bus failed", exc_info=True)
        finally:
            _abort(client)

    async def _within(
        self, call: Coroutine[Any, Any, T], seconds: float, *, given_up: Callable[[], None] = lambda: None
    ) -> T:
        """Await a call of the library in a task of its own: it swallows cancellations, so `asyncio.timeout` cannot end it.

        `given_up` follows the end of a call that nobody waits for any more.
        """
        task = asyncio.get_running_loop().create_task(call, name="bus call")
        self._calls.add(task)
        task.add_done_callback(self._calls.discard)
        ended = False
        try:
            await asyncio.wait({task}, timeout=seconds)
            ended = task.done()
        finally:
            if not ended:
                task.cancel()
                task.add_done_callback(lambda _: given_up())
        if not ended:
            raise TimeoutError
        return task.result()


class _Client(Client):
    """The library's, but `tls://` is a demand: it would give the password in clear to a server that does not encrypt."""

    def __init__(self, *, must_encrypt: bool) -> None:
        super().__init__()
        self._must_encrypt = must_encrypt

    def _connect_command(self) -> bytes:
        if self._must_encrypt and not self._server_info.get("tls_required"):
            raise NotEncrypted
        return super()._connect_command()


def _passing_on(pattern: str, heard: Heard) -> Callable[[Msg], Awaitable[None]]:
    async def pass_on(message: Msg) -> None:
        if message.headers is not None and not message.data:
            return  # the server's own word that nobody listens to a question: the asker's patience tells as much
        try:
            heard(BusMessage(subject=message.subject, data=message.data, reply_to=message.reply))
        except Exception:  # noqa: BLE001 - a bug, seen in the log: the library would only pass it to `_note_error`
            _log.exception("a listener to %s failed", pattern)

    return pass_on


def _abort(client: Client) -> None:
    """Let go of the socket, also when the other end takes nothing any more: the library's own `close` would wait for that."""
    writer = getattr(getattr(client, "_transport", None), "_io_writer", None)
    if writer is not None:
        writer.transport.abort()
