"""Trouble on purpose, to try a collector out: lost packets, dropped links, restarts, a battery that runs low."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from sensors.ids import Role
from sensors.virtual.air.peripheral import BumblePeripheral
from sensors.virtual.stage.board import Board

LOW_BATTERY_PCT: Final = 12
EMPTIES_EVERY_S: Final = 20.0
"""A low battery loses one per cent in this time."""
RESTART_S: Final = 2.0
"""How long a board that restarts is off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """What goes wrong; nothing by default. Of whatever strikes one sensor, the club's has it first, then by turns.

    Links go down and boards restart only while someone listens to them.
    """

    loss: float = 0.0
    """Share of packets that never come, 0 to 1."""
    drop_every_s: float | None = None
    restart_every_s: float | None = None
    low_battery: bool = False
    """The club's battery begins at 12 % and runs down."""


class Loses:
    """Says of each packet whether it gets lost; the same of the same seed."""

    def __init__(self, share: float, seed: int) -> None:
        self._share = share
        self._rng = np.random.default_rng((seed, 5))

    def __call__(self) -> bool:
        """Draw for one packet."""
        return self._share > 0.0 and bool(self._rng.random() < self._share)


async def restart(peripheral: BumblePeripheral, board: Board) -> None:
    """Let a board restart: link gone, counters at zero, back on the air after a moment."""
    board.restart()
    await peripheral.drop(off_s=RESTART_S)


async def run_faults(
    faults: Faults, peripherals: Mapping[Role, BumblePeripheral], boards: Mapping[Role, Board]
) -> None:
    """Strike until cancelled."""
    roles = [role for role in (Role.CLUB, Role.FOREARM) if role in peripherals]
    async with asyncio.TaskGroup() as tasks:
        if faults.drop_every_s is not None:
            tasks.create_task(_drop(faults.drop_every_s, roles, peripherals), name="drops links")
        if faults.restart_every_s is not None:
            tasks.create_task(_restart(faults.restart_every_s, roles, peripherals, boards), name="restarts boards")
        if faults.low_battery:
            tasks.create_task(_run_down(peripherals[roles[0]]), name="empties a battery")


async def _drop(every_s: float, roles: list[Role], peripherals: Mapping[Role, BumblePeripheral]) -> None:
    for role in itertools.cycle(roles):
        await asyncio.sleep(every_s)
        if peripherals[role].sensor.listened_to:
            await peripherals[role].drop()


async def _restart(
    every_s: float, roles: list[Role], peripherals: Mapping[Role, BumblePeripheral], boards: Mapping[Role, Board]
) -> None:
    for role in itertools.cycle(roles):
        await asyncio.sleep(every_s)
        if peripherals[role].sensor.listened_to:
            await restart(peripherals[role], boards[role])


async def _run_down(peripheral: BumblePeripheral) -> None:
    for pct in range(LOW_BATTERY_PCT, -1, -1):
        await peripheral.set_battery(pct)
        await asyncio.sleep(EMPTIES_EVERY_S)
