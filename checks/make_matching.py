#!/usr/bin/env python3
"""Shells matched to bearings by SciPy's assignment solver, for crates/fit/tests/matching.rs to be held against.

    python3 checks/make_matching.py > crates/fit/tests/data/matching.csv

Where every lower half has the same wall, giving out the halves is the textbook assignment of one upper half to one
bearing, and scipy.optimize.linear_sum_assignment solves it exactly. With lower halves of two walls, every way to give
the two kinds to the bearings is tried, and each leaves an assignment. Lengths are whole nanometres.
"""

import itertools

import numpy as np
from scipy.optimize import linear_sum_assignment


def least(spaces, uppers, lowers):
    """The least sum of squared departures, for a fixed lower half in each bearing."""
    cost = (spaces[:, None] - lowers[:, None] - uppers[None, :]) ** 2
    rows, columns = linear_sum_assignment(cost)
    return int(cost[rows, columns].sum())


def least_of_all(spaces, uppers, lowers):
    return min(least(spaces, uppers, np.array(order)) for order in set(itertools.permutations(lowers, len(spaces))))


def main():
    rng = np.random.default_rng(1042)
    print("# made by checks/make_matching.py with SciPy; columns: spaces, uppers, lowers (nm), least sum of squares")
    print("spaces,uppers,lowers,least")
    for case in range(120):
        bearings = int(rng.integers(1, 8 if case % 2 == 0 else 6))
        spare = int(rng.integers(0, 3))
        wall = 1_822_000
        spaces = 2 * wall + rng.integers(-6, 7, bearings) * 1270
        uppers = wall + rng.integers(-4, 5, bearings + spare) * 1270
        kinds = [wall] if case % 2 == 0 else [wall, wall + 2540]
        lowers = rng.choice(kinds, bearings)
        found = least_of_all(spaces, uppers, [int(x) for x in lowers])
        cells = [" ".join(str(int(x)) for x in list) for list in (spaces, uppers, lowers)]
        print(",".join(cells + [str(found)]))


if __name__ == "__main__":
    main()
