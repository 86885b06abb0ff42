"""A recording written by an early version of the program: read today, with the numbers that are known of it.

`old/first-moves.mcap.xz` was written by the code of commit 1217126, `old/first-moves.json` holds what that code made of it and
what the motion model truly did. Neither may ever be made anew.
"""

from __future__ import annotations

import hashlib
import json
import lzma
import math
from dataclasses import replace
from pathlib import Path

import pytest

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep, RepRefined
from sensors.errors import ProfileError, UnknownProfile
from sensors.events import RawPacket, SensorInfo
from sensors.ingest import Ingest
from sensors.profiles import registry
from sensors.profiles.load import load_profile
from sensors.readings import ImuBlock
from sensors.record.reader import ReadReport, read_events, read_head
from server.advice import error_sentence
from tests.replaying import recorded
from tests.virtual import run_pipeline

OLD = Path(__file__).parent / "old"
KNOWN = json.loads((OLD / "first-moves.json").read_text(encoding="utf-8"))
MARKS = {"arm_level": Phase.ARM_LEVEL, "top": Phase.TOP}
TRUE_WITHIN_DEG = {
    "bend_change_deg": 4.0, "hinge_change_deg": 3.0, "shaft_elevation_deg": 2.0, "shaft_pitch_deg": 4.0, "face_twist_deg": 2.0,
}  # fmt: skip
"""Twice the usual error in docs/accuracy.md, or so: a better estimator may read these swings otherwise."""


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    there = tmp_path_factory.mktemp("old") / "first-moves.mcap"
    there.write_bytes(lzma.decompress((OLD / "first-moves.mcap.xz").read_bytes()))
    return there


def decoded(events):
    """Samples, and the first half of the hashes of all rates and forces, and of all device times."""
    ingest, values, times, n = Ingest(), hashlib.sha256(), hashlib.sha256(), 0
    for event in events:
        for block in ingest.push(event):
            if isinstance(block, ImuBlock):
                n += len(block.t_s)
                values.update(block.gyr_sensor_rad_s.tobytes() + block.acc_sensor_m_s2.tobytes())
                times.update(block.device_s.tobytes())
    return n, [values.hexdigest()[:24], times.hexdigest()[:24]]


def test_it_is_read_whole_and_decoded_to_the_last_bit_as_by_the_program_that_wrote_it(path):
    """Should this fail since a profile has been changed: give the changed one a new name (docs/recording.md)."""
    report = ReadReport()
    n_samples, hashes = decoded(read_events(path, report=report))
    assert report.is_clean
    assert read_head(path).program_version  # of a time when there was no other
    assert n_samples == KNOWN["n_samples"]
    assert hashes == KNOWN["decoded_sha256"]


def test_its_numbers_agree_with_the_truth_and_with_what_was_said_then(path):
    reps = {}
    for output in run_pipeline(read_events(path)):
        match output:
            case Rep():
                reps[output.index] = output
            case RepRefined(rep=rep):
                reps[rep.index] = rep
    assert [rep.verdict.value for rep in reps.values()] == [known["verdict"] for known in KNOWN["reps"]]
    for rep, known in zip(reps.values(), KNOWN["reps"], strict=True):
        for name, phase in MARKS.items():
            mark, true, said = rep.checkpoints[phase], known["true"][name], known["said"][name]
            assert mark.t_s == pytest.approx(true["at_s"], abs=0.015)
            for quantity, within in TRUE_WITHIN_DEG.items():
                now_deg = math.degrees(getattr(mark.angles, quantity.replace("_deg", "_rad")))
                assert now_deg == pytest.approx(true[quantity], abs=within), (rep.index, name, quantity)
                if phase is Phase.TOP:  # that program dated the arm's passing level by up to 10 ms otherwise
                    assert now_deg == pytest.approx(said[quantity], abs=within), (rep.index, name, quantity)


@pytest.fixture(scope="module")
def with_text(path, tmp_path_factory):
    """The same practice as it is recorded today: each introduction brings its sensor's profile along."""
    text = registry.PROFILES["open-imu-1"].text
    events = [replace(one, profile_text=text) if isinstance(one, SensorInfo) else one for one in read_events(path)]
    return recorded(tmp_path_factory.mktemp("text") / "a.mcap", events)


@pytest.mark.parametrize(
    ("of_now", "of_then"),
    [
        ("range_deg_s = 2000", "range_deg_s = 1000"),
        ("range_g = 16", "range_g = 8"),
        (
            '{ name = "sequence", type = "u16" },\n  { name = "clock"',
            '{ name = "sequence", type = "u32" },\n  { name = "clock"',
        ),
    ],
    ids=["gyroscope's scale", "accelerometer's scale", "layout"],
)
def test_after_a_change_of_its_profile_a_recording_is_decoded_by_the_one_it_was_recorded_with(
    path, with_text, monkeypatch, of_now, of_then
):
    text = registry.PROFILES["open-imu-1"].text
    assert of_now in text
    other = load_profile(text.replace(of_now, of_then), "open-imu-1.toml")
    monkeypatch.setitem(registry.PROFILES, "open-imu-1", other)
    assert decoded(read_events(with_text)) == (KNOWN["n_samples"], KNOWN["decoded_sha256"])
    n_samples, hashes = decoded(read_events(path))  # brings none: so the program's own may not be changed
    assert (n_samples, hashes) != (KNOWN["n_samples"], KNOWN["decoded_sha256"])


def test_what_cannot_be_decoded_is_refused_with_a_sentence_and_lost_nothing(path, tmp_path):
    def told(**change):
        events = [replace(one, **change) if isinstance(one, SensorInfo) else one for one in read_events(path)][:40]
        place = recorded(tmp_path / f"{len(list(tmp_path.iterdir()))}.mcap", events)
        assert list(read_events(place)) == events
        assert any(isinstance(event, RawPacket) for event in events)
        with pytest.raises((UnknownProfile, ProfileError)) as failure:
            decoded(read_events(place))
        return error_sentence(failure.value)

    text = registry.PROFILES["open-imu-1"].text
    sentence = told(profile="open-imu-9")
    assert "knows no kind of sensor called open-imu-9" in sentence
    assert "a newer version of Pitchbend may know it" in sentence
    assert "newer than this version" in told(profile_text=text.replace("form = 1", "form = 2"))
