"""`kill -9` at random moments: a child records two sensors in real time, and says what it has handed over; how much is lost?

The child's own word is the measure: every packet that the radio gave it is written to a pipe before it is recorded.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from mcap.stream_reader import StreamReader

from sensors.events import RawPacket
from sensors.record.reader import ReadReport, read_events

ROOT = Path(__file__).resolve().parents[2]
N_KILLS = int(os.environ.get("PITCHBEND_KILLS", "4"))
PROMISED_S = 1.0
PROGRAM = """
import sys, time
from pathlib import Path
sys.path.insert(0, "tests/unit")
from record_samples import CLUB, FOREARM, introductions, packet
from server.tape import Tape
tape = Tape(Path(sys.argv[1]))
for event in introductions():
    tape.write(event)
start_ns, n = time.monotonic_ns(), 0
while True:
    for sensor in (FOREARM, CLUB):
        event = packet(sensor, n, start_ns + n * 50_000_000)
        sys.stdout.write(f"{event.arrival_ns}\\n")
        sys.stdout.flush()
        tape.write(event)
    n += 1
    time.sleep(max(0.0, (start_ns + n * 50_000_000 - time.monotonic_ns()) * 1e-9))
"""


@pytest.mark.skipif(os.name == "nt", reason="POSIX only")
def test_a_kill_at_any_moment_loses_at_most_a_second(tmp_path, record_property):
    rng = random.Random(20261125)
    losses_s = []
    for i in range(N_KILLS):
        path = tmp_path / f"{i}.mcap"
        with subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        ) as child:
            said = [child.stdout.readline() for _ in range(4)]
            time.sleep(rng.uniform(0.0, 3.0))
            child.send_signal(signal.SIGKILL)
            said += child.stdout.read().splitlines()
        handed_over_ns = [int(line) for line in said]
        report = ReadReport()
        kept = [event.arrival_ns for event in read_events(path, report=report) if isinstance(event, RawPacket)]
        assert report.truncated
        assert not report.n_damaged_chunks
        assert kept == handed_over_ns[: len(kept)]
        last_kept_ns = kept[-1] if kept else handed_over_ns[0]
        losses_s.append((handed_over_ns[-1] - last_kept_ns) * 1e-9)
        with path.open("rb") as file:  # the format's own reader sees the same messages, up to the cut
            n_messages = sum(type(record).__name__ == "Message" for record in _until_cut(file))
        assert n_messages >= len(kept)
    record_property("worst_loss_s", max(losses_s))
    print(f"worst loss in {N_KILLS} kills: {max(losses_s):.3f} s")
    assert max(losses_s) <= PROMISED_S


def _until_cut(file):
    try:
        yield from StreamReader(file).records
    except Exception:  # noqa: BLE001 - the library says the end of a cut file in several ways
        return
