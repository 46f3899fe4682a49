"""Whether moving a cut piece saves it: the shift and turn after which least gapes.

In: the piece as planned, one of its cuts and that edge as it was found, in the piece frame. Out:
the move that makes the largest gap along this edge least, and that gap. With a shift a along the
edge, b towards the building and a turn c about the edge's middle as unknowns, each place i of
the edge, d_i proud of the line with clearance k (0 where a seal needs it) and unit normal n_i,
gapes by

    g_i = k - d_i - n_i . (a along + b out + c x arm_i),    0 <= g_i <= t,    t least

which is a linear programme; the normals turn as the edge moves along a curved line, so it is
solved again where the move led, in steps that are accepted only when the true gap, square to the
line, grew less. It starts at the best of many shifts along, since there may be several hollows.

Assumed: the piece's other scribed edges are cut to their lines; their gaps may close up, and open
to what filler closes or to their clearance, whichever is more; what goes through holes keeps within
the holes' clearance. An edge that isn't scribed goes along freely within the limits.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from scribe.cut_check import Move
from scribe.fit.check.compare import outward
from scribe.geom.frames import turned
from scribe.geom.polyline import length, nearest, normals_at, point_at, stations
from scribe.piece import CutEdge, Piece
from scribe.quantity import round_down_mm

Array = npt.NDArray[np.float64]

ALONG_MM = 5.0  # a piece is shifted along by no more (common practice, no source)
TURN_MM = 1.0  # one end goes in against the other by no more: the reveal shows it (as above)
_PLACES, _MOST = 300, 600  # of an edge that are looked at
_TRIED_MM = 0.5  # from one shift along to the next that is tried
_FIRST_STEP, _LAST_STEP = 0.6, 0.005  # mm, along, of the linear programme's trust
_WORTH_MM = 0.05  # a move is larger only for more than that
STEP_MM = 0.1  # moves are told in tenths
_DIRECTIONS = 8  # in which what goes through a hole is kept from its border
_FREE_MM = 50.0  # out, where nothing else holds the piece
_PUSHES = 20  # at most, until a push home on a sloping line settles
_BEYOND_MM = 1.0  # of its end the line is taken to go straight on
_TOUCH_MM, _SETTLED_MM, _HAIR = 0.01, 1e-3, 1e-9


def best_move(
    cut: CutEdge,
    edge: Array,
    piece: Piece | None,
    filler: float,
    *,
    along: float = ALONG_MM,
    turn: float = TURN_MM,
) -> Move:
    """The move of the piece that leaves least gaping along a cut.

    edge: (N, 2) mm as it was found, in the piece frame and in order of stations, N >= 2. piece:
    what else holds it; None where nobody knows how the rest of it stands. along, turn: mm, the
    most that is allowed; 0 for none.
    """
    problem = _Problem(cut, edge, piece, filler, (along, turn))
    starts = [0.0]
    if along > 0.0:
        tried = np.arange(-along, along + _TRIED_MM / 2.0, _TRIED_MM)
        gaps = np.array([problem.gap(problem.pushed(a, 0.0)) for a in tried])
        lowest = np.r_[True, gaps[1:] <= gaps[:-1]] & np.r_[gaps[:-1] <= gaps[1:], True]
        starts += sorted(
            tried[lowest & np.isfinite(gaps)], key=lambda a: float(gaps[tried == a][0])
        )[:2]
    told = [problem.told(problem.refined(problem.pushed(float(a), 0.0))) for a in starts]
    if along > 0.0 and turn > 0.0:  # whether a turn alone does as well
        still = _Problem(cut, edge, piece, filler, (0.0, turn))
        told.append(still.told(still.refined(still.pushed(0.0, 0.0))))
    least = min(move.gap for move in told)
    return min(
        (move for move in told if move.gap <= least + _WORTH_MM),
        key=lambda move: abs(move.along) + abs(move.turn),
    )


class _Problem:
    """One edge, its line and what the rest of the piece allows.

    A move is (3,): mm along, mm out, rad counter-clockwise about the edge's middle.
    """

    def __init__(
        self,
        cut: CutEdge,
        edge: Array,
        piece: Piece | None,
        filler: float,
        limits: tuple[float, float],
    ) -> None:
        self.cut, self.limits = cut, limits
        on = _BEYOND_MM * cut.along
        plan = np.vstack([cut.line[:1] - on, cut.line, cut.line[-1:] + on])
        self.plan = plan if cut.keep == "right" else plan[::-1]
        total = float(stations(edge)[-1])
        at = np.unique(np.concatenate([stations(edge), np.linspace(0.0, total, _PLACES)]))
        self.edge = point_at(edge, at if len(at) <= _MOST else np.linspace(0.0, total, _PLACES))
        self.middle = (self.edge[0] + self.edge[-1]) / 2.0
        self.length = max(float(np.ptp(self.edge @ cut.along)), 1.0)
        # A turn counter-clockwise takes the far end towards the building, or away from it.
        self.sense = float(np.sign(cut.along[0] * cut.out[1] - cut.along[1] * cut.out[0]))
        self.rows, self.low, self.high = self._rest(piece, filler)

    def pushed(self, along: float, turn: float) -> Array:
        """The move with so much along and turned, as far in as building and piece allow."""
        move = np.array([along, 0.0, turn])
        least, most = self._into(move)
        for _ in range(_PUSHES if least <= most else 0):
            proud, _, _ = self._proud(move)
            further = float(np.clip(move[1] + self.cut.may_close - proud.max(), least, most))
            settled, move[1] = abs(further - move[1]) < _SETTLED_MM, further
            if settled:
                break
        return move

    def gap(self, move: Array) -> float:
        """What gapes most along the edge after a move, square to the line; infinite where the
        move isn't possible.
        """
        least, most = self._into(move)
        proud, _, _ = self._proud(move)
        if least > most + _HAIR or proud.max() > self.cut.may_close + _TOUCH_MM:
            return np.inf
        return float(self.cut.may_close - proud.min())

    def refined(self, move: Array) -> Array:
        """The best move near a first one, by linear programmes whose steps are held short."""
        trust, best = _FIRST_STEP, self.gap(move)
        while trust > _LAST_STEP:
            step = self._programme(move, trust)
            step = self.pushed(float(step[0]), float(step[2]))
            gap = self.gap(step)
            if gap < best - _LAST_STEP / 10.0:
                move, best = step, gap
            else:
                trust /= 3.0
        return move

    def told(self, move: Array) -> Move:
        """The move in tenths, as a fitter can make it, and what truly gapes after it."""
        turn = float(move[2]) * self.length * self.sense
        along, turn = (round_down_mm(each + STEP_MM / 2.0, STEP_MM) for each in (move[0], turn))
        again = self.pushed(along, turn * self.sense / self.length)
        proud, _, station = self._proud(again)
        at = float(station[int(proud.argmin())])
        return Move(along, float(again[1]), turn, self.gap(again), at)

    def _moved(self, move: Array) -> Array:
        """(N, 2) the edge after a move."""
        about = turned(float(move[2])).rotation
        shift = move[0] * self.cut.along + move[1] * self.cut.out
        return np.asarray((self.edge - self.middle) @ about.T + self.middle + shift)

    def _proud(self, move: Array) -> tuple[Array, Array, Array]:
        """(M,) how far places stand beyond the line, (M, 3) how a move adds to that, and their
        stations; places that a move took well past the ends of the line are left out.
        """
        placed = self._moved(move)
        feet = nearest(placed, self.plan)
        seen = (feet.station > 0.0) & (feet.station < length(self.plan))
        by = self._by(placed[seen], normals_at(self.plan, feet.station[seen]))
        return feet.distance[seen], by, ((feet.point - self.cut.start) @ self.cut.along)[seen]

    def _by(self, points: Array, across: Array) -> Array:
        """(N, 3) by how much a move takes points on across (N, 2), a unit vector at each."""
        arm = points - self.middle
        turn = across[:, 1] * arm[:, 0] - across[:, 0] * arm[:, 1]
        return np.column_stack([across @ self.cut.along, across @ self.cut.out, turn])

    def _rest(self, piece: Piece | None, filler: float) -> tuple[Array, Array, Array]:
        """Rows (K, 3), and low (K,) <= rows @ move <= high (K,): other edges, and holes."""
        rows, low, high = [np.zeros((0, 3))], [np.zeros(0)], [np.zeros(0)]
        for other in () if piece is None else piece.cuts:
            if (other.edge, other.name) == (self.cut.edge, self.cut.name):
                continue
            by = self._by(other.line, outward(other))
            rows.append(by)
            high.append(np.full(len(by), other.may_close))
            low.append(np.full(len(by), other.may_close - max(other.may_close, filler)))
        angle = np.linspace(0.0, 2.0 * np.pi, _DIRECTIONS, endpoint=False)
        for hole in () if piece is None else piece.holes:
            if hole.access:
                continue
            centre = np.repeat(hole.centre[None], _DIRECTIONS, axis=0)
            rows.append(self._by(centre, np.column_stack([np.cos(angle), np.sin(angle)])))
            high.append(np.full(_DIRECTIONS, hole.clearance))
            low.append(np.full(_DIRECTIONS, -np.inf))
        return np.vstack(rows), np.concatenate(low), np.concatenate(high)

    def _into(self, move: Array) -> tuple[float, float]:
        """How far out the rest of the piece lets it go after shift and turn: from, to, mm.

        From beyond to where shift and turn alone go too far.
        """
        rest, by = self.rows[:, [0, 2]] @ move[[0, 2]], self.rows[:, 1]
        stuck = (np.abs(by) < _HAIR) & ((rest > self.high + _HAIR) | (rest < self.low - _HAIR))
        if stuck.any():
            return np.inf, -np.inf
        moves = np.abs(by) >= _HAIR
        one, other = ((self.high - rest)[moves] / by[moves], (self.low - rest)[moves] / by[moves])
        least = np.minimum(one, other).max(initial=-_FREE_MM)
        return float(least), float(np.maximum(one, other).min(initial=_FREE_MM))

    def _programme(self, move: Array, trust: float) -> Array:
        """The move that the linear programme finds best no further than trust, mm, from one."""
        from scipy.optimize import linprog

        proud, by, _ = self._proud(move)
        clear, one = self.cut.may_close, np.ones((len(by), 1))
        rows = [np.hstack([by, 0.0 * one]), np.hstack([-by, -one])]
        most = [clear - proud, proud - clear]
        rest = np.hstack([self.rows, np.zeros((len(self.rows), 1))])
        at = self.rows @ move
        bounded = np.isfinite(self.low)
        rows += [rest, -rest[bounded]]
        most += [self.high - at, (at - self.low)[bounded]]
        along, turn = self.limits[0], self.limits[1] / self.length
        radians = 2.0 * trust / self.length
        bounds = [
            (max(-along - move[0], -trust), min(along - move[0], trust)),
            (-_FREE_MM, _FREE_MM),
            (max(-turn - move[2], -radians), min(turn - move[2], radians)),
            (0.0, None),
        ]
        found = linprog([0.0, 0.0, 0.0, 1.0], np.vstack(rows), np.concatenate(most), bounds=bounds)
        return move if found.x is None else np.asarray(move + found.x[:3])
