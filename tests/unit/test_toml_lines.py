"""Lines of keys, against the standard library's reader: it tells which keys a text has, the text itself tells where."""

import tomllib

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sensors.profiles.toml_lines import lines_of

KEYS = st.sampled_from(["alpha", "be-ta", "g_1", '"quo.ted"', "'li#t'", "7"])
DOTTED = st.lists(KEYS, min_size=1, max_size=3).map(".".join)
SIMPLE = st.sampled_from(
    ["1", "-0.25", "6.02e23", "inf", "true", '"a"', "'b'", '"[{#,=\\""', "'}]#,'", "1979-05-27T07:32:00Z", "07:32:00",
     '"""one\ntwo # no comment [ ] "" end"""', "'''x\n= 1\n'''", "0x63", '""', '"""a"""""']
)  # fmt: skip
SPACE = st.sampled_from(["", " ", "\n", " # why [not\n", "\n\n  "])


def array(values):
    return st.tuples(st.lists(values, max_size=3), SPACE, SPACE).map(
        lambda parts: "[" + parts[1] + ("," + parts[2]).join(parts[0]) + parts[1] + "]"
    )


def inline(values):
    pairs = st.lists(st.tuples(DOTTED, values), max_size=3)
    return pairs.map(lambda found: "{ " + ", ".join(f"{key} = {value}" for key, value in found) + " }")


VALUES = st.recursive(SIMPLE, lambda inner: st.one_of(array(inner), inline(inner)), max_leaves=6)
PAIRS = st.tuples(DOTTED, VALUES, st.sampled_from(["", "  # told", " "])).map(lambda p: f"{p[0]} = {p[1]}{p[2]}\n")
HEADERS = st.tuples(DOTTED, st.booleans()).map(lambda h: f"[[{h[0]}]]\n" if h[1] else f"[{h[0]}]\n")
DOCUMENTS = st.lists(st.one_of(PAIRS, HEADERS, st.sampled_from(["\n", "# word = 1\n"])), max_size=8).map("".join)


def paths(value, path=()):
    out = {path}
    if isinstance(value, dict):
        for key, inner in value.items():
            out |= paths(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            out |= paths(inner, (*path, i))
    return out


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(DOCUMENTS)
def test_every_key_has_the_line_it_stands_in(text):
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)
    lines = lines_of(text)
    assert set(lines) == paths(values)
    rows = text.split("\n")
    for path, line in lines.items():
        if path and isinstance(path[-1], str):
            assert path[-1] in rows[line - 1], (path, line)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 2), (("a", "b"), 3), (("a", "list"), 4), (("a", "list", 0), 5), (("a", "list", 1, "k"), 6),
        (("t", 0), 8), (("t", 1), 9), (("t", 1, "x", "y"), 10),
    ],
)  # fmt: skip
def test_by_hand(path, line):
    text = "# first\n[a]\nb = '''\n'''\n".replace("'''\n'''", "1")
    text += "list = [\n  1,  # [\n  { k = 2 },\n]\n[[t]]\n[[t]]\nx.y = 3\n"
    assert lines_of(text)[path] == line
