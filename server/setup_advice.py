"""What to tell a person whose set-up failed. Standard library only, and parsed by any Python from 3.7 on."""

from __future__ import annotations

import re

_AGAIN = "then run the same command again."
_NETWORK_ADVICE = (
    "The network cannot be reached, and Pitchbend fetches its libraries from there once. "
    "Check the connection and any proxy, " + _AGAIN
)
_NETWORK = (
    r"NewConnectionError|Failed to establish a new connection|name resolution|getaddrinfo|Network is unreachable"
    r"|ConnectTimeout|Read timed out|Could not fetch URL|ProxyError|No route to host|Connection refused"
    r"|ENOTFOUND|EAI_AGAIN|ETIMEDOUT|ECONNREFUSED|ECONNRESET|ENETUNREACH"
)
_CERTIFICATE = r"CERTIFICATE_VERIFY_FAILED|SSLError"
_DISK = r"No space left on device|Errno 28|ENOSPC|not enough space on the disk|Disk quota exceeded"
_WRITING = r"Read-only file system|Errno 30|EROFS|Permission denied|Errno 13|EACCES|Access is denied"

# In this order: pip ends a failed download with "no matching distribution", whatever stopped it.
_CAUSES = (
    (_DISK, "The disk is full. Free about 600 MB, " + _AGAIN),
    (_WRITING, "This folder cannot be written to. Copy Pitchbend into a folder of your own and run it there."),
    (
        _CERTIFICATE,
        "The connection was refused for its certificate. Check this machine's clock and any proxy, " + _AGAIN,
    ),
    (_NETWORK, _NETWORK_ADVICE),
    (
        r"No matching distribution found for nodejs|no Node for the pages",
        "There is no Node on this machine, and none to fetch for it. Install Node 22.12 or newer (nodejs.org), "
        + _AGAIN,
    ),
    (r"\(from versions: none\)", _NETWORK_ADVICE),
)


def explain(output: str) -> str:
    """Say in plain words what went wrong; the end of the output follows, for whoever helps."""
    cause = next((text for pattern, text in _CAUSES if re.search(pattern, output)), "The set-up failed.")
    tail = "\n".join("    " + line for line in output.strip().splitlines()[-15:])
    return cause + ("\n\nWhat was said last:\n" + tail if tail else "")
