"""Times and distances of many gearings at once, on the level without wind.

The same integrals as in `acceleration`, over lists of legs: each leg is one piece of one gearing's
way up, cut further until two Gauss-Legendre rules agree on it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_TOLERANCE = 1e-8  # of the six-point rule; the ten-point rule, which is kept, is far closer
_DEEPEST = 60
_LEAST = 1e-300
_MOST = 5_000  # intervals a leg; where rounding keeps them from settling, more would not help
_FOLDS = 36.0
_RULES = [np.polynomial.legendre.leggauss(points) for points in (6, 10)]


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways up of n gearings over the k pieces of their thrust.

    Surplus power on a piece is c0 + c1 v - drag v³, v in m/s.

    Attributes:
        low: speeds at which the pieces begin, n by k.
        c0: W, k values.
        c1: N, n by k.
        drag: N s²/m².
        mass: mass accelerated, kg, n by k.
        top: speeds reached, n.
        last: the piece in which that is, n.
        balance: whether thrust meets the load there, rather than the rev limit, n.
        moves: whether it moves off at all, n.
    """

    low: Floats
    c0: Floats
    c1: Floats
    drag: float
    mass: Floats
    top: Floats
    last: Ints
    balance: Bools
    moves: Bools


@dataclass(frozen=True, slots=True)
class _Legs:
    """A list of legs, one a row: piece `piece` of gearing `row`.

    Those that end in a balance run over the e-folds of the speed still missing, the others over
    the speed gained.
    """

    ways: Ways
    row: Ints
    piece: Ints
    closing: bool

    def variable(self, speed: Floats) -> Floats:
        """The variable at a speed of each leg."""
        low = self.ways.low[self.row, self.piece]
        if not self.closing:
            return speed - low
        top = self.ways.top[self.row]
        with np.errstate(divide="ignore"):
            return np.minimum(np.log((top - low) / (top - speed)), _FOLDS)

    def rates(self, which: Ints, at: Floats) -> tuple[Floats, Floats]:
        """(dt, dx) over the variable, for some of the legs, at points (legs by points)."""
        ways, row, piece = self.ways, self.row[which, None], self.piece[which, None]
        low, c1, mass = ways.low[row, piece], ways.c1[row, piece], ways.mass[row, piece]
        if self.closing:
            top = ways.top[row]
            speed = top - (top - low) * np.exp(-at)
            # c0 + c1 v - drag v³ = (top - v) (drag (v² + v top + top²) - c1), as top is a root.
            surplus = ways.drag * (speed * (speed + top) + top * top) - c1
            pace = mass * speed / np.maximum(surplus, _LEAST)
        else:
            speed = low + at
            surplus = ways.c0[piece] / speed + c1 - ways.drag * speed * speed
            pace = mass / np.maximum(surplus, _LEAST)
        return pace, pace * speed

    def integrals(self, upto: Floats) -> tuple[Floats, Floats]:
        """(s, m) from the beginning of each leg up to a value of its variable."""
        count = len(upto)
        time, distance = np.zeros(count), np.zeros(count)
        which = np.flatnonzero(upto > 0)
        left, right = np.zeros(len(which)), upto[which]
        for depth in range(_DEEPEST + 1):
            if not len(which):
                break
            middle, half = (left + right) / 2, (right - left) / 2
            sums = []
            for nodes, weights in _RULES:
                points = middle[:, None] + half[:, None] * nodes
                sums.append([rate @ weights * half for rate in self.rates(which, points)])
            coarse, fine = sums
            crowded = np.bincount(which, minlength=count)[which] > _MOST
            done = crowded | (depth == _DEEPEST)
            done |= (np.abs(coarse[0] - fine[0]) <= _TOLERANCE * fine[0]) & (
                np.abs(coarse[1] - fine[1]) <= _TOLERANCE * fine[1]
            )
            time += np.bincount(which[done], fine[0][done], count)
            distance += np.bincount(which[done], fine[1][done], count)
            open_ = ~done
            which = np.concatenate([which[open_], which[open_]])
            left, right = (
                np.concatenate([left[open_], middle[open_]]),
                np.concatenate([middle[open_], right[open_]]),
            )
        return time, distance


def cumulate(ways: Ways) -> tuple[Floats, Floats]:
    """(s, m) from standstill to the beginning of each piece on the way, n by k + 1.

    Pieces never passed whole add nothing.
    """
    count, pieces = ways.low.shape
    passed = np.arange(pieces) < (ways.last + ~ways.balance)[:, None]
    row, piece = np.nonzero(passed & ways.moves[:, None])
    legs = _Legs(ways, row, piece, closing=False)
    ends = np.concatenate([ways.low[:, 1:], ways.top[:, None]], axis=1)
    time, distance = legs.integrals(legs.variable(ends[row, piece]))
    sums = np.zeros((2, count, pieces + 1))
    sums[0, row, piece + 1], sums[1, row, piece + 1] = time, distance
    np.cumsum(sums, axis=2, out=sums)
    return sums[0], sums[1]


def after_speeds(ways: Ways, time: Floats, targets: Floats) -> Floats:
    """Seconds to speeds in m/s, n by targets; infinite where never reached.

    Args:
        ways: the ways up.
        time: seconds to the beginning of each piece, from `cumulate`.
        targets: speeds above 0, n by targets.
    """
    top = ways.top[:, None]
    reached = (targets < top) | (~ways.balance[:, None] & (targets == top))
    row, column = np.nonzero(reached & ways.moves[:, None])
    speed = targets[row, column]
    piece = (ways.low[row] < speed[:, None]).sum(axis=1) - 1
    closing = ways.balance[row] & (piece == ways.last[row])
    seconds = np.full(targets.shape, np.inf)
    for kind in (False, True):
        of = closing == kind
        legs = _Legs(ways, row[of], piece[of], closing=kind)
        more, _ = legs.integrals(legs.variable(speed[of]))
        seconds[row[of], column[of]] = time[row[of], piece[of]] + more
    return seconds


def after_distance(ways: Ways, time: Floats, distance: Floats, metres: float) -> Floats:
    """Seconds over a distance in m; infinite where it cannot move off.

    Args:
        ways: the ways up.
        time: seconds to the beginning of each piece, from `cumulate`.
        distance: metres to it.
        metres: above 0.
    """
    seconds = np.full(len(ways.top), np.inf)
    rows = np.flatnonzero(ways.moves)
    whole = ways.last[rows] + ~ways.balance[rows]  # pieces passed whole
    piece = np.minimum((distance[rows] < metres).sum(axis=1) - 1, whole)
    closing = ways.balance[rows] & (piece == whole)
    beyond = ~ways.balance[rows] & (piece == whole)
    for kind in (False, True):
        of = (closing == kind) & ~beyond
        row = rows[of]
        legs = _Legs(ways, row, piece[of], closing=kind)
        missing = metres - distance[row, piece[of]]
        high = (
            np.full(len(row), _FOLDS)
            if kind
            else np.append(ways.low, ways.top[:, None], axis=1)[row, piece[of] + 1]
            - ways.low[row, piece[of]]
        )
        seconds[row] = time[row, piece[of]] + _seconds_over(legs, high, missing)
    row = rows[beyond]
    left = metres - distance[row, piece[beyond]]
    seconds[row] = time[row, piece[beyond]] + left / ways.top[row]
    return seconds


def _seconds_over(legs: _Legs, high: Floats, metres: Floats) -> Floats:
    """Seconds from the beginning of each leg until so many metres are done.

    At the end of its variable a leg goes on at the top speed.
    """
    everything = np.arange(len(high))
    low = np.zeros_like(high)
    at = high.copy()
    for _ in range(100):
        time, done = legs.integrals(at)
        pace, stride = (rate[:, 0] for rate in legs.rates(everything, at[:, None]))
        short = done < metres
        low, high = np.where(short, at, low), np.where(short, high, at)
        following = at + (metres - done) / stride
        off = (following < low) | (following > high)
        following = np.where(off, (low + high) / 2, following)
        if np.all(np.abs(following - at) <= 1e-13 * np.maximum(at, 1e-300)):
            break
        at = following
    seconds: Floats = time + (metres - done) * pace / stride
    return seconds
