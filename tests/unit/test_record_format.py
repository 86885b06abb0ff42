from __future__ import annotations

import json
from typing import get_args

import jsonschema
import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sensors.events import (
    BatteryLevel,
    EventWithoutPayload,
    HabitSet,
    LinkChange,
    LinkReason,
    LinkState,
    MoveEnd,
    MoveStart,
    PlayerSet,
    RawPacket,
    SensorInfo,
    SourceEvent,
    TrimSet,
)
from sensors.habit import NAMES, Habit, Known
from sensors.ids import Move, Role, SensorId, Side
from sensors.record.format import (
    _TYPE_NAMES,
    MalformedEvent,
    UnknownEvent,
    event_from_json,
    event_to_json,
    events_schema,
    packet_metadata,
    packet_topic,
)
from sensors.trim import Trim

VALIDATOR = jsonschema.Draft202012Validator(events_schema())
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
STAMP = st.integers(0, 2**63 - 1)
NUMBER = st.floats(allow_nan=False, allow_infinity=False)
VECTOR = st.tuples(NUMBER, NUMBER, NUMBER)
MATRIX = st.tuples(VECTOR, VECTOR, VECTOR)
TRIM = st.builds(
    Trim,
    gyr_offset_rad_s=VECTOR,
    gyr_matrix=MATRIX,
    acc_offset_m_s2=VECTOR,
    acc_matrix=MATRIX,
    gyr_scale_sd=NUMBER,
    acc_sd_m_s2=NUMBER,
)
KNOWN = st.builds(Known, value=NUMBER, sd=st.floats(1e-6, 2.0))
HABIT = st.builds(Habit, **dict.fromkeys(NAMES, KNOWN))
EVENTS = st.one_of(
    st.builds(
        SensorInfo, arrival_ns=STAMP, sensor=TEXT, role=st.sampled_from(Role), profile=TEXT, name=TEXT, firmware=TEXT
    ),
    st.builds(
        LinkChange, arrival_ns=STAMP, sensor=TEXT, state=st.sampled_from(LinkState), reason=st.sampled_from(LinkReason)
    ),
    st.builds(BatteryLevel, arrival_ns=STAMP, sensor=TEXT, battery_pct=st.integers(0, 100)),
    st.builds(MoveStart, arrival_ns=STAMP, move=st.sampled_from(Move)),
    st.builds(MoveEnd, arrival_ns=STAMP, move=st.sampled_from(Move)),
    st.builds(
        PlayerSet,
        arrival_ns=STAMP,
        name=TEXT,
        lead_side=st.sampled_from(Side),
        club=TEXT,
        club_length_m=NUMBER,
        arm_length_m=NUMBER,
    ),
    st.builds(TrimSet, arrival_ns=STAMP, sensor=TEXT, trim=TRIM),
    st.builds(HabitSet, arrival_ns=STAMP, habit=HABIT),
)


def test_every_event_but_the_packet_has_a_json_form():
    assert {*get_args(EventWithoutPayload), RawPacket} == set(get_args(SourceEvent))
    assert set(_TYPE_NAMES) == set(get_args(EventWithoutPayload))


@given(EVENTS)
def test_events_come_back_as_they_went(event):
    assert event_from_json(event_to_json(event), event.arrival_ns) == event


@given(EVENTS)
def test_events_obey_the_schema(event):
    """Judged by the jsonschema library; and the schema names every field."""
    values = json.loads(event_to_json(event))
    VALIDATOR.validate(values)
    (shape,) = (s for s in events_schema()["oneOf"] if s["properties"]["type"]["const"] == values["type"])
    assert set(values) == set(shape["properties"])


def test_a_field_that_a_trim_lacks_is_that_of_an_untrimmed_sensor():
    data = b'{"type": "trim_set", "sensor": "a", "trim": {"gyr_offset_rad_s": [0.5, 0, -1], "colour": "red"}}'
    assert event_from_json(data, 5) == TrimSet(
        arrival_ns=5, sensor=SensorId("a"), trim=Trim(gyr_offset_rad_s=(0.5, 0.0, -1.0))
    )


def test_fields_with_a_default_may_be_missing_and_unknown_ones_are_passed_over():
    data = orjson.dumps({"type": "player_set", "name": "Wren", "lead_side": "left", "handicap": 12})
    assert event_from_json(data, 5) == PlayerSet(arrival_ns=5, name="Wren", lead_side=Side.LEFT)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"[]",
        b"\xff",
        b'{"type": "move_start"}',
        b'{"type": "move_start", "move": "moonwalk"}',
        b'{"type": "move_start", "move": 3}',
        b'{"type": "battery_level", "sensor": "a", "battery_pct": "full"}',
        b'{"type": "battery_level", "sensor": "a", "battery_pct": true}',
        b'{"type": "battery_level", "sensor": 1, "battery_pct": 1}',
        b'{"type": "player_set", "name": "a", "lead_side": "left", "arm_length_m": "long"}',
        b'{"type": "player_set", "name": "a", "lead_side": "left", "arm_length_m": true}',
        b'{"type": "player_set", "name": "a", "lead_side": "left", "arm_length_m": null}',
        b'{"type": "trim_set", "sensor": "a"}',
        b'{"type": "habit_set", "habit": {"lean_rad": {"value": 0.1, "sd": 0.1}}}',
        b'{"type": "trim_set", "sensor": "a", "trim": 1}',
        b'{"type": "trim_set", "sensor": "a", "trim": {"gyr_offset_rad_s": [0, 1]}}',
        b'{"type": "trim_set", "sensor": "a", "trim": {"gyr_offset_rad_s": [0, 1, "2"]}}',
        b'{"type": "trim_set", "sensor": "a", "trim": {"gyr_matrix": [0, 1, 2]}}',
        b'{"type": "trim_set", "sensor": "a", "trim": {"acc_matrix": [[1, 0, 0], [0, 1, 0]]}}',
        b'{"type": "trim_set", "sensor": "a", "trim": {"gyr_scale_sd": [0.1]}}',
    ],
)
def test_json_that_fits_no_event_is_malformed(data):
    with pytest.raises(MalformedEvent):
        event_from_json(data, 0)


@pytest.mark.parametrize("data", [b"{}", b'{"type": "weather"}', b'{"type": ["move_start"]}'])
def test_events_of_later_versions_are_unknown(data):
    with pytest.raises(UnknownEvent):
        event_from_json(data, 0)


def test_text_that_utf8_cannot_hold_is_replaced():
    event = PlayerSet(arrival_ns=0, name="W\udcffren", lead_side=Side.LEFT)
    assert event_from_json(event_to_json(event), 0) == PlayerSet(arrival_ns=0, name="W?ren", lead_side=Side.LEFT)


def test_a_packet_channel_carries_its_sensors_introduction():
    info = SensorInfo(
        arrival_ns=0, sensor=SensorId("x"), role=Role.CLUB, profile="p", name="n", firmware="f", profile_text="t"
    )
    packet = RawPacket(arrival_ns=0, sensor=SensorId("x"), payload=b"")
    assert packet_topic(packet) == "/packets/x"
    assert packet_metadata(packet, info) == {
        "sensor": "x",
        "role": "club",
        "profile": "p",
        "name": "n",
        "firmware": "f",
        "profile_text": "t",
    }
    assert packet_metadata(packet, None) == {"sensor": "x"}
