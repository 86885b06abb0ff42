"""The core on a simulated board: its process, a fake IMU, an interrupt that comes a little late, and a radio that may jam."""

from __future__ import annotations

import json
import random
import subprocess
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from tests.firmware.fake_imu import FakeImu

IDLE_POLL_US = 100_000.0
"""The board looks at the FIFO this often without an interrupt."""
TICK_US = 1e6 / 32768


class Core:
    """`driver.c` as a process: `ask("control 0 01")`."""

    def __init__(self, program: Path) -> None:
        self._process = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.stdout.close()
        code = self._process.wait(10)
        assert code == 0 or exc is not None, f"the core ended with {code}: see its last words above"

    def ask(self, command: str, imu: FakeImu | None = None) -> str:
        self._say(command)
        while (answer := self._hear()).startswith("?"):
            assert imu is not None, answer
            self._say(_answered(answer, imu))
        return answer

    def _say(self, line: str) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()

    def _hear(self) -> str:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, f"the core died with {self._process.wait(10)}: see its last words above"
        return line.strip()


def board_us(us: float) -> int:
    """What the board's clock shows: whole ticks."""
    return int(int(us / TICK_US) * TICK_US)


def _answered(question: str, imu: FakeImu) -> str:
    kind, *numbers = question[1:].split()
    if kind == "t":
        return str(board_us(imu.now_us))
    if kind == "r":
        data = imu.read(int(numbers[0]), int(numbers[1]))
        return "-" if data is None else data.hex()
    return "+" if imu.write(int(numbers[0]), int(numbers[1])) else "-"


class Board:
    def __init__(
        self, core: Core, imu: FakeImu, *, seed: int = 0, interrupt: bool = True, late_us: float = 300.0
    ) -> None:
        self.core = core
        self.imu = imu
        self.sent: list[tuple[float, bytes]] = []
        """(board time in microseconds, notification)."""
        self.linked_us: list[float] = []
        """When connections were made: the collector tells the decoder, see `Decoder.link_again`."""
        self.jammed = False
        self.blocked_us = 0.0
        """How long the loop is busy elsewhere before its next poll."""
        self.origins_us: dict[int, int] = {}
        """Board time of each beginning."""
        self.beginning_of: dict[int, int] = {}
        """In which beginning the IMU lived each of its lives: one that browned out lives several."""
        self._random = random.Random(seed)
        self._interrupt = interrupt
        self._late_us = late_us
        self._armed = False
        core.ask("init")

    @property
    def now_us(self) -> int:
        return board_us(self.imu.now_us)

    @property
    def state(self) -> dict[str, Any]:
        state: dict[str, Any] = json.loads(self.core.ask("state"))
        return state

    def control(self, value: bytes) -> int:
        return int(self.core.ask(f"control {self.now_us} {value.hex()}"))

    def connect(self, *, start: bool = True, mtu: int = 247) -> None:
        self.linked_us.append(self.imu.now_us)
        self.core.ask(f"connected {self.now_us}")
        self.mtu(mtu)
        if start:
            self.notify(True)
            assert self.control(b"\x01") == 0

    def mtu(self, mtu: int) -> None:
        self.core.ask(f"mtu {self.now_us} {mtu}")

    def notify(self, on: bool) -> None:
        self.core.ask(f"notify {self.now_us} {int(on)}")

    def disconnect(self) -> None:
        self.core.ask(f"disconnected {self.now_us}")

    def run(self, seconds: float) -> None:
        """Let the board's loop go round: it wakes at an interrupt, else every tenth of a second."""
        end_us = self.imu.now_us + seconds * 1e6
        while self.imu.now_us < end_us:
            self.poll()
            wake_us = min(self.imu.now_us + IDLE_POLL_US, end_us)
            if self.blocked_us:
                self.imu.pass_to(self.imu.now_us + self.blocked_us)
                self.blocked_us = 0.0
                continue
            while self.imu.next_us < wake_us:
                self.imu.pass_to(self.imu.next_us)
                if self._edge_us() is not None:
                    wake_us = min(wake_us, self.imu.now_us + self._random.uniform(320.0, 2000.0))
            self.imu.pass_to(wake_us)

    def poll(self) -> None:
        edge_us = self._edge_us()
        late_us = self._random.uniform(0.0, self._late_us)
        told = "" if edge_us is None else f" {min(board_us(edge_us + late_us), self.now_us)}"
        running, beginning = map(int, self.core.ask(f"poll{told}", self.imu).split())
        self.imu.threshold_us = None
        self._armed = not self.imu.int1
        if running:
            self.origins_us.setdefault(beginning, self.now_us)
            self.beginning_of.setdefault(self.imu.life, beginning)
        while not self.jammed and (packet := self.core.ask("take")) != "none":
            self.sent.append((self.imu.now_us, bytes.fromhex(packet)))

    def _edge_us(self) -> float | None:
        return self.imu.threshold_us if self._armed and self._interrupt else None
