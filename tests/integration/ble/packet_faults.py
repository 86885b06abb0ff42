"""What becomes of packets between a board's buffer and the host, drawn from a seed and written into a book.

Lost: the firmware's queue was full. Within a connection the radio itself loses nothing, it repeats until it got through.
Doubled: two subscriptions on the host's side. Late: out of order, which no Bluetooth stack should do; the decoder forgives up
to eight packets. Spoilt: see `_spoilt`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from random import Random

LATEST_PACKETS = 8
"""How far out of order a packet may come: as far as the decoder still knows it for late."""
_LONGEST_PAYLOAD_BYTES = 244


@dataclass(slots=True)
class Book:
    """What was done to one sensor's stream, and what came through, in the injector's own words."""

    faults: Counter[str] = field(default_factory=Counter)
    spoilt: set[bytes] = field(default_factory=set)
    """Payloads that are not what the board made."""
    delivered: list[tuple[int, bytes]] = field(default_factory=list)
    """(host time in ns, payload) of each notification that the radio handed to the host."""
    battery_pct: int = 0
    """As the board has it."""


class PacketFaults:
    """Push a payload, get what is sent in its place: nothing, itself, something else, more."""

    def __init__(self, rng: Random, book: Book) -> None:
        self._rng = rng
        self._book = book
        self._n_to_lose = 0
        self._n_to_double = 0
        self._held: list[tuple[int, bytes]] = []
        """(packets still to pass, payload)."""

    def push(self, payload: bytes) -> list[bytes]:
        out = self._fate(payload)
        still: list[tuple[int, bytes]] = []
        for n_to_pass, held in self._held:
            if held is payload or n_to_pass > 1:
                still.append((n_to_pass - (held is not payload), held))
            else:
                out.append(held)
        self._held = still
        return out

    def forget(self) -> None:
        """The stream ends, for good or for a while: what was held back is gone."""
        self._held.clear()
        self._n_to_lose = self._n_to_double = 0

    def _fate(self, payload: bytes) -> list[bytes]:
        rng, faults = self._rng, self._book.faults
        if self._n_to_lose > 0:
            self._n_to_lose -= 1
            return []
        if self._n_to_double > 0:
            self._n_to_double -= 1
            return [payload, payload]
        match rng.choices(
            ("whole", "lost", "burst lost", "late", "doubled", "run doubled", "spoilt"),
            (960, 10, 1, 8, 10, 1, 10),
        )[0]:
            case "lost":
                faults["lost"] += 1
                return []
            case "burst lost":
                faults["burst lost"] += 1
                self._n_to_lose = rng.randint(1, 60)
                return []
            case "late":
                faults["late"] += 1
                self._held.append((rng.randint(1, LATEST_PACKETS), payload))
                return []
            case "doubled":
                faults["doubled"] += 1
                return [payload, payload]
            case "run doubled":
                faults["run doubled"] += 1
                self._n_to_double = rng.randint(1, 20)
                return [payload, payload]
            case "spoilt":
                faults["spoilt"] += 1
                spoilt = self._spoilt(payload)
                self._book.spoilt.add(spoilt)
                return [spoilt]
            case _:
                return [payload]

    def _spoilt(self, payload: bytes) -> bytes:
        """Give what a host may really be handed in place of a packet.

        Not a bit flipped in the samples: every link-layer packet ends in a 24-bit CRC and is sent again until it fits, and
        an encrypted link adds a 32-bit authentication code. What passes them is what the board meant to send, and nobody
        behind could tell a flip from a motion, for the profile has no checksum of its own. What does reach a host is a
        value cut to the ATT_MTU by the stack (Bluetooth Core, ATT: a notification carries the first ATT_MTU - 3 octets), and
        what a firmware with another idea of the format sends: another version, another count, two packets in one, or junk.
        """
        rng = self._rng
        while True:
            match rng.choice(("mtu 23", "cut", "version", "count", "two in one", "junk")):
                case "mtu 23":
                    spoilt = payload[:20]
                case "cut":
                    spoilt = payload[: rng.randrange(len(payload))]
                case "version":
                    spoilt = bytes([payload[0] ^ 1 << rng.randrange(8)]) + payload[1:]
                case "count":
                    spoilt = payload[:1] + bytes([payload[1] ^ 1 << rng.randrange(8)]) + payload[2:]
                case "two in one":
                    spoilt = (payload + payload)[:_LONGEST_PAYLOAD_BYTES]
                case _:
                    spoilt = rng.randbytes(rng.randrange(_LONGEST_PAYLOAD_BYTES))
            if not _is_a_packet(spoilt):
                return spoilt


def _is_a_packet(payload: bytes) -> bool:
    """By the words of the profile's README, not by its decoder."""
    return len(payload) >= 8 and payload[0] == 1 and 1 <= payload[1] <= 19 and len(payload) == 8 + 12 * payload[1]
