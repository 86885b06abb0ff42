"""A calibration that is not good enough is told of the move that spoilt it, with its figure and the limit."""

import pytest

from fusion.calibration.trim.result import Rejection, TrimResult
from fusion.calibration.trimming import Trimming
from fusion.outputs.fit import FitProgress, FitReason, FitState
from sensors.ids import Move
from tests.virtual import run_pipeline, virtual_session


def still_progress(monkeypatch, rejection):
    monkeypatch.setattr(Trimming, "end", lambda self, move, end_s, *, taken: TrimResult(trim=None, rejection=rejection))
    outputs = run_pipeline(virtual_session(6, 2).events())
    told = [out for out in outputs if isinstance(out, FitProgress) and out.move is Move.STILL]
    return told[-1]


def test_sides_that_do_not_fit_together_are_refused(monkeypatch):
    told = still_progress(monkeypatch, Rejection(reason=FitReason.POOR_TRIM, measured=3.4, limit=2.0))
    assert (told.state, told.reason) == (FitState.REJECTED, FitReason.POOR_TRIM)
    assert (told.measured, told.limit) == pytest.approx((3.4, 2.0))


def test_few_sides_as_yet_are_no_fault(monkeypatch):
    told = still_progress(monkeypatch, Rejection(reason=FitReason.FEW_ATTITUDES, measured=1, limit=6))
    assert (told.state, told.reason) == (FitState.TAKEN, FitReason.NONE)
