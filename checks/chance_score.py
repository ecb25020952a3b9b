"""What was said against what came true.

A case is one set (mains or pins) at one undersize: the chance that was said, and whether the set cleans up there in
truth. A choice is one set that was told to be ground.
"""

from dataclasses import dataclass, field

LOST_PASS = 10  # rungs that a pass is worth that did not clean up
BINS = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0001)


@dataclass
class Score:
    cases: list = field(default_factory=list)  # (said, came true, rung below what the set was ground to or at it)
    choices: list = field(default_factory=list)  # rungs past the shallowest that cleans up; None for a lost pass
    actions: dict = field(default_factory=dict)
    given_up: int = 0  # told that no undersize cleans up, where one does
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

    def take(self, answer, truth, key="chance"):
        for s, told in answer["sets"].items():
            ladder, true = truth["ladder"], truth["cleans_up"][s]
            for row in told["undersizes"]:
                rung = min(range(len(ladder)), key=lambda i: abs(ladder[i] - row["undersize"]))
                self.cases.append((row.get(key, row["chance"]), true[rung], ladder[rung] <= truth["step"][s]))
            action = told.get("action", "none")
            self.actions[action] = self.actions.get(action, 0) + 1
            first = true.index(True) if True in true else None
            if action == "grind" and told.get("choice") is not None:
                rung = min(range(len(ladder)), key=lambda i: abs(ladder[i] - told["choice"]))
                self.choices.append(rung - first if true[rung] else None)
            elif action in ("scrap", "build up"):
                if first is None:
                    self.given_up_rightly += 1
                else:
                    self.given_up += 1

    # The figures.

    def brier(self, open_only=False):
        cases = [c for c in self.cases if not (open_only and c[2])]
        return sum((said - true) ** 2 for said, true, _ in cases) / max(len(cases), 1)

    def too_shallow(self):
        return self.choices.count(None) / max(len(self.choices), 1)

    def loss(self):
        return sum(LOST_PASS if c is None else c for c in self.choices) / max(len(self.choices), 1)

    def deeper(self):
        return sum(1 for c in self.choices if c) / max(len(self.choices), 1)

    def came_true(self, least=0.9, most=1.1, open_only=True):
        """Of the cases said to have such a chance, the share that came true; and how many there are."""
        mine = [true for said, true, shut in self.cases if least <= said < most and not (open_only and shut)]
        return (sum(mine) / len(mine) if mine else float("nan")), len(mine)

    def calibration(self):
        """Rows of (from, to, cases, mean said, share come true), rungs above the last grind left out."""
        rows = []
        for low, high in zip(BINS, BINS[1:]):
            mine = [(said, true) for said, true, shut in self.cases if low <= said < high and not shut]
            if mine:
                rows.append((low, high, len(mine), sum(m[0] for m in mine) / len(mine), sum(m[1] for m in mine) / len(mine)))
        return rows
