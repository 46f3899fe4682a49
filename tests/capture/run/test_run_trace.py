"""A photo in which the line can't be told is looked at again along the others' course."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from scribe.capture.edges.wish import ambiguous
from scribe.capture.run import trace as run_trace
from scribe.capture.run.trace import Order, Piece, trace_run
from scribe.capture.view import Trace
from scribe.errors import ScribeError

PLACED = SimpleNamespace(area=(-20.0, 0.0, 520.0, 200.0))


def stretch(first: float, last: float) -> Trace:
    x = np.arange(first, last, 0.5)
    points = np.column_stack([x, 80.0 + 0.01 * x])
    up = np.tile([0.0, 1.0], (len(x), 1))
    return Trace(points, np.full(len(x), 0.02), up, np.ones(len(x), bool), {}, np.zeros((0, 2)))


def test_it_is_shown_the_course_of_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    hints: list[np.ndarray] = []

    def traced(order: Order) -> tuple[Trace, float] | ScribeError:
        if order.path.name == "clear.jpg":
            return stretch(0.0, 300.0), 0.0
        if order.near is None:
            return ambiguous(order.path.name, "there are two lines")
        hints.append(order.near)
        return stretch(280.0, 500.0), 0.0

    monkeypatch.setattr(run_trace, "_traced", traced)
    names = {"clear.jpg": (-20.0, 0.0, 320.0, 200.0), "grain.jpg": (270.0, 0.0, 520.0, 200.0)}
    found = trace_run(
        [
            Order(Path(name), SimpleNamespace(area=area), "line", 0.0, None)
            for name, area in names.items()
        ]
    )
    assert all(isinstance(it, Piece) for it in found)
    assert len(hints) == 1
    assert hints[0][:, 1] == pytest.approx(80.0 + 0.01 * hints[0][:, 0])
    assert np.ptp(hints[0][:, 0]) > 280.0


def test_what_the_fitter_said_is_not_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    def traced(order: Order) -> tuple[Trace, float] | ScribeError:
        if order.path.name == "clear.jpg":
            return stretch(0.0, 300.0), 0.0
        assert order.near is said
        return ambiguous(order.path.name, "there are two lines")

    monkeypatch.setattr(run_trace, "_traced", traced)
    said = np.array([[0.0, 20.0], [400.0, 20.0]])
    names = ("clear.jpg", "grain.jpg")
    found = trace_run([Order(Path(name), PLACED, "line", 0.0, said) for name in names])
    assert isinstance(found[1], ScribeError)
    assert found[1].kind == "outline-ambiguous"


def test_a_stretch_that_is_lost_is_looked_at_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def traced(order: Order) -> tuple[Trace, float] | ScribeError:
        if order.path.name == "whole.jpg":
            return stretch(0.0, 500.0), 0.0
        return stretch(0.0, 200.0 if order.near is None else 480.0), 0.0

    monkeypatch.setattr(run_trace, "_traced", traced)
    names = ("whole.jpg", "lost.jpg")
    found = trace_run([Order(Path(name), PLACED, "line", 0.0, None) for name in names])
    assert isinstance(found[1], Piece)
    assert found[1].trace.points[-1, 0] > 470.0
