"""What of the figures is told in a terminal: what lasts, once, and that it is over."""

from __future__ import annotations

from dataclasses import replace

from sensors.events import LinkReason, LinkState
from sensors.health import SensorHealth
from sensors.ids import Role
from sensors.tally.loss import Loss
from server.figure_news import FigureNews

WELL = SensorHealth(
    sensor="AA:01", role=Role.CLUB, name="clip", state=LinkState.STREAMING, reason=LinkReason.NONE, rate_hz=200.0,
    n_samples=2000, n_lost=0, n_malformed=0, battery_pct=80, n_packets=200, recent=Loss(n_samples=2000),
)  # fmt: skip
LOSSY = replace(WELL, recent=Loss(n_samples=1900, n_lost=100))


def told(news, health, from_s, to_s):
    """All that is said while it is so, asked twice a second."""
    return [text for half in range(2 * from_s, 2 * to_s) for text in news.look([health], half * 500_000_000)]


def test_a_loss_that_lasts_is_told_once_and_when_it_is_over():
    news = FigureNews()
    assert told(news, WELL, 0, 30) == []
    (text,) = told(news, LOSSY, 30, 90)
    assert text.startswith("Club: 5.0 % of the samples are lost. Bring the computer or phone nearer")
    assert told(news, WELL, 90, 100) == told(news, LOSSY, 100, 130) == []  # away too shortly to be over
    assert told(news, WELL, 130, 160) == ["Club: hardly a sample is lost any more."]
    assert len(told(news, LOSSY, 160, 200)) == 1


def test_what_one_lost_link_leaves_in_the_last_seconds_is_not_told():
    news = FigureNews()
    assert told(news, replace(LOSSY, state=LinkState.LOST, reason=LinkReason.DROPPED), 0, 40) == []
    assert told(news, replace(LOSSY, n_drops=5, battery_pct=3), 40, 50) == told(news, WELL, 50, 90) == []


def test_a_sensor_that_begins_anew_is_told_and_is_never_over():
    news = FigureNews()
    (text,) = told(news, replace(WELL, n_restarts=2), 0, 60)
    assert text.startswith("Club: The sensor began anew 2 times. Unless somebody switched it off and on, charge it")


def test_a_sensor_that_is_not_worn_is_no_news():
    assert told(FigureNews(), replace(LOSSY, role=Role.SPARE), 0, 60) == []
