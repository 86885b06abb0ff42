"""A golfer's two sensors on the air, with everything behind them: `async with VirtualPair(setup) as pair`."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import AsyncExitStack
from dataclasses import dataclass, field
from types import TracebackType
from typing import Final, Self

from bumble.link import LocalLink
from bumble.transport.common import Transport

from sensors.ids import Move, Role
from sensors.virtual.air.faults import LOW_BATTERY_PCT, Faults, Loses, restart, run_faults
from sensors.virtual.air.link import IntervalAir
from sensors.virtual.air.peripheral import BumblePeripheral
from sensors.virtual.air.sensor import Identity, StartTogether
from sensors.virtual.air.transport import attach_kernel, is_virtual_adapter, opened
from sensors.virtual.stage.cast import Casting, cast
from sensors.virtual.stage.script import FIT, Script, TakeUp
from sensors.virtual.stage.stage import News

INTERVAL_S: Final = 0.030
"""Of connections on the virtual air: the longest that the profile asks for."""
ADDRESSES: Final = {Role.FOREARM: "C0:00:00:00:00:0A", Role.CLUB: "C0:00:00:00:00:0B"}
"""Random static addresses, the same every time, so that a program remembers which is which."""
UNHEARD_S: Final = 10.0
"""When nobody has listened for so long, the next listener sees the golfer begin with the fit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PairSetup:
    """Who plays what, on what, with which troubles."""

    casting: Casting = field(default_factory=Casting)
    fit: tuple[Move, ...] = FIT
    """Moves made unasked; none: the golfer waits to be asked."""
    n_swings: int = 12
    """Swings in a round."""
    refit: bool = False
    """Each round begins with the fit moves."""
    faults: Faults = field(default_factory=Faults)
    speed: float = 1.0
    made_ahead_s: float = 0.0
    """How much of the practice is made before anything is on the air."""
    transports: tuple[str, ...] = ()
    """None: an air of their own. `vhci`: the same, with this computer's Bluetooth on it. Else a controller for each sensor."""
    roles: tuple[Role, ...] = (Role.FOREARM, Role.CLUB)
    """Which sensors are on the air."""


@dataclass(frozen=True, slots=True)
class Blinks:
    """A sensor was told to show itself."""

    role: Role


PairNews = News | Blinks


class VirtualPair:
    """Raises `TransportFailed` on entering when a transport cannot be had."""

    def __init__(self, setup: PairSetup, *, tell: Callable[[PairNews], None] = lambda _: None) -> None:
        self.air: LocalLink = IntervalAir(INTERVAL_S / setup.speed)
        self.peripherals: dict[Role, BumblePeripheral] = {}
        self._setup = setup
        self._tell = tell
        self._script = Script(fit=setup.fit, n_swings=setup.n_swings, refit=setup.refit)
        self._stage = cast(setup.casting, self._script, tell=tell, heard=self._heard)
        self._unheard_since_s: float | None = None
        self._exits = AsyncExitStack()

    async def __aenter__(self) -> Self:
        self._stage.make_ahead(self._setup.made_ahead_s)
        async with AsyncExitStack() as exits:
            airs = await self._airs(exits)
            together = StartTogether(len(self._setup.roles))
            for index, role in enumerate(self._setup.roles):
                peripheral = self._make(role, airs[role], together, seed=self._setup.casting.seed * 16 + index)
                await peripheral.start()
                exits.push_async_callback(peripheral.stop)
                self.peripherals[role] = peripheral
            faults = asyncio.create_task(
                run_faults(self._setup.faults, self.peripherals, self._stage.boards), name="faults"
            )
            exits.push_async_callback(_cancelled, faults)
            self._exits = exits.pop_all()
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        await self._exits.aclose()

    def ask(self, wish: Move | TakeUp | float) -> None:
        """Have the golfer make a fit move, be ready for one, or make a swing with so much of the fault, next."""
        self._script.ask(wish)

    async def restart(self, role: Role) -> None:
        """Let a board restart."""
        await restart(self.peripherals[role], self._stage.boards[role])

    async def _airs(self, exits: AsyncExitStack) -> dict[Role, LocalLink | Transport]:
        """Where each sensor lives."""
        found: dict[Role, LocalLink | Transport] = dict.fromkeys(self._setup.roles, self.air)
        for index, spec in enumerate(self._setup.transports):
            transport = await opened(spec)
            exits.push_async_callback(transport.close)
            if is_virtual_adapter(spec):
                attach_kernel(transport, self.air)
            else:
                found[self._setup.roles[index]] = transport
        return found

    def _make(self, role: Role, air: LocalLink | Transport, together: StartTogether, *, seed: int) -> BumblePeripheral:
        low = self._setup.faults.low_battery and role is Role.CLUB
        identity = Identity(
            address=ADDRESSES[role],
            name=role.value,
            manufacturer="Pitchbend",
            model=f"virtual {role.value}",
            firmware="virtual",
            battery_pct=LOW_BATTERY_PCT if low else 84 if role is Role.FOREARM else 90,
        )
        return BumblePeripheral(
            identity,
            self._stage.packets(role),
            air,
            together=together,
            settings=self._stage.boards[role],
            loses=Loses(self._setup.faults.loss, seed),
            identified=lambda: self._tell(Blinks(role)),
            speed=self._setup.speed,
        )

    def _heard(self) -> bool:
        """Whether all are listened to, but for short absences; who comes back after a long one is somebody new."""
        now_s = asyncio.get_running_loop().time()
        if any(peripheral.sensor.listened_to for peripheral in self.peripherals.values()):
            if self._unheard_since_s is not None and now_s - self._unheard_since_s > UNHEARD_S:
                self._script.begin()
            self._unheard_since_s = None
            return True
        if self._unheard_since_s is None:
            self._unheard_since_s = now_s
        return now_s - self._unheard_since_s <= UNHEARD_S


async def _cancelled(task: asyncio.Task[None]) -> None:
    task.cancel()
    await asyncio.wait({task})
    if not task.cancelled():
        task.result()
