"""What `virtual-pair` says: what the golfer does, and why a controller cannot be used."""

from __future__ import annotations

from typing import assert_never

from sensors.virtual.air.pair import Blinks, PairNews
from sensors.virtual.air.transport import TransportFailed, TransportTrouble
from sensors.virtual.stage.stage import MoveAhead, MoveBegun, SwingAhead
from server.moves import moves


def news_sentence(news: PairNews, *, taps: bool) -> str:
    """Say what the golfer does; `taps` is whether the person at the page has to tap for it."""
    match news:
        case MoveAhead():
            return f"Fit move: {moves()[news.move].title}" + (" (get ready to tap it)" if taps else "")
        case MoveBegun():
            return f'Tap "{moves()[news.move].title}" on the page now.' if taps else ""
        case SwingAhead():
            return f"A swing, {'with the fault' if news.fault > 0.5 else 'half right' if news.fault > 0.2 else 'sound'}"
        case Blinks():
            return f"The {news.role.value} sensor blinks."
        case _:
            assert_never(news)


def transport_sentence(failure: TransportFailed) -> str:  # noqa: PLR0911  # a table
    """Say why a controller could not be had, and what to do."""
    spec, detail = failure.spec, failure.detail.rstrip(".")
    scheme = spec.split(":", 1)[0]
    match failure.trouble:
        case TransportTrouble.SPEC:
            return (
                f"--transport {spec}: {detail}. Write it as kind:place, for example usb:0, serial:/dev/ttyACM0, "
                "tcp-client:127.0.0.1:6402 or, on Linux as root, vhci."
            )
        case TransportTrouble.MISSING if scheme == "vhci":
            return (
                f"--transport {spec}: this system has no virtual Bluetooth controllers ({detail}). On Linux, as root, "
                "`modprobe hci_vhci` adds them if the kernel was built with them."
            )
        case TransportTrouble.MISSING:
            return f"--transport {spec}: there is no such controller here ({detail}). Plug it in, or correct the name."
        case TransportTrouble.PERMISSION:
            return (
                f"--transport {spec}: this user may not use it ({detail}). Run it as root, or give this user the right."
            )
        case TransportTrouble.BUSY:
            return (
                f"--transport {spec}: another program has it ({detail}). Stop that one, or choose another controller."
            )
        case TransportTrouble.REFUSED:
            return f"--transport {spec}: nobody answers there ({detail}). Start the other side first, or correct the address."
        case TransportTrouble.OTHER:
            return f"--transport {spec} cannot be used: {detail}."
        case _:
            assert_never(failure.trouble)
