from __future__ import annotations

import re

import pytest

from server.joining.book import MAX_GUESTS, STAY_S, Full, GuestBook, Place
from server.joining.guest import GuestRole
from server.joining.limit import MAX_ADDRESSES, GuessLimit
from server.joining.tokens import TOKEN_BYTES, new_token, recognise

LEFT, RIGHT = Place(id="left", name="Left mat"), Place(id="right", name="Right mat")


class Clock:
    def __init__(self):
        self.s = 1000.0

    def __call__(self):
        return self.s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def renewed():
    return []


@pytest.fixture
def book(clock, renewed):
    return GuestBook(now_s=clock, on_renewed=renewed.extend)


def link_of(book, role):
    return next(link for link in book.links if link.role is role)


def join(book, role=GuestRole.STUDENT):
    return book.join(link_of(book, role), name="iPhone, Safari", address="192.168.1.5")


def test_a_token_has_128_bits_or_more_and_none_comes_twice():
    assert TOKEN_BYTES * 8 >= 128
    tokens = {new_token() for _ in range(1000)}
    assert len(tokens) == 1000
    assert all(re.fullmatch(r"[A-Za-z0-9_-]{24}", token) for token in tokens)


def test_every_secret_is_compared_and_by_the_library_that_takes_equal_time(book, monkeypatch):
    compared = []

    def compare(said, known):
        compared.append(known)
        return said == known

    monkeypatch.setattr("server.joining.tokens.secrets.compare_digest", compare)
    first = book.links[0]
    assert book.link(first.token) == first
    assert compared == [link.token for link in book.links]


@pytest.mark.parametrize("said", ["", "x", "x" * 24, "x" * 10_000, "ä" * 24, "\x00" * 24, " " * 24, "x" * 23 + "\n"])
def test_what_is_no_secret_is_recognised_as_nobody(book, said):
    assert book.link(said) is None
    assert book.visit(said) is None
    assert recognise(said, []) is None


def test_one_link_a_role_and_one_a_bay_for_students_where_there_are_several():
    assert [(link.role, link.place) for link in GuestBook([LEFT]).links] == [
        (GuestRole.STUDENT, None),
        (GuestRole.COACH, None),
        (GuestRole.VIEWER, None),
    ]
    assert [link.role for link in GuestBook([LEFT], students=False).links] == [GuestRole.COACH, GuestRole.VIEWER]
    links = GuestBook([LEFT, RIGHT]).links
    assert [(link.role, link.place) for link in links] == [
        (GuestRole.STUDENT, LEFT),
        (GuestRole.STUDENT, RIGHT),
        (GuestRole.COACH, None),
        (GuestRole.VIEWER, None),
    ]
    assert len({link.token for link in links}) == 4


def test_a_guest_is_what_the_link_says_and_has_a_secret_of_its_own():
    book = GuestBook([LEFT, RIGHT])
    one = book.join(book.links[1], name="iPad", address="10.0.0.9")
    two = book.join(book.links[1], name="iPad", address="10.0.0.9")
    assert (one.guest.role, one.guest.bay, one.guest.name) == (GuestRole.STUDENT, "right", "iPad")
    assert len({one.token, two.token, book.links[1].token}) == 3
    assert (book.visit(one.token), book.visit(two.token)) == (one, two)
    assert book.visit(book.links[1].token) is None
    assert book.link(one.token) is None


def test_one_is_sent_away_and_cannot_come_back_while_the_others_stay(book, renewed):
    stays, goes, watches = join(book), join(book), join(book, GuestRole.VIEWER)
    old = link_of(book, GuestRole.STUDENT)
    assert book.send_away(goes.id)
    assert goes.ended.is_set()
    assert book.visit(goes.token) is None
    assert book.link(old.token) is None
    assert list(book) == [stays, watches]
    assert not stays.ended.is_set()
    assert renewed == [link_of(book, GuestRole.STUDENT)]
    assert not book.send_away(goes.id)
    assert book.send_away(stays.id)  # came by the link before the last: that is void already
    assert len(renewed) == 1


def test_renewing_a_role_sends_all_of_it_away(renewed):
    book = GuestBook([LEFT, RIGHT], on_renewed=renewed.extend)
    students = [book.join(link, name="", address="") for link in book.links[:2]]
    coach = join(book, GuestRole.COACH)
    before = book.links
    book.renew(GuestRole.STUDENT)
    assert all(visit.ended.is_set() for visit in students)
    assert list(book) == [coach]
    assert [link.place for link in renewed] == [LEFT, RIGHT]
    assert [new.token == old.token for new, old in zip(book.links, before, strict=True)] == [False, False, True, True]
    assert book.link(before[0].token) is None


def test_a_visit_ends_after_twelve_hours(book, clock):
    visit = join(book)
    clock.s += STAY_S
    assert book.visit(visit.token) is visit
    assert book.age_s(visit) == STAY_S
    clock.s += 1
    assert book.visit(visit.token) is None
    assert visit.ended.is_set()


def test_a_full_book_makes_room_only_of_those_who_are_not_here(book):
    visits = [join(book) for _ in range(MAX_GUESTS)]
    for visit in visits[1:]:
        visit.n_open = 1
    late = join(book)
    assert visits[0].ended.is_set()
    late.n_open = 1
    with pytest.raises(Full):
        join(book)
    assert len(list(book)) == MAX_GUESTS


def test_no_secret_is_in_what_a_log_would_say_of_links_and_visits(book):
    visit = join(book)
    for secret in (visit.token, visit.link.token):
        assert secret not in repr(visit) + str(visit) + repr(book.links) + repr(book)


def test_a_guesser_is_not_listened_to_for_a_while(clock):
    limit = GuessLimit(most=3, within_s=60.0, now_s=clock)
    for _ in range(3):
        assert limit.wait_s("10.0.0.1") == 0.0
        limit.wrong("10.0.0.1")
        clock.s += 10
    assert limit.wait_s("10.0.0.1") == 30.0
    assert limit.wait_s("10.0.0.2") == 0.0
    clock.s += 30
    assert limit.wait_s("10.0.0.1") == 0.0
    limit.wrong("10.0.0.1")
    assert limit.wait_s("10.0.0.1") == 10.0


def test_the_limit_remembers_a_bounded_number_of_addresses(clock):
    limit = GuessLimit(most=1, within_s=60.0, now_s=clock)
    for n in range(MAX_ADDRESSES + 5):
        limit.wrong(str(n))
    assert limit.wait_s("4") == 0.0
    assert limit.wait_s("5") == 60.0
    assert len(limit._wrong) == MAX_ADDRESSES
