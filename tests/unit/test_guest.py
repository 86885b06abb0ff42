from __future__ import annotations

import pytest
from starlette.requests import HTTPConnection

from server.joining.guest import Guest, GuestRole, admit, guest_of


def connection(query: str = "") -> HTTPConnection:
    return HTTPConnection({"type": "websocket", "query_string": query.encode(), "headers": [], "path": "/ws/live"})


@pytest.mark.parametrize(
    ("query", "role"),
    [
        ("", "student"),
        ("as=coach", "coach"),
        ("as=viewer", "viewer"),
        ("as=student", "student"),
        ("as=owner", "student"),
        ("as=COACH", "student"),
        ("as=", "student"),
        ("bay=2&as=coach", "coach"),
    ],
)
def test_on_this_computer_a_page_is_what_it_says(query, role):
    assert guest_of(connection(query)) == Guest(role=GuestRole(role))


def test_who_was_let_in_as_a_viewer_cannot_ask_to_be_more():
    asked = connection("as=coach")
    admit(asked.scope, Guest(role=GuestRole.VIEWER, name="phone", bay="left"))
    assert guest_of(asked) == Guest(role=GuestRole.VIEWER, name="phone", bay="left")
    assert guest_of(asked).only_watches
    assert not Guest(role=GuestRole.STUDENT).only_watches
    assert not Guest(role=GuestRole.COACH).only_watches
