"""Lines typed while a virtual pair plays: fit moves, swings, and trouble on purpose."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Final

from sensors.ids import Move, Role
from sensors.virtual.air.pair import VirtualPair
from sensors.virtual.stage.script import TakeUp

HELP: Final = (
    "Type and press Enter:\n"
    f"  {' '.join(Move)}\n"
    "      the golfer makes that fit move next\n"
    "  ready MOVE                  the golfer gets ready for it, and makes it when it is begun on the page\n"
    "  swing, fault                a swing, sound or with the fault\n"
    "  drop [forearm|club]         the link goes down\n"
    "  restart [forearm|club]      the sensor restarts\n"
    "  silence, speak [forearm|club]  connected, and nothing comes; until it speaks again\n"
    "  battery PERCENT [forearm|club]  the battery level changes"
)
HINT: Final = "Lines typed here move the golfer and trouble the sensors: `help` lists them."
_SOUND, _FAULTY = 0.0, 0.75


class NotUnderstood(Exception):
    """The line says nothing that can be done; the message says what is wrong with it."""


async def obey(line: str, pair: VirtualPair) -> None:
    """Do what a line says. Without a name a sensor's trouble is the club's. Raises `NotUnderstood`."""
    words = line.lower().split()
    word, rest = words[0], words[1:]
    if word in tuple(Move):
        pair.ask(Move(word))
    elif word == "ready":
        if len(rest) != 1 or rest[0] not in tuple(Move):
            raise NotUnderstood(f"ready: for which move? {' '.join(Move)}")
        pair.ask(TakeUp(Move(rest[0])))
    elif word in ("swing", "fault"):
        pair.ask(_FAULTY if word == "fault" else _SOUND)
    elif word == "battery":
        await _battery(rest, pair)
    elif word in ("drop", "restart", "silence", "speak"):
        role = _role(rest, pair)
        peripheral = pair.peripherals[role]
        match word:
            case "drop":
                await peripheral.drop()
            case "restart":
                await pair.restart(role)
            case _:
                peripheral.sensor.silent = word == "silence"
    else:
        raise NotUnderstood(f"{word}: not understood.\n{HELP}")


async def _battery(words: list[str], pair: VirtualPair) -> None:
    if not words or not words[0].isdecimal() or int(words[0]) > 100:
        raise NotUnderstood("battery: how many per cent, 0 to 100?")
    await pair.peripherals[_role(words[1:], pair)].set_battery(int(words[0]))


def _role(words: list[str], pair: VirtualPair) -> Role:
    if not words:
        return Role.CLUB if Role.CLUB in pair.peripherals else Role.FOREARM
    if words[0] not in tuple(Role) or Role(words[0]) not in pair.peripherals:
        raise NotUnderstood(f"{words[0]}: say {' or '.join(pair.peripherals)}.")
    return Role(words[0])


@asynccontextmanager
async def keyboard(pair: VirtualPair, say: Callable[[str], None]) -> AsyncIterator[None]:
    """Obey lines from standard input for the length of the block."""
    lines: asyncio.Queue[str] = asyncio.Queue()
    loop = asyncio.get_running_loop()
    if _may_read():
        say(HINT)
        # A thread, for Windows cannot wait for a terminal otherwise; raw reads, for a thread that sleeps in Python's own
        # buffer makes the interpreter abort at its exit.
        threading.Thread(target=_read, args=(loop, lines), daemon=True, name="keyboard").start()
    task = asyncio.create_task(_obey_all(lines, pair, say), name="keyboard")
    try:
        yield
    finally:
        task.cancel()
        await asyncio.wait({task})


async def _obey_all(lines: asyncio.Queue[str], pair: VirtualPair, say: Callable[[str], None]) -> None:
    while True:
        line = await lines.get()
        if not line.strip():
            continue
        if line.strip().lower() in ("help", "?"):
            say(HELP)
            continue
        try:
            await obey(line, pair)
        except NotUnderstood as problem:
            say(str(problem))


def _may_read() -> bool:
    """Whether there is a standard input, and reading it would not stop a program in the background."""
    try:
        fd = sys.stdin.fileno()
    except (AttributeError, OSError, ValueError):
        return False
    if os.name == "nt" or not os.isatty(fd):
        return True
    return os.getpgrp() == os.tcgetpgrp(fd)


def _read(loop: asyncio.AbstractEventLoop, lines: asyncio.Queue[str]) -> None:
    fd, rest = sys.stdin.fileno(), b""
    while True:
        try:
            part = os.read(fd, 4096)
        except OSError:
            return
        if not part:
            return
        *whole, rest = (rest + part).split(b"\n")
        for line in whole:
            try:
                loop.call_soon_threadsafe(lines.put_nowait, line.decode(errors="replace"))
            except RuntimeError:  # the loop has ended
                return
