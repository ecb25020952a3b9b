#!/usr/bin/env python3
"""Time SciPy's HiGHS on the programmes that the program solves in bulk: every pair of undersizes, draw by draw.

    python3 checks/time_highs.py SHEET [HOW_MANY]

prints one line of JSON: how many programmes, seconds in all (building the right-hand side left out), milliseconds each.
"""

import json
import sys
import time

import numpy as np
from scipy.optimize import linprog

import independent


def main():
    sheet = independent.Sheet(sys.argv[1])
    how_many = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    programme = independent.Programme(sheet)
    source = np.random.default_rng(1)
    asked = [q for q in independent.questions(sheet) if q[0][0] == "pair"]
    stock = sheet.draw_stock(source, -(-how_many // len(asked)))
    aim = np.zeros(programme.n)
    aim[-1] = -1.0
    seconds = 0.0
    for i in range(how_many):
        _, rm, rp = asked[i % len(asked)]
        b = programme.right_side(stock[i // len(asked)], rm, rp)
        began = time.perf_counter()
        found = linprog(aim, A_ub=programme.a, b_ub=b, bounds=programme.bounds, method="highs")
        seconds += time.perf_counter() - began
        if found.status != 0:
            sys.exit(f"HiGHS: {found.message}")
    each = 1000 * seconds / how_many
    print(json.dumps({"programmes": how_many, "seconds": seconds, "ms_each": each, "rows": len(programme.a),
                      "unknowns": programme.n, "pairs": len(asked)}))


if __name__ == "__main__":
    main()
