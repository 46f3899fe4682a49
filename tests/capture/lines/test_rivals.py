"""Boards with more than one thing drawn on them: which is meant, and is it one at all?"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from scribe.capture.lines.trace import trace_line
from scribe.errors import ScribeError
from tests.capture.fake_view import line_paint, off, seen

Array = npt.NDArray[np.float64]
Paint = Callable[[Array, Array], Array]

BOARD, TEXELS = 0.55, 20.0  # light; to the mm, of words


def both(one: Paint, other: Paint) -> Paint:
    return lambda x, y: np.minimum(one(x, y), other(x, y))


def scribed(width: float = 0.25, line: float = 0.38) -> tuple[Array, Paint]:
    """A faint thin line: its way, and the board with it."""
    x = np.linspace(14.0, 96.0, 800)
    truth = np.stack([x, 35.0 + 4.0 * np.sin(x / 7.0)], axis=1)
    return truth, line_paint(truth, width, line=line)


def ruled(y: float, x0: float = 12.0, x1: float = 98.0) -> Paint:
    """A firm straight line."""
    return line_paint(np.array([[x0, y], [x1, y]]), 0.5, line=0.12)


def words(text: str, x: float, y: float) -> Paint:
    """Words 6 mm high in the hand of a carpenter, their lower left corner at x, y."""
    picture = np.zeros((200, 1400), np.uint8)
    cv2.putText(picture, text, (20, 160), cv2.FONT_HERSHEY_SIMPLEX, 5.5, 255, 9, cv2.LINE_AA)

    def paint(xs: Array, ys: Array) -> Array:
        u, v = (xs - x) * TEXELS + 0.0 * ys, 160.0 - (ys - y) * TEXELS + 0.0 * xs
        ink = cv2.remap(picture, u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR)
        return np.asarray(BOARD * (1.0 - 0.7 * ink / 255.0))

    return paint


@pytest.mark.parametrize(
    ("y", "width", "line"),
    [(14.0, 0.25, 0.38), (27.0, 0.25, 0.38), (58.0, 0.25, 0.38), (58.0, 0.3, 0.44)],
)
def test_a_firm_datum_is_not_taken_for_the_faint_line_beside_it(
    y: float, width: float, line: float
) -> None:
    _, paint = scribed(width, line)
    with pytest.raises(ScribeError, match="two lines") as refusal:
        trace_line(seen(both(paint, ruled(y))))
    assert refusal.value.kind == "outline-ambiguous"


def test_the_line_that_is_named_is_followed_beside_a_datum() -> None:
    truth, line = scribed()
    trace = trace_line(seen(both(line, ruled(14.0))), start=truth[0], end=truth[-1])
    assert np.quantile(off(trace.points, truth), 0.95) < 0.02


def test_an_attempt_that_was_given_up_half_way_makes_it_ambiguous() -> None:
    truth, line = scribed()
    attempt = truth[:400] + np.array([0.0, 3.0])
    with pytest.raises(ScribeError) as refusal:
        trace_line(seen(both(line, line_paint(attempt, 0.5, line=0.2))))
    assert refusal.value.kind == "outline-ambiguous"


def test_what_forks_from_a_line_is_asked_about_however_short() -> None:
    """The pencil slipped, and was set again 5 mm beside: which end is meant?"""
    truth, line = scribed(0.5, 0.2)
    again = truth[truth[:, 0] > 76.0] + np.array([0.0, 5.0])
    with pytest.raises(ScribeError, match="two lines") as refusal:
        trace_line(seen(both(line, line_paint(again, 0.5, line=0.2))))
    assert refusal.value.kind == "outline-ambiguous"


def test_what_is_left_between_a_board_and_the_marks_is_no_line() -> None:
    """Dark, beside the rim of the window at x = 110."""
    truth, line = scribed(0.5, 0.2)
    gap = line_paint(np.array([[107.0, 4.0], [107.0, 66.0]]), 0.8, line=0.1)
    trace = trace_line(seen(both(line, gap)))
    assert np.quantile(off(trace.points, truth), 0.95) < 0.02


def test_a_short_mark_beside_a_line_is_nothing_to_ask_about() -> None:
    truth, line = scribed()
    trace = trace_line(seen(both(line, ruled(14.0, 40.0, 60.0))))
    assert np.quantile(off(trace.points, truth), 0.95) < 0.02


@pytest.mark.parametrize(("taken", "asked"), [(0.2, False), (0.7, True)])
def test_a_fold_of_the_sheet_is_no_second_line_but_a_line_on_it_is(
    taken: float, asked: bool
) -> None:
    """The board ends at y = 48, and the paper beyond is folded or drawn on at 60."""
    truth, line = scribed(0.5, 0.2)
    fold = line_paint(np.array([[12.0, 60.0], [98.0, 60.0]]), 0.5, board=0.85, line=0.85 - taken)
    view = seen(lambda x, y: np.where(y > 48.0, fold(x, y), line(x, y)))
    if asked:
        with pytest.raises(ScribeError, match="two lines"):
            trace_line(view)
    else:
        assert np.quantile(off(trace_line(view).points, truth), 0.95) < 0.02


def test_words_beside_a_line_are_no_second_line() -> None:
    truth, line = scribed(0.5, 0.2)
    trace = trace_line(seen(both(line, words("HALL 610 LEFT", 18.0, 52.0))))
    assert np.quantile(off(trace.points, truth), 0.95) < 0.02


def test_what_goes_on_with_another_width_may_be_another_thing() -> None:
    """A thin line, and from its end on the dark side of something that lies on the board."""
    x = np.linspace(40.0, 60.0, 200)
    line = line_paint(np.stack([x, 40.0 + 0.0 * x], axis=1), 0.25, line=0.2)
    side = line_paint(np.array([[60.3, 40.1], [66.0, 10.0]]), 0.8, line=0.2)
    with pytest.raises(ScribeError, match="two things") as refusal:
        trace_line(seen(both(line, side)))
    assert refusal.value.kind == "outline-ambiguous"
