"""The bus that was named on the command line, checked before anything else starts."""

from __future__ import annotations

import importlib.util

from server.bus.address import BadAddress, BusAddress, bus_address
from server.cli.failures import CommandFailed, tell


def bus_wished(text: str | None) -> BusAddress | None:
    """Check it, and that what speaks to it is installed; None where none was named. Raises `CommandFailed`."""
    if text is None:
        return None
    try:
        address = bus_address(text)
    except BadAddress as error:
        raise CommandFailed(str(error)) from None
    if importlib.util.find_spec("nats") is None:
        raise CommandFailed('The bus needs one more library. Install it: pip install "pitchbend[board]"')
    if not address.secret:
        tell(
            f"{address.shown} is named without a password: whoever reaches it sees every practice there and can steer it."
        )
    return address
