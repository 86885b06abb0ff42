"""`server.run.serve` as a program of its own: the address, Ctrl-C, a termination, a bug, a port that is taken."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from websockets.sync.client import connect

from sensors.events import PlayerSet, RawPacket, SensorInfo
from sensors.record.reader import read_events
from server import run
from server.bays.spec import BaySpec
from server.cli import serving
from server.cli.failures import CommandFailed
from server.run import has_browser, serve
from server.web import HOST, PortTaken, listen
from tests.live_service import DEMO, HandSource

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = """
import asyncio, sys
from pathlib import Path
from sensors.events import PlayerSet
from sensors.ids import Side
from server.bays.spec import BaySpec
from server.run import serve
from tests.live_service import HandSource, LIVE, info, packet

record_to = Path(sys.argv[1]) if len(sys.argv) > 1 else None
source = HandSource()
source.feed(info(10), packet(b"no such payload", 20))
if "bug" in sys.argv:
    source.feed(ZeroDivisionError())
player = PlayerSet(arrival_ns=0, name="Mara Voss", lead_side=Side.LEFT)
serve([BaySpec(make_source=lambda: source, view=LIVE, record_to=record_to, player=player)], port=0, open_browser=False)
print("left cleanly")
"""


def start(*words):
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *map(str, words)], cwd=ROOT, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )  # fmt: skip


def address(process):
    found = re.search(r"Pitchbend is at (http://127\.0\.0\.1:\d+/) ", process.stdout.readline())
    assert found
    return found[1]


def wait_until_served(url):
    """The port is open from the start, so the answer comes as soon as the service is up."""
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(f"{url}api/health", timeout=30) as answer:
        assert answer.status == 200


@pytest.mark.skipif(os.name == "nt", reason="Windows has no signals to send to one process")
@pytest.mark.parametrize(("sent", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, -signal.SIGTERM)])
def test_stopping_it_finishes_the_recording_without_a_traceback(tmp_path, sent, code):
    with start(tmp_path / "a.mcap") as process:
        url = address(process)
        wait_until_served(url)
        with connect(url.replace("http", "ws") + "ws/live", proxy=None) as page:
            assert '"hello"' in page.recv()
            process.send_signal(sent)
            out, err = process.communicate(timeout=30)
    assert err == ""
    assert process.returncode == code
    events = list(read_events(tmp_path / "a.mcap"))
    assert [type(event) for event in events] == [PlayerSet, SensorInfo, RawPacket]
    assert [event.arrival_ns for event in events] == [10, 10, 20]
    if sent is signal.SIGINT:
        assert out == f"Recorded in {tmp_path / 'a.mcap'}\nleft cleanly\n"


def test_a_bug_ends_it_with_its_traceback(tmp_path):
    with start(tmp_path / "a.mcap", "bug") as process:
        _, err = process.communicate(timeout=30)
    assert process.returncode == 1
    assert "ZeroDivisionError" in err
    assert err.count("Traceback") == 2  # the exception group and the exception in it
    assert len(list(read_events(tmp_path / "a.mcap"))) == 3


def test_a_port_that_is_taken():
    with listen(0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(PortTaken) as caught:
            serve([BaySpec(make_source=HandSource, view=DEMO, repeat=True)], port=port, open_browser=False)
    assert caught.value.port == port


def test_a_port_that_another_program_was_quicker_to_take_is_told_in_a_sentence():
    spec = BaySpec(make_source=HandSource, view=DEMO, repeat=True)
    with listen(0) as taken, pytest.raises(CommandFailed, match=r"Port \d+ is taken.*--port"):
        serving.serve([spec], port=taken.getsockname()[1], open_browser=False)


def test_it_listens_on_this_machine_only():
    with listen(0) as listener:
        assert listener.getsockname()[0] == HOST == "127.0.0.1"


def test_a_repeat_is_not_recorded(tmp_path):
    with pytest.raises(ValueError, match="repeats"):
        BaySpec(make_source=HandSource, view=DEMO, repeat=True, record_to=tmp_path / "a.mcap")


@pytest.mark.parametrize(
    ("system", "variables", "answer"),
    [("Linux", {}, False), ("Linux", {"DISPLAY": ":0"}, True), ("Linux", {"BROWSER": "x"}, True), ("Darwin", {}, True)],
)
def test_a_browser_is_opened_only_where_it_has_a_window(monkeypatch, system, variables, answer):
    monkeypatch.setattr(run.platform, "system", lambda: system)
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert has_browser() is answer
