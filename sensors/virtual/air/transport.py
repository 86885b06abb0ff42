"""Opening a real or a kernel's controller; whatever goes wrong becomes one error with its cause."""

from __future__ import annotations

import errno
from enum import StrEnum

from bumble import hci
from bumble.controller import Controller
from bumble.core import BaseBumbleError
from bumble.link import LocalLink
from bumble.transport import open_transport
from bumble.transport.common import Transport


class TransportTrouble(StrEnum):
    """Why a transport cannot be used; advice is looked up by this."""

    SPEC = "spec"
    """Nothing that Bumble knows is called so."""
    MISSING = "missing"
    PERMISSION = "permission"
    BUSY = "busy"
    REFUSED = "refused"
    """Nobody answers at that address."""
    OTHER = "other"


class TransportFailed(Exception):
    """A transport could not be opened."""

    def __init__(self, spec: str, trouble: TransportTrouble, detail: str) -> None:
        self.spec = spec
        self.trouble = trouble
        self.detail = detail
        super().__init__(f"{spec}: {trouble.value}: {detail}")


_BY_ERRNO = {
    errno.ENOENT: TransportTrouble.MISSING,
    errno.ENODEV: TransportTrouble.MISSING,
    errno.ENXIO: TransportTrouble.MISSING,
    errno.EAFNOSUPPORT: TransportTrouble.MISSING,
    errno.EACCES: TransportTrouble.PERMISSION,
    errno.EPERM: TransportTrouble.PERMISSION,
    errno.EBUSY: TransportTrouble.BUSY,
    errno.EADDRINUSE: TransportTrouble.BUSY,
    errno.ECONNREFUSED: TransportTrouble.REFUSED,
    errno.EHOSTUNREACH: TransportTrouble.REFUSED,
    errno.ENETUNREACH: TransportTrouble.REFUSED,
    errno.ETIMEDOUT: TransportTrouble.REFUSED,
}


def is_virtual_adapter(spec: str) -> bool:
    """Whether this is no controller, but the kernel's side of one that we play."""
    return spec.split(":", 1)[0] == "vhci"


async def opened(spec: str) -> Transport:
    """Open it. Raises `TransportFailed`."""
    try:
        return await open_transport(spec)
    except OSError as error:
        raise TransportFailed(spec, _of_os(error), error.strerror or str(error)) from error
    except ImportError as error:  # Linux's Bluetooth sockets are not in every Python
        raise TransportFailed(spec, TransportTrouble.MISSING, str(error)) from error
    except (BaseBumbleError, ValueError, AssertionError, IndexError) as error:
        # What Bumble makes of a bad name differs from transport to transport; the opening itself is all that ran.
        raise TransportFailed(spec, _of_cause(error), str(error) or type(error).__name__) from error


def _of_os(error: OSError) -> TransportTrouble:
    # pyserial's errors are OSErrors that carry the number only in their first argument or not at all.
    return _BY_ERRNO.get(error.errno or 0, TransportTrouble.OTHER)


def _of_cause(error: BaseException) -> TransportTrouble:
    cause = error.__cause__ or error.__context__
    return _of_os(cause) if isinstance(cause, OSError) else TransportTrouble.SPEC


def attach_kernel(transport: Transport, air: LocalLink) -> Controller:
    """Give the kernel behind `transport` a virtual controller on the air: an adapter of this computer's own Bluetooth."""
    controller = Controller(
        "pitchbend virtual adapter", host_source=transport.source, host_sink=transport.sink, link=air
    )
    # BlueZ uses what a controller says that it can, and the virtual one says more than it does.
    controller.le_features &= ~(hci.LeFeatureMask.LL_PRIVACY | hci.LeFeatureMask.LE_EXTENDED_ADVERTISING)
    return controller
