"""The addresses of this machine in its local networks, the one that a phone most likely reaches first."""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass
from typing import Final

import ifaddr

_SOMEWHERE: Final = ("192.0.2.1", 9)
"""An address kept for documentation (RFC 5737): asked the way there, the system names its own address on it; nothing is sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LanAddress:
    """One address, and the name of the adapter that has it."""

    address: str
    adapter: str


def lan_addresses() -> tuple[LanAddress, ...]:
    """Find them all, IPv4 only; none when this machine is in no network."""
    first = _on_the_way_out()
    found = {
        str(ip.ip): LanAddress(address=str(ip.ip), adapter=str(ip.nice_name))
        for adapter in ifaddr.get_adapters()
        for ip in adapter.ips
        if ip.is_IPv4 and _is_usable(str(ip.ip))
    }
    if first is not None and first not in found:
        found[first] = LanAddress(address=first, adapter="")
    return tuple(sorted(found.values(), key=lambda one: (one.address != first, not _is_home(one.address), one.address)))


def is_public(address: str) -> bool:
    """Whether anybody on the internet might reach this address."""
    return ipaddress.ip_address(address).is_global


def _is_usable(address: str) -> bool:
    ip = ipaddress.ip_address(address)
    return not (ip.is_loopback or ip.is_unspecified or ip.is_multicast)


def _is_home(address: str) -> bool:
    """Private, and not the makeshift kind that a machine gives itself where nobody gives it one."""
    ip = ipaddress.ip_address(address)
    return ip.is_private and not ip.is_link_local


def _on_the_way_out() -> str | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_SOMEWHERE)
        except OSError:
            return None
        address = str(probe.getsockname()[0])
    return address if _is_usable(address) else None
