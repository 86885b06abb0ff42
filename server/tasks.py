"""Tasks that end together."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from typing import Any


async def first_of(*jobs: Coroutine[Any, Any, object]) -> None:
    """Run all until the first has ended."""
    async with asyncio.TaskGroup() as group:
        tasks = [group.create_task(job, name="first of several") for job in jobs]
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in tasks:
            task.cancel()
