"""A recording that is made when it is first wanted, then replayed like any other."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Self

from sensors.sources.replay import ReplaySource


class MadeReplay(ReplaySource):
    """`make` is called with the path, in a thread of its own, unless the file is there. Entering raises what it raises."""

    def __init__(
        self, path: Path, make: Callable[[Path], None], *, speed: float = 1.0, hurry_fit: bool = False
    ) -> None:
        super().__init__(path, speed=speed, hurry_fit=hurry_fit)
        self._make = make

    async def __aenter__(self) -> Self:
        if not self.path.exists():
            await asyncio.to_thread(self._make, self.path)
        return await super().__aenter__()
