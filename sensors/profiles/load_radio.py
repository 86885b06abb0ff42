"""The part of a profile file about the radio: [bluetooth], [find], [battery], [commands]."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from sensors.profiles.base import Battery, Choices, Commands
from sensors.profiles.toml_table import Table
from sensors.profiles.write import BadTemplate, Write

_SHORT_UUID: Final = re.compile(r"[0-9a-f]{4}|[0-9a-f]{8}")
_LONG_UUID: Final = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_BASE_UUID: Final = "-0000-1000-8000-00805f9b34fb"  # Bluetooth Core specification, Vol 3 Part B 2.5.1


@dataclass(frozen=True, slots=True, kw_only=True)
class RadioPart:
    """Fields of `Profile`, as they stand there."""

    service_uuid: str
    data_uuid: str
    more_service_uuids: tuple[str, ...]
    advertised_uuids: tuple[str, ...]
    name_patterns: tuple[str, ...]
    commands: Commands
    battery: Battery | None


def read_radio(whole: Table) -> RadioPart:
    """Read everything about the radio; raises `ProfileError`."""
    radio = whole.needed("bluetooth")
    service = _uuid(radio, "service")
    control = _uuid(radio, "control") if "control" in radio else None
    advertised, patterns = _found_by(whole, service)
    part = RadioPart(
        service_uuid=service,
        data_uuid=_uuid(radio, "data"),
        more_service_uuids=_uuids(radio, "more_services"),
        advertised_uuids=advertised,
        name_patterns=patterns,
        commands=_commands(whole, control),
        battery=_battery(whole),
    )
    radio.done()
    return part


def _found_by(whole: Table, service: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give services and name patterns that such a sensor advertises; without [find] that is its own service."""
    find = whole.table("find", optional=True)
    if find is None:
        return (service,), ()
    advertised, patterns = _uuids(find, "services"), find.texts("names", ())
    if not advertised and not patterns:
        raise find.error("say in services or in names how such a sensor is recognised")
    if any(not pattern.strip("*? ") for pattern in patterns):
        raise find.error("a name pattern must hold more than *, or every device in the air would fit", "names")
    find.done()
    return advertised, tuple(patterns)


def _battery(whole: Table) -> Battery | None:
    table = whole.table("battery", optional=True)
    if table is None:
        return None
    battery = Battery(
        service_uuid=_uuid(table, "service", "180f"),
        level_uuid=_uuid(table, "level", "2a19"),
        offset=table.integer("offset", 0, 511, 0),
    )
    table.done()
    return battery


def _commands(whole: Table, control: str | None) -> Commands:
    byte_order = ">" if whole.needed("packet").choice("endian", ("little", "big"), "little") == "big" else "<"
    table = whole.table("commands", optional=True)
    if table is None:
        return Commands()
    out: dict[str, tuple[Write, ...]] = {}
    for what in ("start", "stop", "identify", "rate", "gyr_range", "acc_range"):
        writes = []
        for one in table.tables(what, optional=True):
            target = _uuid(one, "to") if "to" in one else control
            if target is None:
                raise one.error("say to which characteristic, here or as control in [bluetooth]", "write")
            writes.append(
                Write(
                    characteristic_uuid=target, template=one.text("write"),
                    response=one.flag("response", default=True), byte_order=byte_order,
                )
            )  # fmt: skip
            one.done()
        out[what] = tuple(writes)
    table.done()
    return Commands(**out)


def check_writes(whole: Table, commands: Commands, choices: Choices) -> None:
    """Render every write with every choice, and see that each choice is written by something and each setting by the start."""
    allowed = choices.as_dict()
    table = whole.table("commands", optional=True)
    own = choices.own.as_dict()
    for what in ("start", "stop", "identify", "rate", "gyr_range", "acc_range"):
        for number, write in enumerate(getattr(commands, what)):
            assert table is not None  # noqa: S101  # or there were no writes
            try:
                write.value(own)
                for name in write.settings:
                    for choice in allowed.get(name, ()):
                        write.value({**own, name: choice})
            except BadTemplate as error:
                raise table.error(str(error), what, number, "write") from error
    by_start = frozenset(name for write in commands.start for name in write.settings)
    places = (("rate", "choices_hz", "rate_hz", "rate"), ("gyroscope", "choices_deg_s", "gyr_range_deg_s", "gyr_range"),
              ("accelerometer", "choices_g", "acc_range_g", "acc_range"))  # fmt: skip
    for section, key, setting, command in places:
        of_command = frozenset(n for write in getattr(commands, command) for n in write.settings)
        if getattr(commands, command) and setting not in of_command:
            assert table is not None  # noqa: S101  # as above
            raise table.error(f"this write must put in the setting, as {{{setting}:u16}} or in a text", command)
        if len(allowed[setting]) > 1 and setting not in by_start | of_command:
            raise whole.needed(section).error(
                f"there is a choice, but no write in [commands] start or {command} puts {{{setting}}} in", key
            )


def _uuid(table: Table, key: str, default: str | None = None) -> str:
    text: str = table.text(key) if default is None else table.text(key, default)
    return _full_uuid(table, text, key)


def _uuids(table: Table, key: str) -> tuple[str, ...]:
    return tuple(_full_uuid(table, text, key, i) for i, text in enumerate(table.texts(key, ())))


def _full_uuid(table: Table, text: str, *at: str | int) -> str:
    lower = text.lower()
    if _SHORT_UUID.fullmatch(lower):
        return lower.rjust(8, "0") + _BASE_UUID
    if not _LONG_UUID.fullmatch(lower):
        raise table.error(
            f'"{text}" is no UUID; allowed: 6b1d0001-94c7-4f0e-8a52-d3e7b95c2a60, or 180f for a standard one', *at
        )
    return lower
