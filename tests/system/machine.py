"""Boots the guest and takes its result from the serial console."""

from __future__ import annotations

import json
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

MARK = "PITCHBEND-RESULT "
BOOT_LIMIT_S = 600.0
MEMORY_MB = 2560
COMMAND = (
    "qemu-system-x86_64", "-accel", "tcg,thread=multi", "-cpu", "max", "-smp", "2", "-m", str(MEMORY_MB),
    "-display", "none", "-serial", "stdio", "-monitor", "none", "-no-reboot", "-nic", "none", "-device", "virtio-rng-pci",
)  # fmt: skip
"""Emulated, never KVM: a guest must run the same wherever the tests run, inside another virtual machine too."""
KERNEL_WORDS = "console=ttyS0 panic=-1 quiet tsc=reliable mitigations=off"


@dataclass(frozen=True, slots=True)
class Outcome:
    result: dict[str, Any] | None
    """None when the guest never got so far."""
    console: str
    took_s: float


def boot(kernel: Path, archive: Path, console: Path) -> Outcome:
    """Run the guest to its end, or to the limit; its console stays in the file."""
    command = [*COMMAND, "-kernel", str(kernel), "-initrd", str(archive), "-append", KERNEL_WORDS]
    start_s = time.monotonic()
    with console.open("wb") as out:
        process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT)
        try:
            process.wait(timeout=BOOT_LIMIT_S)
        except subprocess.TimeoutExpired:
            process.kill()
        finally:
            process.kill()
            process.wait()
    text = console.read_text(errors="replace")
    lines = [line for line in text.splitlines() if line.startswith(MARK)]
    result = json.loads(lines[-1].removeprefix(MARK)) if lines else None
    return Outcome(result=result, console=text, took_s=time.monotonic() - start_s)


def boot_twice(kernel: Path, archive: Path, folder: Path, tries: int = 2) -> Outcome:
    """An emulated machine on a busy host may hang while it boots: once more then. A trial that began is never repeated."""
    for number in range(1, tries + 1):
        outcome = boot(kernel, archive, folder / f"console-{number}.log")
        if outcome.result is not None and "found" in outcome.result:
            break
        print(f"\ntry {number} of {tries}: no trial after {outcome.took_s:.0f} s\n{outcome.console[-3000:]}")
    return outcome
