from server.source_time import SourceTime


class Clock:
    now_ns = 1_000

    def __call__(self):
        return self.now_ns


def test_a_live_source_goes_by_the_host_and_never_back():
    clock = Clock()
    live = SourceTime(clock, speed=None)
    assert live.now_ns() == 1_000
    live.note(5_000)
    assert live.now_ns() == 5_000
    clock.now_ns = 6_000
    assert live.now_ns() == 6_000


def test_a_replay_goes_on_from_its_last_event_at_its_speed():
    clock = Clock()
    replay = SourceTime(clock, speed=2.0)
    assert replay.now_ns() == 0
    replay.note(70)
    assert replay.now_ns() == 70
    clock.now_ns += 100
    assert replay.now_ns() == 270
    replay.restart()
    assert (replay.last_ns, replay.now_ns()) == (None, 0)
