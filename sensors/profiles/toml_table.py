"""Typed reading of a TOML document: every error names file and line, what is wrong and what is allowed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, Final, Self

from sensors.profiles.toml_lines import TomlPath, lines_of

_AT_LINE: Final = re.compile(r"\(at line (\d+)")
MISSING: Final = object()
_HOW_TOML_IS: Final = 'Texts stand in "quotes", what belongs together in [ ] or { } with commas between'
_MEANT: Final = 0.75
"""How alike a key must be, 0 to 1, to be taken for a misspelt one."""

MakeError = Callable[[str, int, TomlPath], Exception]
"""Makes the reader's own error of a problem, its line, and the key it is about."""


class Table:
    """One table of the document. Ask for each key it may have, then `done()`: any other key is an error."""

    def __init__(
        self, fail: MakeError, values: Mapping[str, Any], path: TomlPath, lines: Mapping[TomlPath, int]
    ) -> None:
        self._fail = fail
        self._values = values
        self._path = path
        self._lines = lines
        self._asked: list[str] = []

    @classmethod
    def of(cls, text: str, fail: MakeError) -> Self:
        """Read a whole document; raises the error that `fail` makes, at the line where its syntax is wrong."""
        try:
            return cls(fail, tomllib.loads(text), (), lines_of(text))
        except (ValueError, RecursionError) as error:  # tomllib's own error is a ValueError
            found = _AT_LINE.search(str(error))
            line = int(found[1]) if found else max(1, len(text.splitlines()))
            raise fail(f"this is not TOML: {error}. {_HOW_TOML_IS}", line, ()) from error

    def __contains__(self, key: str) -> bool:
        self._ask(key)
        return key in self._values

    def error(self, problem: str, *keys: str | int) -> Exception:
        """Make the error for a key of this table (or the table itself)."""
        about = path = (*self._path, *keys)
        while path and path not in self._lines:
            path = path[:-1]
        return self._fail(problem, self._lines.get(path, 1), about)

    def text(self, key: str, default: Any = MISSING) -> Any:
        """Give a text."""
        return self._typed(key, str, 'a text, in "quotes"', default)

    def flag(self, key: str, *, default: bool) -> bool:
        """Give a truth value."""
        return bool(self._typed(key, bool, "true or false", default))

    def choice(self, key: str, allowed: Sequence[str], default: Any = MISSING) -> Any:
        """Give one of the allowed texts."""
        value = self.text(key, default)
        if value is not default and value not in allowed:
            raise self.error(f'{key} is "{value}"; allowed: {quoted(allowed)}', key)
        return value

    def number(self, key: str, low: float, high: float, default: Any = MISSING) -> Any:
        """Give a finite number from `low` to `high`, both included."""
        value = self._value(key, default)
        return value if value is default else self._number(key, value, low, high)

    def integer(self, key: str, low: int, high: int, default: Any = MISSING) -> Any:
        """Give a whole number from `low` to `high`, both included."""
        value = self._value(key, default)
        if value is default:
            return value
        if not isinstance(value, int) or isinstance(value, bool):
            raise self.error(f"{key} must be a whole number from {low} to {high}, not {_shown(value)}", key)
        self._number(key, value, low, high)
        return value

    def numbers(self, key: str, low: float, high: float, default: Any = MISSING) -> Any:
        """Give a tuple of numbers, at least one."""
        value = self._value(key, default)
        if value is default:
            return value
        if not isinstance(value, list) or not value:
            raise self.error(f"{key} must be a list of numbers, such as [1, 2], not {_shown(value)}", key)
        return tuple(self._number(f"{key}[{i}]", item, low, high, key, i) for i, item in enumerate(value))

    def texts(self, key: str, default: Any = MISSING) -> Any:
        """Give a tuple of texts."""
        value = self._value(key, default)
        if value is default:
            return value
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.error(f'{key} must be a list of texts, such as ["a", "b"], not {_shown(value)}', key)
        return tuple(value)

    def table(self, key: str, *, optional: bool = False) -> Table | None:
        """Give a table; None if it may be absent and is."""
        value = self._value(key, None if optional else MISSING)
        if value is None:
            return None
        if not isinstance(value, dict):
            raise self.error(f"{key} must be a table, [{key}], not {_shown(value)}", key)
        return Table(self._fail, value, (*self._path, key), self._lines)

    def needed(self, key: str) -> Table:
        """Give a table that must be there."""
        table = self.table(key)
        assert table is not None  # noqa: S101  # for the type checker: absence is an error above
        return table

    def tables(self, key: str, *, optional: bool = False) -> tuple[Table, ...]:
        """Give the tables of a list."""
        value = self._value(key, [] if optional else MISSING)
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.error(
                f"{key} must be a list of tables, such as [{{ ... }}, {{ ... }}], not {_shown(value)}", key
            )
        return tuple(Table(self._fail, item, (*self._path, key, i), self._lines) for i, item in enumerate(value))

    def raw(self, key: str, default: Any = MISSING) -> Any:
        """Give whatever stands there, for keys of several kinds."""
        return self._value(key, default)

    def done(self) -> None:
        """Raise for a key that was never asked for."""
        self.only(self._asked)

    def only(self, allowed: Sequence[str]) -> None:
        """Raise for any other key, at its line."""
        for key in self._values:
            if key not in allowed:
                raise self.error(f"there is no key {_shown(key)} here; allowed: {', '.join(allowed)}", key)

    def _ask(self, key: str) -> None:
        if key not in self._asked:
            self._asked.append(key)

    def _value(self, key: str, default: Any) -> Any:
        self._ask(key)
        value = self._values.get(key, default)
        if value is MISSING:
            problem, meant = f"{key} is missing from {self._said()}", self._meant(key)
            raise (
                self.error(problem, key)
                if meant is None
                else self.error(f'{problem}; is "{meant}" meant to be it?', meant)
            )
        return value

    def _said(self) -> str:
        """How a person would name this table."""
        path = self._path
        if not path:
            return "the file"
        entry = f"entry {path[-1] + 1} of " if isinstance(path[-1], int) else ""
        return f"{entry}[{'.'.join(str(part) for part in (path[:-1] if entry else path))}]"

    def _meant(self, key: str) -> str | None:
        """Find the key that is probably this one, misspelt."""
        others = {other.casefold(): other for other in self._values if other not in self._asked}
        found = get_close_matches(key.casefold(), others, n=1, cutoff=_MEANT)
        return others[found[0]] if found else None

    def _typed(self, key: str, kind: type, said: str, default: Any) -> Any:
        value = self._value(key, default)
        if value is not default and not isinstance(value, kind):
            raise self.error(f"{key} must be {said}, not {_shown(value)}", key)
        return value

    def _number(self, said: str, value: Any, low: float, high: float, *at: str | int) -> float:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not low <= value <= high:
            problem = f"{said} must be a number from {low:g} to {high:g}, not {_shown(value)}"
            raise self.error(problem, *(at or (said,)))
        return float(value)


def quoted(names: Sequence[str]) -> str:
    """Name choices as they are written in the file."""
    return ", ".join(f'"{name}"' for name in names)


def _shown(value: Any) -> str:
    shown = repr(value).replace("True", "true").replace("False", "false")
    return shown if len(shown) <= 40 else shown[:37] + "..."
