"""The first reading of a recording in a process of its own, and its news as they come."""

from __future__ import annotations

import asyncio
import multiprocessing
import time
from collections.abc import AsyncGenerator
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Final

from server.child_process import MODEST, leave_ctrl_c, step_back
from server.chosen import Chosen
from server.replay.survey import News, survey
from server.wire import SourceView

_TELL_EVERY_S: Final = 0.25


class SurveyFailed(Exception):
    """The process could not be begun, or ended before its time."""


async def surveyed_elsewhere(path: Path, view: SourceView, chosen: Chosen, spill: Path) -> AsyncGenerator[list[News]]:
    """Give the news in handfuls; states go into the file `spill`. Raises `SurveyFailed`."""
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(sender, path, view, chosen, spill), daemon=True, name="first reading")
    try:
        try:
            await asyncio.to_thread(process.start)
        except OSError as error:
            raise SurveyFailed(error.strerror or str(error)) from error
        finally:
            sender.close()  # the process has its own; while this one is open its end would not be seen
        while True:
            try:
                handful: list[News] | str | None = await asyncio.to_thread(receiver.recv)
            except (EOFError, OSError):
                raise SurveyFailed("it ended before its time") from None
            if isinstance(handful, str):
                raise SurveyFailed(handful)
            if handful is None:
                return
            yield handful
    finally:
        if process.pid is not None:
            process.kill()
            process.join()
        receiver.close()


def _work(sender: Connection, path: Path, view: SourceView, chosen: Chosen, spill: Path) -> None:
    leave_ctrl_c()
    step_back(MODEST)
    with suppress(BrokenPipeError):  # the service has gone
        try:
            with spill.open("wb", buffering=0) as file:  # what has been told of lies in the file
                handful: list[News] = []
                told_s = time.monotonic()
                for news in survey(path, view, chosen, file):
                    handful.append(news)
                    if time.monotonic() - told_s > _TELL_EVERY_S:
                        sender.send(handful)
                        handful, told_s = [], time.monotonic()
                sender.send(handful)
            sender.send(None)
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                raise
            sender.send(error.strerror or str(error))
