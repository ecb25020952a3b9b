"""What was said against what came true.

A case is one set (mains or pins) at one undersize: the chance that was said, and whether the set cleans up there in
truth. A case is open where the undersize is past what the set was last ground to; the others are certain to fail and
flatter the figures. A choice is one set that was told to be ground.
"""

import math
from dataclasses import dataclass, field

CONFIDENCE = 0.90  # the rule of a sheet that states none
LOST_PASS = 10  # rungs that a pass is worth that did not clean up
BINS = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0001)


def _shallowest(told, key):
    """The smallest undersize that reaches the confidence asked for, where a set is ground at all."""
    if told["action"] not in ("grind", "scrap", "build up"):
        return told["action"], None
    for row in told["undersizes"]:
        if row[key] >= CONFIDENCE and row.get("permitted", True):
            return "grind", row["undersize"]
    return "scrap", None


@dataclass
class Score:
    cases: list = field(default_factory=list)  # (crank, said, came true, open)
    choices: list = field(default_factory=list)  # (crank, rungs past the shallowest that cleans up; None: a lost pass)
    actions: dict = field(default_factory=dict)
    given_up: int = 0  # told that no undersize will do, where one does
    given_up_rightly: int = 0
    failed: list = field(default_factory=list)

    def add(self, other):
        self.cases += other.cases
        self.choices += other.choices
        self.given_up += other.given_up
        self.given_up_rightly += other.given_up_rightly
        self.failed += other.failed
        for action, n in other.actions.items():
            self.actions[action] = self.actions.get(action, 0) + n

    def take(self, crank, answer, truth, key="chance"):
        for s, told in answer["sets"].items():
            ladder, true = truth["ladder"], truth["cleans_up"][s]

            def rung_of(undersize):
                return min(range(len(ladder)), key=lambda i: abs(ladder[i] - undersize))

            for row in told["undersizes"]:
                rung = rung_of(row["undersize"])
                self.cases.append((crank, row[key], true[rung], ladder[rung] > truth["step"][s]))
            action, choice = told["action"], told.get("choice")
            if key != "chance":  # another chance would have chosen otherwise
                action, choice = _shallowest(told, key)
            self.actions[action] = self.actions.get(action, 0) + 1
            first = true.index(True) if True in true else None
            if action == "grind":
                rung = rung_of(choice)
                self.choices.append((crank, rung - first if true[rung] else None))
            elif action in ("scrap", "build up"):
                if first is None:
                    self.given_up_rightly += 1
                else:
                    self.given_up += 1

    # The figures, each with the standard error that the luck of the cranks leaves it: cases of one crank hang together.

    def brier(self, all_rungs=False):
        return self._mean((c, (said - true) ** 2) for c, said, true, is_open in self.cases if is_open or all_rungs)

    def too_shallow(self):
        return self._mean((c, past is None) for c, past in self.choices)

    def first(self, cranks):
        """The cases and choices of the cranks numbered below so many."""
        return Score([one for one in self.cases if one[0] < cranks], [one for one in self.choices if one[0] < cranks])

    def not_told(self):
        """Share of the worn sets that are sent away undecided."""
        return self.actions.get("not decided", 0) / max(sum(self.actions.values()), 1)

    def brier_above(self, other):
        """Its Brier score less another's, of the same sheets; with the standard error of the difference."""
        squares = [{}, {}]
        for mine, cases in zip(squares, (self.cases, other.cases)):
            for crank, said, true, is_open in cases:
                if is_open:
                    mine.setdefault(crank, []).append((said - true) ** 2)
        both = squares[0].keys() & squares[1].keys()
        return self._mean((c, a - b) for c in both for a, b in zip(squares[0][c], squares[1][c]))

    def loss(self):
        return self._mean((c, LOST_PASS if past is None else past) for c, past in self.choices)

    def deeper(self):
        return self._mean((c, bool(past)) for c, past in self.choices)

    def came_true(self, least=0.9, most=1.1):
        """Of the open cases said to have such a chance, the share that came true."""
        return self._mean((c, true) for c, said, true, is_open in self.cases if is_open and least <= said < most)

    def count(self, least=0.9, most=1.1):
        return sum(1 for _, said, _, is_open in self.cases if is_open and least <= said < most)

    @staticmethod
    def _mean(pairs):
        of_crank = {}
        for crank, value in pairs:
            total = of_crank.setdefault(crank, [0.0, 0])
            total[0] += value
            total[1] += 1
        n = sum(count for _, count in of_crank.values())
        if n == 0:
            return float("nan"), float("nan")
        mean = sum(total for total, _ in of_crank.values()) / n
        spread = sum((total - mean * count) ** 2 for total, count in of_crank.values())
        return mean, math.sqrt(spread) / n

    def calibration(self):
        """Rows of (from, to, cases, mean said, share come true), open cases only."""
        rows = []
        for low, high in zip(BINS, BINS[1:]):
            mine = [(said, true) for _, said, true, is_open in self.cases if is_open and low <= said < high]
            if mine:
                n = len(mine)
                rows.append((low, high, n, sum(said for said, _ in mine) / n, sum(true for _, true in mine) / n))
        return rows
