"""What this computer's authority may vouch for at all: names and addresses of local networks, never a site of the internet.

Whoever gets hold of its key gets no further than that, if the device minds the constraints (RFC 5280, section 4.2.1.10).
"""

from __future__ import annotations

import ipaddress
import re
from typing import Final

LOCAL_NETWORKS: Final = tuple(
    ipaddress.ip_network(text)
    for text in (
        "127.0.0.0/8",  # RFC 1122: the computer itself
        "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16",  # RFC 1918
        "169.254.0.0/16",  # RFC 3927: where nobody gives addresses
        "100.64.0.0/10",  # RFC 6598: shared, behind a provider's router
        "::1/128", "fc00::/7", "fe80::/10",  # RFC 4291, RFC 4193
    )
)  # fmt: skip
LOCAL_DOMAIN: Final = "local"
"""RFC 6762."""
ITSELF: Final = "localhost"
_LABEL: Final = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")


def is_label(name: str) -> bool:
    """Whether this can be a name of one word (RFC 1123, section 2.1)."""
    return _LABEL.fullmatch(name) is not None


def is_local(address: str) -> bool:
    """Whether the authority may vouch for this address."""
    ip = ipaddress.ip_address(address)
    return any(ip in network for network in LOCAL_NETWORKS)


def may_be_named(name: str, machine: str) -> bool:
    """Whether the authority of the computer that was called `machine` when it was made may vouch for this name."""
    if not all(is_label(label) for label in name.split(".")):
        return False
    return name in (ITSELF, machine) or name.endswith(f".{LOCAL_DOMAIN}")
