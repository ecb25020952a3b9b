"""Sound journals, measured with a micrometer that is a little off: are they ground, or given up, without a word?

Every journal keeps its limits in truth. Three kinds: near the upper limit, near the lower limit, and all a few tenths
under new and as round as new. Three states of the micrometer: its zero taken and right; never taken, and its scale off
by up to the error that the sheet states for it; the same, and the sheet leaves the instrument to the shop's usual one.
"""

import numpy as np

import chance_engines
from chance_cranks import SETS

KINDS = ("near the upper limit", "near the lower limit", "a few tenths under new")
ZEROS = ("zero taken", "zero never taken", "no instrument named")
# What counts as a word: the program says to look again, a note doubts a reading or the micrometer, or the reason of the
# set says that it is too close to call or to be measured again first.
WORDS = (
    "likely misread", "another range", "other unit", "ten times out", "likely mistyped", "another journal's size",
    "bigger than new", "does not hang together", "whole set a turn off", "swapped stations", "too coarse",
    "hangs on doubtful readings", "zero", "zero not taken", "look again", "too close to call",
)
IN_A_REASON = ("look again", "too close to call", "measure again", "leave alone", "take the zero", "zero check",
               "check the zero")


def draw(seed, number):
    """The sheet of an unworn crank, its kind and the state of the micrometer."""
    source = np.random.default_rng([seed, number, 77])
    kind, zero = KINDS[number % 3], ZEROS[number // 3 % 3]
    engine = chance_engines.draw_engine(source)
    mark = 0.0001 * engine.scale
    sheet = dict(sheet=1, mark=f"U-{number}", units=engine.units, specification=engine.specification(), reading=[])
    named = zero != "no instrument named"
    usual = 0.0001 if engine.units == "in" else 0.004
    graduation = engine.graduation if named else (0.0001 if engine.units == "in" else 0.002)
    limit = float(graduation * source.choice((1.0, 2.0, 3.0))) if named else usual
    # A few tenths: on a limit wider than that they stay within it, on a narrow one they end at the lower limit.
    few = source.uniform(2.0, 5.0) * mark
    for s in SETS:
        low, high = engine.limits(s)
        band = high - low
        # What the micrometer shows too much; within what is stated of it.
        off = source.uniform(-1.0, 1.0) * limit if zero != "zero taken" else source.uniform(-0.3, 0.3) * limit
        if named:
            step = 25.0 if engine.units == "mm" else 1.0
            base = step * np.floor((low - engine.ladder[-1]) / step)
            one = dict(name=f"mic {s}", range=[float(base), float(base + 2 * step)], graduation=graduation,
                       error_limit=limit, repeatability=graduation / 2)
            if zero == "zero taken":
                one["zero"] = 0.0
            sheet.setdefault("instrument", []).append(one)
        for k in range(engine.count(s)):
            if kind == KINDS[0]:
                size = high - band * source.uniform(0.0, 0.25)
            elif kind == KINDS[1]:
                size = low + band * source.uniform(0.0, 0.25)
            else:
                size = max(high - few + source.normal(0.0, 0.2 * mark), low + 0.05 * band)
            oval = min(0.2 * engine.round_limit, 0.0001 * engine.scale) * source.uniform(0.0, 1.0)
            high_at = source.uniform(0.0, 180.0)
            for at in ("front", "middle", "rear") if source.random() < 0.5 else ("front", "rear"):
                for plane in (0.0, 90.0):
                    true = size + oval / 2 * np.cos(2 * np.radians(plane - high_at))
                    true = min(max(true, low), high)
                    shown = true + off + source.normal(0.0, graduation / 2)
                    row = dict(journal=f"{s} {k + 1}", at=at, plane=plane,
                               size=round(round(shown / graduation) * graduation, 6))
                    sheet["reading"].append(row | ({"with": f"mic {s}"} if named else {}))
    return sheet, kind, zero


def word(answer, told):
    """Whether the answer doubts what it was given, and so does not send the set to the wheel without a word."""
    if answer.get("look_again") or told.get("look_again"):
        return True
    if any(note["kind"] in WORDS for note in answer["notes"]):
        return True
    return any(phrase in told.get("reason", "").lower() for phrase in IN_A_REASON)


def judge(answer):
    """For each set: whether it was told to be ground or given up, and whether a word stands beside it.

    A set that is "not decided" is not told to be ground: what it has to be told first stands in its action.
    """
    lost = ("grind", "build up", "scrap")
    return {s: (told["action"] in lost, word(answer, told)) for s, told in answer["sets"].items()}
