#!/usr/bin/env python3
"""Time SciPy's sparse direct solver on the film that the program solves, on the same net with the same equations.

    python3 checks/time_film.py [L_OVER_D] [EPS] [AROUND] [ACROSS] [RUNS]

prints one line of JSON: milliseconds for one linear solution (the film unbroken), for the broken film (as many linear
solutions as its edge takes to settle, from the unbroken film's positive part), and the Sommerfeld numbers, by which the
caller sees that the problem is the same. Building the matrix is left out of the times.
"""

import json
import statistics
import sys
import time

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import spsolve


def build(ratio, eps, around, across):
    """The matrix of the half width, the right side, and the weights of the load's two parts."""
    root, step, dz = np.sqrt(1 - eps**2), 2 * np.pi / around, 1 / across
    film_at = lambda gamma: (1 - eps**2) / (1 - eps * np.cos(gamma))
    gamma = step * np.arange(1, around)
    film, half = film_at(gamma), film_at(step * (np.arange(around) + 0.5))
    along = root * half**2 / step
    side = film**4 / root * step / (ratio * dz) ** 2
    turning = half[1:] - half[:-1]
    n = around - 1
    ring = sparse.diags([along[:-1] + along[1:], -along[1:-1], -along[1:-1]], [0, 1, -1], shape=(n, n))
    bend = sparse.lil_matrix((across, across))
    bend.setdiag(2.0)
    bend.setdiag(-1.0, 1)
    bend.setdiag(-1.0, -1)
    bend[0, 1] = -2.0
    matrix = sparse.kron(ring, sparse.eye(across)) + sparse.kron(sparse.diags(side), bend.tocsr())
    right = -np.repeat(turning, across)
    theta = 2 * np.arctan2(np.sqrt(1 + eps) * np.sin(gamma / 2), np.sqrt(1 - eps) * np.cos(gamma / 2))
    weight = np.ones(across)
    weight[0] = 0.5
    area = np.repeat(2 * film / root * step * dz, across) * np.tile(weight, n)
    return matrix.tocsc(), right, -area * np.repeat(np.cos(theta), across), area * np.repeat(np.sin(theta), across)


def broken(matrix, right):
    """Newton on min(P, A P - b): which nodes are in the film, until none changes."""
    pressure = spsolve(matrix, right)
    inside = pressure > 0
    rounds = 0
    rows = matrix.tocsr()
    while True:
        rounds += 1
        nodes = np.flatnonzero(inside)
        pressure = np.zeros(len(right))
        pressure[nodes] = spsolve(rows[nodes][:, nodes].tocsc(), right[nodes])
        surplus = rows @ pressure - right
        scale = np.abs(right).max()
        after = np.where(inside, pressure >= -1e-12 * pressure.max(), surplus < -1e-12 * scale)
        if (after == inside).all():
            return pressure, rounds
        inside = after


def sommerfeld(pressure, towards, across):
    return 1 / (3 * np.pi * np.hypot(pressure @ towards, pressure @ across))


def timed(run, runs):
    times = []
    for _ in range(runs):
        began = time.perf_counter()
        found = run()
        times.append(1000 * (time.perf_counter() - began))
    return statistics.median(times), found


def main():
    asked = [float(text) for text in sys.argv[1:]] + [0.5, 0.7, 180, 20, 15][len(sys.argv) - 1:]
    ratio, eps, (around, lines, runs) = asked[0], asked[1], map(int, asked[2:])
    matrix, right, towards, across = build(ratio, eps, around, lines)
    linear_ms, pressure = timed(lambda: spsolve(matrix, right), runs)
    broken_ms, (film, rounds) = timed(lambda: broken(matrix, right), max(3, runs // 3))
    print(json.dumps({"unknowns": len(right), "linear_ms": linear_ms, "broken_ms": broken_ms, "rounds": rounds,
                      "unbroken_s": sommerfeld(np.maximum(pressure, 0), towards, across),
                      "broken_s": sommerfeld(film, towards, across)}))


if __name__ == "__main__":
    main()
