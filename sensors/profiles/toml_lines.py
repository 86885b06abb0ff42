"""Which line of a TOML text each key and array element stands in, for errors that name it.

The standard library reads TOML and tells lines of syntax errors, but keeps none for what it has read; the well-kept
libraries (tomlkit, rtoml) keep none either. This scans a text that `tomllib` has accepted, so it judges nothing.
"""

from __future__ import annotations

import re
import tomllib
from typing import Final

TomlPath = tuple[str | int, ...]
"""Keys and element numbers from the top of the document, e.g. ("packet", "fields", 2, "type")."""

_TOKEN: Final = re.compile(
    r"""
    (?P<skip>[ \t]+|\#[^\n]*)
    |(?P<newline>\r?\n)
    |(?P<text>\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    |(?P<mark>[\[\]{}=,.])
    |(?P<bare>[^\s\[\]{}=,\#"'.]+)
    """,
    re.VERBOSE | re.DOTALL,
)


def lines_of(text: str) -> dict[TomlPath, int]:
    """Give the line, counted from 1, of every key and element of a valid TOML text; an enclosing table has its first one."""
    return _Scan(text).run()


class _Scan:
    def __init__(self, text: str) -> None:
        self._lines: dict[TomlPath, int] = {}
        self._counts: dict[TomlPath, int] = {}
        """Elements so far of each array of tables."""
        self._tokens: list[tuple[str, str, int]] = []
        line, position = 1, 0
        while position < len(text):
            match = _TOKEN.match(text, position)
            if match is None:  # not in a text that tomllib accepts
                position += 1
                continue
            if match.lastgroup != "skip":
                self._tokens.append((match.lastgroup or "", match[0], line))
            line += match[0].count("\n")
            position = match.end()
        self._tokens.append(("newline", "", line))
        self._at = 0

    def run(self) -> dict[TomlPath, int]:
        self._lines[()] = 1
        table: TomlPath = ()
        while self._at < len(self._tokens):
            kind, what, line = self._tokens[self._at]
            if kind == "newline":
                self._at += 1
            elif what == "[":
                table = self._header(line)
            else:
                self._pair(table)
        return self._lines

    def _header(self, line: int) -> TomlPath:
        self._at += 1
        of_array = self._peek() == "["
        self._at += of_array
        path = self._key(())
        self._at += 1 + of_array
        if of_array:
            number = self._counts.get(path, 0)
            self._counts[path] = number + 1
            self._note(path, line)
            path = (*path, number)
        self._note(path, line)
        return path

    def _pair(self, table: TomlPath) -> None:
        line = self._tokens[self._at][2]
        path = self._key(table)
        self._note(path, line)
        self._at += 1  # the equals sign
        self._value(path)

    def _key(self, table: TomlPath) -> TomlPath:
        """Read a dotted key; a key that names an array of tables means its last element."""
        path = table
        while True:
            path = (*path, _plain(self._tokens[self._at]))
            self._at += 1
            if self._peek() != ".":
                return path
            self._at += 1
            if path in self._counts:
                path = (*path, self._counts[path] - 1)

    def _value(self, path: TomlPath) -> None:
        if self._peek() == "[":
            self._array(path)
        elif self._peek() == "{":
            self._at += 1
            while self._skip_newlines() != "}":
                self._pair(path)
                if self._skip_newlines() == ",":
                    self._at += 1
            self._at += 1
        else:  # a number, a date or a text: one token or several, up to whatever ends it
            while self._tokens[self._at][0] != "newline" and self._peek() not in {",", "]", "}"}:
                self._at += 1

    def _array(self, path: TomlPath) -> None:
        self._at += 1
        number = 0
        while self._skip_newlines() != "]":
            self._note((*path, number), self._tokens[self._at][2])
            self._value((*path, number))
            number += 1
            if self._skip_newlines() == ",":
                self._at += 1
        self._at += 1

    def _peek(self) -> str:
        kind, what, _ = self._tokens[self._at]
        return what if kind == "mark" else ""

    def _skip_newlines(self) -> str:
        while self._tokens[self._at][0] == "newline" and self._at < len(self._tokens) - 1:
            self._at += 1
        return self._peek()

    def _note(self, path: TomlPath, line: int) -> None:
        for end in range(1, len(path) + 1):
            self._lines.setdefault(path[:end], line)


def _plain(token: tuple[str, str, int]) -> str:
    kind, what, _ = token
    return str(tomllib.loads(f"k = {what}")["k"]) if kind == "text" else what
