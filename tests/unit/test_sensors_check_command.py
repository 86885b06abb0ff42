"""`pitchbend sensors list` and `pitchbend sensors check` as they are typed: what they print, and how they end."""

from __future__ import annotations

import re

import pytest
from typer.testing import CliRunner

from sensors.errors import ProfileError
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role, SensorId
from sensors.profiles.open_imu import OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.record.writer import Recorder
from server.cli import main
from server.cli.failures import CommandFailed
from tests.unit.hand_turned import open_packets


def run(*words):
    return CliRunner().invoke(main.app, ["sensors", *(str(word) for word in words)], catch_exceptions=False)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))


def test_the_command_tells_by_its_exit_code(packets, tmp_path):
    recording = tmp_path / "a.mcap"
    with Recorder(recording) as recorder:
        for sensor, profile in (("a", "open-imu-1"), ("b", "other")):
            recorder.write(SensorInfo(arrival_ns=0, sensor=SensorId(sensor), role=Role.CLUB, profile=profile, name=""))
        for packet in packets:
            recorder.write(packet)
            recorder.write(RawPacket(arrival_ns=packet.arrival_ns, sensor=SensorId("b"), payload=b"other"))
    good = run("check", "open-imu-1", recording)
    assert good.exit_code == 0
    assert "Nothing wrong." in good.stdout
    assert "b, read as" not in good.stdout  # it said that it speaks something else
    broken = tmp_path / "mine.toml"
    broken.write_text(OPEN_IMU.text.replace("most = 19", "most = 5"))
    bad = run("check", broken, recording)
    assert bad.exit_code == 1
    assert "10 samples announced, 1 to 5 allowed" in bad.stdout
    assert f"and {len(packets) - 10} more" in bad.stdout
    assert run("check", "--all", broken, recording).stdout.count("samples announced") == len(packets)
    broken.write_text(OPEN_IMU.text.replace("most = 19", "most = x"))
    with pytest.raises(ProfileError, match=r"mine.toml:\d+: this is not TOML"):
        run("check", broken, recording)
    with pytest.raises(CommandFailed, match="cannot be read"):
        run("check", "open-imu-1", tmp_path / "none.txt")


def test_the_command_claims_no_more_than_the_capture_shows(packets, tmp_path):
    path = tmp_path / "c.txt"
    lines = [f"{packet.arrival_ns * 1e-9:.4f} {packet.payload.hex()}" for packet in packets]
    path.write_text("\n".join(lines[:4]) + "\n")
    short = run("check", "open-imu-1", path)
    assert short.exit_code == 0
    assert "It does not show: clock, gravity, turning at rest, axes, gyroscope scale." in short.stdout.replace(
        "\n", " "
    )
    path.write_text("\n".join(lines)[:-1])
    assert "The last line of this capture is cut off" in run("check", "open-imu-1", path).stderr
    other = run("check", "movesense-gsp", path)  # whose answers to commands begin with 01, as these do
    assert other.exit_code == 1
    told = " ".join(other.stdout.split())
    assert "589 of 589 begin with what ignore in [packet] passes over" in told
    assert "These notifications can be read as open-imu-1." in told
    assert "gravity" not in told  # nothing is said of what was never read
    recording = tmp_path / "a.mcap"
    with Recorder(recording) as recorder:
        for packet in packets:
            recorder.write(packet)
    recording.write_bytes(recording.read_bytes()[:-30_000])
    assert "ends abruptly" in run("check", "open-imu-1", recording).stderr


def test_a_recording_says_with_which_settings_it_was_made(motion, tmp_path):
    recording = tmp_path / "a.mcap"
    rates, forces = motion
    with Recorder(recording) as recorder:
        spoken = "open-imu-1@gyr_range_deg_s=1000"
        recorder.write(SensorInfo(arrival_ns=0, sensor=SensorId("a"), role=Role.CLUB, profile=spoken, name=""))
        for packet in open_packets(2.0 * rates, forces):  # a count is worth half as much
            recorder.write(packet)
    assert "read as open-imu-1@gyr_range_deg_s=1000" in run("check", "open-imu-1", recording).stdout
    assert run("check", "open-imu-1", recording).exit_code == 0
    asked = run("check", "open-imu-1@gyr_range_deg_s=500", recording)  # what is asked for counts more
    assert asked.exit_code == 1
    assert "1.99" in asked.stdout or "2.00" in asked.stdout


def test_the_list_has_ones_own_and_says_what_is_wrong_with_a_file(tmp_path):
    folder = tmp_path / "config" / "sensors"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(OPEN_IMU.text.replace('name = "open-imu-1"', 'name = "mine"'))
    (folder / "bad.toml").write_text("form = 1")
    result = run("list")
    assert result.exit_code == 0
    assert [line for line in result.stdout.split("\n") if line in {"mine", *PROFILES}] == ["mine", *PROFILES]
    assert "bad.toml:1: " in result.stderr
    assert all(profile.source in re.sub(r"\s", "", result.stdout) for profile in PROFILES.values())
