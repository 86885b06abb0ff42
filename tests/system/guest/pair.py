"""In the guest: the product's virtual pair on a vhci controller. Lines on standard input make trouble."""

from __future__ import annotations

import asyncio
import logging

from sensors.virtual.air.pair import PairSetup, VirtualPair
from sensors.virtual.stage.cast import Casting
from server.cli.virtual_keyboard import keyboard


def say(text: str) -> None:
    print(text, flush=True)


async def main() -> None:
    logging.getLogger("bumble").setLevel(logging.ERROR)
    # An emulated processor is too slow to make the motion while it plays the radio.
    pair = VirtualPair(PairSetup(casting=Casting(slice_s=10.0), made_ahead_s=120.0, transports=("vhci",)))
    async with pair, keyboard(pair, say):
        say("on the air")
        await asyncio.Event().wait()


asyncio.run(main())
