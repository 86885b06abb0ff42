"""The fake BlueZ as seen from a test: a process on the private bus, told what should go wrong."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sensors.virtual.air.sensor import Identity
from tests.integration.ble.identities import CLUB, FOREARM

_ROOT = Path(__file__).resolve().parents[3]


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorState:
    connected: bool
    commands: list[str]
    """Hexadecimal, in the order they were written."""
    write_types: list[str]
    """BlueZ's words: "request" waits for a response, "command" does not."""
    n_sent: int
    n_connects: int
    n_listeners: int
    """D-Bus clients subscribed to its samples."""


class FakeBluez:
    """`async with FakeBluez() as bluez: await bluez.tell("drop", index=0)`; what can be told is in `fake_bluez.py`."""

    def __init__(
        self,
        sensors: Sequence[Identity] = (FOREARM, CLUB),
        *,
        practice: Path | None = None,
        adapter: bool = True,
        powered: bool = True,
    ) -> None:
        self._config = json.dumps(
            {
                "sensors": [sensor.as_dict() for sensor in sensors],
                "practice": str(practice) if practice else None,
                "adapter": adapter,
                "powered": powered,
            }
        )
        self._process: asyncio.subprocess.Process | None = None

    async def __aenter__(self) -> Self:
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.integration.ble.fake_bluez", self._config,
            cwd=_ROOT, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        assert await self._answer() == "ready"
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        assert self._process is not None
        if self._process.returncode is None:
            assert self._process.stdin is not None
            self._process.stdin.close()  # it ends with its input
            await self._process.wait()

    async def tell(self, what: str, **details: Any) -> Any:
        """Have something happen; returns when it has."""
        assert self._process is not None
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps({"do": what, **details}).encode() + b"\n")
        return await self._answer()

    async def state(self, index: int) -> SensorState:
        return SensorState(**await self.tell("state", index=index))

    async def crash(self) -> None:
        """Die at once, without a word on the bus."""
        assert self._process is not None
        self._process.kill()
        await self._process.wait()

    async def _answer(self) -> Any:
        assert self._process is not None
        assert self._process.stdout is not None
        line = await self._process.stdout.readline()
        assert line, "the fake BlueZ died: see its traceback above"
        return json.loads(line)
