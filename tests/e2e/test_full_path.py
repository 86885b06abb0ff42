"""The whole path: a recording's raw packets to a gauge that is read and a cue that is heard, in a real browser.

Outside truth: the model's own angles beside the recording, and the note's definition (330 Hz, an octave down at 24 deg).
"""

from __future__ import annotations

import csv
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import numpy as np
import pytest
from playwright.async_api import Browser, Page, expect

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep, Verdict
from sensors.events import LinkState, PlayerSet, RawPacket, SensorInfo
from sensors.ids import Role, SensorId, Side
from sensors.record.reader import ReadReport, read_events
from sensors.sources.ble import BleSource
from sensors.sources.replay import ReplaySource
from sensors.virtual.demo import NAME
from sensors.virtual.practice import make_practice
from sensors.virtual.session import START_NS, Player, draw_session
from sensors.virtual.swing import SwingShape
from server.cli.demo_recording import demo_recording
from server.engine import Engine
from server.tape import Tape
from server.wire import SourceView
from tests.e2e.browser import page_alone
from tests.e2e.conftest import READ_CAUTIONS, WHOLE_PAGE
from tests.e2e.shots import shoot
from tests.e2e.sound import TAP, Sound, heard_of, hush
from tests.live_service import running
from tests.virtual import run_pipeline

DEMO = demo_recording()

BACKSWING = ("takeaway", "shaft_level", "arm_level", "top")

# Collects what the page shows at every paint: time and value of the newest frame, and the figure's text.
WATCH = """
() => {
  window.__seen = [];
  const look = () => {
    const frame = window.__pitchbend?.frame();
    const text = document.querySelector('[data-testid=bend-figure]')?.textContent;
    if (frame) window.__seen.push([frame.t_s, frame.bend_change_deg, frame.phase, frame.error_deg, text]);
    requestAnimationFrame(look);
  };
  look();
}
"""

# Forgets in the same moment in which it sees the address: between two calls a slow machine hears the next cue begin.
FORGET_AT_ADDRESS = """
() => {
  const frame = window.__pitchbend.frame();
  if (frame?.phase !== 'address' || frame.sounding) return false;
  window.__pcm.length = 0;
  return true;
}
"""


@asynccontextmanager
async def page_on(browser: Browser, url: str) -> AsyncIterator[Page]:
    async with page_alone(browser) as page:
        await page.add_init_script(TAP)
        await page.add_init_script(READ_CAUTIONS)
        await page.add_init_script(WHOLE_PAGE)
        await page.goto(url)
        await page.evaluate(WATCH)
        yield page


def true_bend_deg() -> tuple[np.ndarray, np.ndarray]:
    with DEMO.with_suffix(".truth.csv").open(newline="") as file:
        rows = [(float(row["t_s"]), float(row["bend_change_deg"])) for row in csv.DictReader(file)]
    t_s, bend = np.array(rows).T
    return t_s, bend


async def test_the_demo_is_seen_and_heard(browser: Browser) -> None:
    engine = Engine(
        lambda: ReplaySource(DEMO, speed=1.0, hurry_fit=True),
        view=SourceView(kind="demo", name=NAME, speed=1.0),
        repeat=True,
    )
    async with running(engine) as service, page_on(browser, service.url) as page:
        sound = page.get_by_test_id("sound")
        await expect(sound).to_have_text("Sound off — tap to hear the cue")
        assert await page.evaluate("window.__pcm.length") == 0
        await sound.click()
        await hush(page)  # the tone that confirms the tap is over
        await page.wait_for_function(FORGET_AT_ADDRESS)
        await page.wait_for_function("window.__pitchbend.frame().sounding")
        await shoot(page, "live-phone-cue", published=True)
        await page.wait_for_function("window.__pitchbend.frame().phase === 'finish'")
        heard: Sound = await heard_of(page)
        await expect(page.get_by_test_id("verdict")).to_contain_text("cupped")
        await shoot(page, "live-phone-rep")
        seen = await page.evaluate("window.__seen")

    assert not service.bugs

    # Heard: silence at address, then the low register of a cupped wrist, bending down with the error, then silence.
    loud = np.abs(heard.samples) > 0.02
    edges = np.flatnonzero(np.diff(loud.astype(int)))
    assert loud.any()
    assert not loud[: int(0.05 * heard.rate_hz)].any()
    assert not loud[-int(0.05 * heard.rate_hz) :].any()
    cue = heard.samples[edges[0] : edges[-1]]
    assert 0.2 < len(cue) / heard.rate_hz < 1.6
    worst_deg = min(row[3] for row in seen)
    lowest_hz = 330.0 * 2 ** (worst_deg / 24)
    window = int(0.06 * heard.rate_hz)
    notes = [
        Sound(samples=cue[i : i + window], rate_hz=heard.rate_hz).frequency_hz()
        for i in range(0, len(cue) - window, window // 2)
    ]
    assert all(lowest_hz - 15 < note < 335 for note in notes), (notes, lowest_hz)
    assert min(notes) < lowest_hz + 25

    # Seen: the figure is the frame's value, and the value is the truth.
    t_s, bend = true_bend_deg()
    swing = [(t, value, text) for t, value, phase, _, text in seen if value is not None and phase in BACKSWING]
    assert len(swing) > 5
    off = np.array([value - np.interp(t, t_s, bend) for t, value, _ in swing])
    assert np.sqrt(np.mean(off**2)) < 3.0
    told = [(float(text.rstrip("°").replace("\u2212", "-")), value) for _, value, text in swing if text.endswith("°")]
    # Digits are held for 90 ms so that they can be read, and a swing moves on in that time.
    assert np.median([abs(a - b) for a, b in told]) < 4.0
    figures, values = np.array(told).T
    assert np.ptp(values) > 4.0
    assert abs(figures.min() - values.min()) < 2.0, "the figure follows the wrist to its most cupped"
    assert np.ptp(figures) > 0.5 * np.ptp(values), "the figure moves with the wrist"


@pytest.mark.skipif(sys.platform != "linux", reason="BlueZ is Linux's Bluetooth")
@pytest.mark.timeout(150)
async def test_a_sensor_that_dies_in_mid_swing(browser: Browser, tmp_path: Path) -> None:
    """Radio, real bleak and D-Bus, to page and recording: the gap is shown, the path recovers, the recording is whole."""
    from tests.integration.ble.bluez_process import FakeBluez
    from tests.integration.ble.packet_supply import write_practice
    from tests.integration.ble.private_bus import private_bus
    from tests.integration.ble.stand import ARM, BOTH, GRIP, HURRIED

    practice = make_practice([SwingShape(fault=0.7)] * 3, np.random.default_rng(8), pose_s=1.5)
    session = draw_session(practice, Player(name="Ivo Tarn", lead_side=Side.LEFT, club="8-iron"), 8)
    links = list(session.links.values())
    index_of = {link.sensor: i for i, link in enumerate(links)}
    packets = [
        ((event.arrival_ns - START_NS) * 1e-9, index_of[event.sensor], event.payload)
        for event in session.events()
        if isinstance(event, RawPacket)
    ]
    assert [BOTH[sensor] for sensor in (ARM, GRIP)] == list(session.links) == [Role.FOREARM, Role.CLUB]
    file, recording = tmp_path / "practice.jsonl", tmp_path / "practice.mcap"
    write_practice(file, packets)
    tape = Tape(recording)
    engine = Engine(
        lambda: BleSource(BOTH, timing=HURRIED),
        view=SourceView(kind="live", name="Bluetooth", speed=1.0),
        player=PlayerSet(arrival_ns=0, name="Ivo Tarn", lead_side=Side.LEFT, club="8-iron"),
        tape=tape,
    )
    with private_bus(tmp_path):
        async with FakeBluez(practice=file) as bluez, running(engine) as service, page_on(browser, service.url) as page:
            await page.wait_for_function("window.__pitchbend.frame() !== null")
            for at_s, move in practice.moves:
                await page.wait_for_function("t => window.__pitchbend.frame()?.t_s > t", arg=at_s + 0.35)
                refused = engine.begin_move(move)
                assert refused is None
            await page.wait_for_function("window.__pitchbend.frame()?.phase === 'takeaway'")
            await bluez.tell("drop", index=1)
            club = page.get_by_test_id("sensor-club")
            await expect(club).not_to_contain_text("sending")
            await page.wait_for_function("window.__pitchbend.frame()?.bend_change_deg === null")
            await expect(page.get_by_test_id("bend-figure")).to_have_text("\u2013")
            await page.wait_for_function("window.__pitchbend.frame()?.bend_change_deg !== null")
            await expect(page.get_by_test_id("verdict")).to_contain_text("cupped")

    assert not service.bugs
    report = ReadReport()
    events = list(read_events(recording, report=report))
    assert report.is_clean
    assert isinstance(events[0], PlayerSet)
    assert any(getattr(event, "state", None) is LinkState.LOST for event in events)
    assert {event.sensor for event in events if isinstance(event, SensorInfo)} == {SensorId(ARM), SensorId(GRIP)}
    reps = [output for output in run_pipeline(events) if isinstance(output, Rep)]
    whole = [rep for rep in reps if rep.verdict is not Verdict.UNKNOWN]
    assert whole
    assert all(Phase.TOP in rep.checkpoints for rep in whole)
