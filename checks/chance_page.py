"""Writes `docs/chances.md`: what was simulated, what was said, what came true."""

import math
from pathlib import Path

import chance_cranks
import chance_run

CRANKS, OFF_CRANKS = 2000, 300
GRADES = ("full", "half", "few")

HEAD = """# Do the chances come true?

Written by `python3 checks/chances.py PROGRAM --write docs/chances.md`. {cranks} worn cranks were made whose surface is
known everywhere, each measured three times, in part, with a micrometer that errs; the program judged each sheet, and
the true surface was then ground. No shop has published a record of worn cranks journal by journal, so the cranks are
invented. They are made another way than the program reckons: agreement is not built in, but neither is it proof for
your cranks.

## What was simulated

Nine invented engines, inch and metric, 1 to 6 throws, ladders of two to five undersizes. On each crank:

- each journal loses an even part and an arc 70 to 200 degrees wide, raised-cosine or flat-topped, with its opposite; a
  third have a second arc elsewhere; all twisted, tapered and hollowed along the journal, some with ridges at the edges
  or under the oil groove. Median loss of a set {level} in on the diameter, two thirds of sets within a factor of
  {factor:.1f}
- pins worn mostly in line with their throw, mains in a common direction, one journal in seven anywhere
- lobes of 2 to 7, sizes anywhere within the limits of the last grind, a bent shaft (median {bow} in at the middle, on
  the radius), {odd:.0f} in 100 journals at another step than their set, {wreck:.0f} in 100 wrecked, scores with a
  guessed depth on 6 in 100
- a machine that centres to 0.0003 in (0.0075 mm), on the radius, as the sheets say

*Full* is three stations and two or four directions on every journal, with run-outs on most cranks; *half* is one or
two stations, a journal in seven left out, few run-outs; *few* is one to three readings on a journal, a third of them
left out, one hand in three measuring pins across the throw only.
"""

TAIL = """
## What matters most

{matters}

## What your shop can learn

These assumptions are the program's, not your engines'. Each ground crank tells: write the chance that was said beside
*cleaned up* or *did not*. Of thirty grinds begun at 90 in 100, about three should not clean up. If none fails, your
cranks are likely worn more evenly than assumed, and you can ask for less before you start. If six fail, look first at
the set-up error (dial each pin after setting up) and at which directions and stations were left out: what few readings
cost stands above.

A chance does not replace a crack test, the maker's manual or the judgement of somebody licensed to pass the part.
"""


def pair(value, scale=1.0, digits=1):
    return f"{scale * value[0]:.{digits}f} ± {scale * value[1]:.{digits}f}"


def said_and_true(total):
    lines = [
        "", "## Said and came true", "",
        "Undersizes past the last grind, mains and pins: the mean chance said, what came true, and how many cases.", "",
        "| said | full | half | few |", "|---|---|---|---|",
    ]
    tables = {grade: {row[:2]: row for row in total["plausible", grade, "chance"].calibration()} for grade in GRADES}
    groups = sorted({key for table in tables.values() for key in table})
    for low, high in groups:
        cells = []
        for grade in GRADES:
            row = tables[grade].get((low, high))
            cells.append(f"{100 * row[3]:.0f} said, {100 * row[4]:.0f} true ({row[2]})" if row else "")
        lines.append(f"| {100 * low:.0f} to {min(100 * high, 100):.0f} | " + " | ".join(cells) + " |")
    return lines


def figures(total, worlds, grades=GRADES, what="chance"):
    lines = ["| cranks | measured | Brier score | too shallow, in 100 | loss, rungs | a rung or more too deep, in 100 "
             "| of 90 and more came true, in 100 |", "|---|---|---|---|---|---|---|"]
    for world in worlds:
        for grade in grades:
            one = total[world, grade, what]
            lines.append(f"| {world} | {grade} | {pair(one.brier(), 1, 3)} | {pair(one.too_shallow(), 100)} | "
                         f"{pair(one.loss(), 1, 2)} | {pair(one.deeper(), 100, 0)} | {pair(one.came_true(), 100)} |")
    return lines


def what_matters(total, cranks):
    """The worlds in order of what they add to the choices that do not clean up, from the figures themselves."""
    rows = []
    for world in chance_cranks.WORLDS:
        if world != "plausible":
            rise = sum(
                total[world, grade, "chance"].too_shallow()[0] - total["plausible", grade, "chance"].too_shallow()[0]
                for grade in GRADES
            ) / len(GRADES)
            errors = (total[world, grade, "chance"].too_shallow()[1] for grade in GRADES)
            error = math.sqrt(sum(one**2 for one in errors)) / len(GRADES)
            rows.append((rise, error, world))
    rows.sort(reverse=True)
    lines = ["Choices that do not clean up, in 100, more than on the plausible cranks (mean of the three grades):", ""]
    lines += [f"- {world}: {100 * rise:+.1f} ± {100 * error:.1f}" for rise, error, world in rows]
    few, full = (total["plausible", grade, "chance"].too_shallow()[0] for grade in ("few", "full"))
    lines += ["", f"Measuring few spots instead of all adds {100 * (few - full):.1f}."]
    return "\n".join(lines)


def write(program, page, seed, cranks, workers, say):
    cranks = cranks or CRANKS
    off = min(cranks, OFF_CRANKS)
    total = chance_run.worn(program, ["plausible"], GRADES, seed, cranks, workers=workers)
    others = [name for name in chance_cranks.WORLDS if name != "plausible"]
    total |= chance_run.worn(program, others, GRADES, seed, off, workers=workers)
    say(total)
    plausible = chance_cranks.WORLDS["plausible"]
    lines = HEAD.format(cranks=f"{cranks:,}", level=f"{plausible.level:.4f}", bow=f"{plausible.bow:.4f}",
                        odd=100 * plausible.odd, wreck=100 * plausible.wreck,
                        factor=math.exp(plausible.level_sd)).split("\n")
    lines += ["## How the choices fared", "",
              "At 90 in 100 asked for. *Brier score*: mean square of chance said less what came true, 0 at best.",
              "*Too shallow*: did not clean up where the program said to start. *Loss*: rungs deeper than the truth",
              "needed, a lost pass counted as ten. ± is one standard error of so many cranks.", ""]
    lines += figures(total, ["plausible"])
    if ("plausible", "full", "as measured") in total:
        lines += ["", "The same, had what nobody measured been as good as what was (`chance_as_measured`):", ""]
        lines += figures(total, ["plausible"], what="as measured")
    lines += said_and_true(total)
    lines += ["", "## Cranks that the assumptions do not fit", "", f"{off} cranks each.", ""]
    lines += figures(total, others)
    lines += ["", *meaning_of_worlds()]
    lines += TAIL.format(matters=what_matters(total, off)).split("\n")
    Path(page).write_text("\n".join(lines).rstrip() + "\n")
    return [fault for one in total.values() for fault in one.failed]


def meaning_of_worlds():
    return [
        "*one-sided*: three journals in four with all oval wear on one side. *oval*: nearly no even wear. *bow",
        "three times*, *wear twice*: as named. *even wear*: no journal worn to one side. *share 0.9*: nine tenths of",
        "the oval wear on the worse side of every journal. *set-up twice*: the machine centres half as well as the",
        "sheet says. *scores half as deep again*: every guess of a depth short by a third. *dial as read*: the run-out",
        "is the highest less the lowest reading, out-of-round and all.",
    ]
