from __future__ import annotations

import json
import math
import os
from datetime import UTC, datetime, timedelta

import pytest
from pydantic import ValidationError

from sensors.events import LinkChange, LinkState, SensorInfo, TrimSet
from sensors.ids import Role, SensorId
from sensors.trim import Trim
from server.cli import radio
from server.cli.practice import Wishes, prepare
from server.trim_advice import found_advice
from server.trimmed_source import TrimmedSource
from server.trims import Kept, TrimStore, Unusable, trims_folder

NOW = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)
SENSOR = SensorId("C0:FF:EE:00:00:01")
TRIM = Trim(
    gyr_offset_rad_s=(0.01, -0.02, 1e-17 / 3),
    gyr_matrix=((1.01, 0.001, 0.0), (0.0, 0.99, -0.002), (0.003, 0.0, 1.0)),
    acc_offset_m_s2=(0.3, -0.1, 0.2),
    acc_matrix=((1.001, 0.0, 0.0), (0.0, 0.995, 0.0), (0.0, 0.0, 1.0 / 3 + 0.67)),
    gyr_scale_sd=0.0011,
    acc_sd_m_s2=0.013,
)


@pytest.fixture
def store(tmp_path):
    return TrimStore(tmp_path / "sensors", lambda: NOW)


def test_what_is_kept_comes_back_to_the_last_bit(store):
    assert store.find(SENSOR) is None
    store.keep(SENSOR, TRIM)
    assert store.find(SENSOR) == Kept(sensor=SENSOR, made=NOW, trim=TRIM)
    values = json.loads(store.path_of(SENSOR).read_text())  # plain JSON, with version, sensor and date
    assert (values["version"], values["sensor"], values["made"]) == (1, SENSOR, "2031-05-04T12:00:00Z")
    store.keep(SENSOR, Trim())
    assert store.find(SENSOR).trim == Trim()
    assert [path.name for path in store.path_of(SENSOR).parent.iterdir()] == [store.path_of(SENSOR).name]


@pytest.mark.parametrize("name", ["", "..", "../../etc", "a/b", "Ä" * 300, "AA:BB", "aa-bb", "aa_bb", "con\udc80"])
def test_any_name_is_a_file_of_its_own_in_the_folder(store, name):
    path = store.path_of(SensorId(name))
    assert path.parent == store.path_of(SENSOR).parent
    assert path.name.isascii()
    assert len(path.name) < 64
    others = ["", "..", "a/b", "AA:BB", "aa-bb", "aa_bb"]
    assert [other for other in others if store.path_of(SensorId(other)) == path] in ([], [name])


def spoil(values, **change):
    return json.dumps({**values, **change})


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (lambda v: "", "JSON"),
        (lambda v: json.dumps(v)[:-20], "JSON"),
        (lambda v: "[]", "spoilt"),
        (lambda v: spoil(v, version=0), "version"),
        (lambda v: spoil(v, made="yesterday"), "made"),
        (lambda v: spoil(v, sensor="another"), "another sensor"),
        (lambda v: spoil(v, trim={**v["trim"], "gyr_scale_sd": math.nan}), "gyr_scale_sd"),
        (lambda v: spoil(v, trim={**v["trim"], "gyr_scale_sd": 0}), "gyr_scale_sd"),
        (lambda v: spoil(v, trim={**v["trim"], "gyr_offset_rad_s": [0, 0, 57.3]}), "gyr_offset_rad_s"),
        (lambda v: spoil(v, trim={**v["trim"], "acc_matrix": [[0] * 3] * 3}), "acc_matrix"),
        (lambda v: spoil(v, trim={**v["trim"], "acc_matrix": [[1, 0, 0]]}), "acc_matrix"),
        (lambda v: spoil(v, trim={**v["trim"], "mood": 1}), "mood"),
        (lambda v: spoil(v, trim={}), "trim"),
    ],
)
def test_a_spoilt_file_is_told_set_aside_and_not_used(store, text, says):
    store.keep(SENSOR, TRIM)
    path = store.path_of(SENSOR)
    spoilt = text(json.loads(path.read_text()))
    path.write_text(spoilt)
    found = store.find(SENSOR)
    assert isinstance(found, Unusable)
    assert says in found.problem
    assert found.path.read_text() == spoilt
    assert not path.exists()
    assert store.find(SENSOR) is None
    store.keep(SENSOR, TRIM)
    assert store.find(SENSOR).trim == TRIM


def test_a_newer_file_is_left_where_it_is(store):
    store.keep(SENSOR, TRIM)
    path = store.path_of(SENSOR)
    path.write_text('{"version": 2, "anything": []}')
    found = store.find(SENSOR)
    assert "newer version" in found.problem
    assert found.path == path
    assert path.exists()


def test_a_file_that_cannot_be_read_is_told(store):
    path = store.path_of(SENSOR)
    path.mkdir(parents=True)
    assert "cannot be read" in store.find(SENSOR).problem


def test_a_trim_that_no_sensor_can_have_is_not_kept(store):
    with pytest.raises(ValidationError):
        store.keep(SENSOR, Trim(gyr_offset_rad_s=(1.0, 0.0, 0.0)))
    assert store.find(SENSOR) is None


def test_a_folder_that_cannot_be_made_is_an_os_error(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OSError, match="file"):
        TrimStore(tmp_path / "file" / "sensors").keep(SENSOR, TRIM)


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (None, "not been calibrated"),
        (Kept(sensor=SENSOR, made=NOW - timedelta(days=91), trim=TRIM), "91 days ago"),
        (Kept(sensor=SENSOR, made=NOW + timedelta(days=2), trim=TRIM), "from the future"),
        (Unusable(sensor=SENSOR, problem="it is spoilt", path=os.devnull), "not used: it is spoilt"),
    ],
)
def test_advice_names_the_sensor_and_what_to_do(found, says):
    text = found_advice(found, "club", NOW)
    assert says in text
    assert "club sensor" in text
    assert "`attitude`" in text


def test_a_fresh_calibration_needs_no_words():
    assert found_advice(Kept(sensor=SENSOR, made=NOW - timedelta(days=89), trim=TRIM), "club", NOW) == ""


class Fixed:
    """A source of given events."""

    def __init__(self, events):
        self.events = events
        self.log = []

    async def __aenter__(self):
        self.log.append("in")
        return self

    async def __aexit__(self, *_):
        self.log.append("out")

    async def __aiter__(self):
        for event in self.events:
            yield event


def info(ns, sensor=SENSOR):
    return SensorInfo(arrival_ns=ns, sensor=sensor, role=Role.CLUB, profile="open-imu-1", name="x")


async def test_the_trim_follows_the_first_introduction_only():
    link = LinkChange(arrival_ns=3, sensor=SENSOR, state=LinkState.STREAMING)
    source = Fixed([link, info(5), info(6, SensorId("other")), info(7)])
    async with TrimmedSource(source, {SENSOR: TRIM}.get) as trimmed:
        events = [event async for event in trimmed]
    assert events == [link, info(5), TrimSet(arrival_ns=5, sensor=SENSOR, trim=TRIM), *source.events[2:]]
    assert source.log == ["in", "out"]


async def test_a_practice_begins_with_what_is_kept(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data"))
    monkeypatch.setattr(radio, "source_of", lambda **_: Fixed([info(1), info(2, SensorId("BB"))]))
    TrimStore(trims_folder()).keep(SENSOR, TRIM)
    setup = prepare(Wishes(forearm="BB", club=SENSOR), on_page=False)
    async with setup.make_source() as source:
        events = [event async for event in source]
    assert [event for event in events if isinstance(event, TrimSet)] == [
        TrimSet(arrival_ns=1, sensor=SENSOR, trim=TRIM)
    ]
    assert capsys.readouterr().err.startswith("The forearm sensor has not been calibrated yet.")
    assert setup.trims.find(SENSOR).trim == TRIM
