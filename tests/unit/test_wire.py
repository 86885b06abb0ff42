"""The contract: generated files are fresh, the prose is complete, and what is not in it is refused."""

from __future__ import annotations

import json
import math
import re
from enum import StrEnum
from typing import get_args

import pytest
from pydantic import ValidationError

from fusion.drills.course import CueShare
from fusion.drills.quantity import Quantity, Unit
from fusion.outputs.cue import SignalKind
from fusion.outputs.fit import Constant, FitReason, FitState
from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import RepFlag, Verdict
from sensors.battery import BatteryState
from sensors.events import LinkReason, LinkState, RepMark
from sensors.ids import Move, Role, Side
from server import schema
from server.health_advice import HealthTrouble
from server.routes.live import MAX_MESSAGE_BYTES, parse
from server.wire import PROTOCOL_VERSION, SERVER_MESSAGE, CueMessage, ServerMessage
from server.wire_client import CLIENT_MESSAGE, AckMessage, ClientMessage, MoveMessage, PingMessage
from tests.e2e import samples

README = (schema.SHARED / "README.md").read_text(encoding="utf-8")
ENUMS = (
    Constant,
    Phase,
    Doubt,
    LinkState,
    LinkReason,
    FitState,
    FitReason,
    Verdict,
    RepFlag,
    Move,
    Role,
    Side,
    Quantity,
    Unit,
    SignalKind,
    CueShare,
    BatteryState,
    HealthTrouble,
    RepMark,
)


def message_types(union):
    return [model.model_fields["type"].default for model in get_args(get_args(union)[0])]


def test_the_schema_file_is_fresh():
    assert schema.SCHEMA.read_text(encoding="utf-8") == schema.text(), "run `python -m server.schema`"
    assert schema.VERSION.read_text(encoding="utf-8") == f"{PROTOCOL_VERSION}\n"


def test_writing_the_schema(tmp_path, monkeypatch):
    monkeypatch.setattr(schema, "SCHEMA", tmp_path / "live.schema.json")
    monkeypatch.setattr(schema, "VERSION", tmp_path / "VERSION")
    schema.main()
    document = json.loads((tmp_path / "live.schema.json").read_text(encoding="utf-8"))
    assert document["version"] == PROTOCOL_VERSION
    assert set(document["properties"]["server"]["discriminator"]["mapping"]) == set(message_types(ServerMessage))
    assert set(document["properties"]["client"]["discriminator"]["mapping"]) == set(message_types(ClientMessage))


@pytest.mark.parametrize("name", message_types(ServerMessage) + message_types(ClientMessage) + ["board"])
def test_every_message_is_in_the_prose(name):
    assert re.search(rf"^\| `{name}` \| \w", README, re.MULTILINE), f"shared/README.md does not describe {name!r}"


@pytest.mark.parametrize("value", [value for enum in ENUMS for value in enum])
def test_every_enum_value_is_in_the_prose(value: StrEnum):
    assert f"`{value}`" in README, f"shared/README.md does not describe {type(value).__name__} {value!r}"


def test_no_enum_of_the_contract_was_forgotten_here():
    values = [set(d["enum"]) for d in schema.document()["$defs"].values() if "enum" in d]
    assert sorted(map(sorted, values)) == sorted(sorted(str(v) for v in enum) for enum in ENUMS)


def test_messages_come_back_as_they_were():
    for message in (
        samples.hello(frame=samples.frame(), reps=samples.reps()),
        samples.frame(),
        samples.unjudged_rep(1),
    ):
        assert SERVER_MESSAGE.validate_json(message.model_dump_json()) == message


def test_fields_that_came_later_may_be_missing():
    for message, later in (
        (samples.frame(), {"bend_change_sd_deg", "shaft_pitch_sd_deg"}),
        (samples.rep(1), {"tempo", "flags"}),
    ):
        older = {name: value for name, value in json.loads(message.model_dump_json()).items() if name not in later}
        read = SERVER_MESSAGE.validate_json(json.dumps(older))
        assert all(not getattr(read, name) for name in later)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_are_not_sent(value):
    with pytest.raises(ValidationError):
        CueMessage(t_s=value, sounding=True, error_deg=0.0)


def test_a_client_may_say():
    assert parse('{"type": "ack", "seq": 7}') == AckMessage(seq=7)
    assert parse('{"type": "ping", "token": -1}') == PingMessage(token=-1)
    assert parse('{"type": "move", "move": "locked"}') == MoveMessage(move=Move.LOCKED)
    padding = " " * (MAX_MESSAGE_BYTES - 23)
    assert parse(f'{{"type":"ack","seq": 7}}{padding[:-1]}') == AckMessage(seq=7)


@pytest.mark.parametrize(
    "text",
    [
        None, "", "null", "[]", "42", "hello", "{", '{"seq": 1}', '{"type": "ack"}', '{"type": "dance"}',
        '{"type": "frame", "seq": 1}', '{"type": "ack", "seq": NaN}', '{"type": "ack", "seq": Infinity}',
        '{"type": "ack", "seq": -1}', '{"type": "ack", "seq": 1.5}', '{"type": "ack", "seq": "1"}',
        '{"type": "ack", "seq": true}', '{"type": "ack", "seq": 1, "more": 2}', '{"type": ["ack"], "seq": 1}',
        '{"type": "ping", "token": 1e999}', '{"type": "move", "move": "cartwheel"}', '{"type": "move", "move": null}',
        '{"type": "ack", "seq": 1}{"type": "ack", "seq": 2}', "[" * 4000, '{"a":' * 800,
        '{"type": "ack", "seq": ' + "9" * 5000 + "}",
        '{"type":"ack","seq":1}' + " " * MAX_MESSAGE_BYTES, "ä" * (MAX_MESSAGE_BYTES // 2 + 1),
    ],
)  # fmt: skip
def test_anything_else_is_refused(text):
    assert parse(text) is None


def test_the_adapters_agree_with_the_unions():
    for adapter, union in ((SERVER_MESSAGE, ServerMessage), (CLIENT_MESSAGE, ClientMessage)):
        mapping = adapter.json_schema()["discriminator"]["mapping"]
        assert set(mapping) == set(message_types(union))
