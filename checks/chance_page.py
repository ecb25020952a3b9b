"""Writes `docs/chances.md`: what was simulated, what was said, what came true."""

import math
from pathlib import Path

import chance_assumed
import chance_cranks
import chance_run

CRANKS = 2000
OFF_SHARE = 0.1  # of so many cranks in each other world, and under each other assumption
WHOLE = ("share 0.9", "set-up twice", "scores half as deep again")  # other worlds of which as many are made
GRADES = ("full", "half", "few")

HEAD = """# Do the chances come true?

Written by `python3 checks/chances.py PROGRAM --write docs/chances.md`. {cranks} worn cranks were made whose surface is
known everywhere, each measured three times, in part, with a micrometer that errs; the program judged each sheet, and
the true surface was then ground. No shop has published a record of worn cranks journal by journal, so the cranks are
invented. They are made another way than the program reckons: agreement is not built in, but neither is it proof for
your cranks.{draws}

## What was simulated

Nine invented engines, inch and metric, 1 to 6 throws, ladders of two to five undersizes. On each crank:

- each journal loses an even part and an arc 70 to 200 degrees wide, raised-cosine or flat-topped, with its opposite; a
  third have a second arc elsewhere; all twisted, tapered and hollowed along the journal, some with ridges at the edges
  or under the oil groove. Median loss of a set {level} in on the diameter, two thirds of sets within a factor
  of {factor:.1f}
- pins worn mostly in line with their throw, mains in a common direction, one journal in seven anywhere
- lobes of 2 to 7, sizes anywhere within the limits of the last grind, a bent shaft (median {bow} in at the middle, on
  the radius), {odd:.0f} in 100 journals at another step than their set, {wreck:.0f} in 100 wrecked, scores with
  a guessed depth on 6 in 100
- a machine that centres to 0.0003 in (0.0075 mm), on the radius, as the sheets say

*Full* is three stations and two or four directions on every journal, with run-outs on most cranks; *half* is one or
two stations, a journal in seven left out, few run-outs; *few* is one to three readings on a journal, a third of them
left out, one hand in three measuring pins across the throw only.
"""

TAIL = """
## Which assumption matters most

{matters}

## How your shop learns its own

These assumptions are the program's, not your engines'. Each ground crank tells more. For each set write down the chance
that was said, whether it cleaned up, and at which undersize it would have. Of thirty grinds begun at 90 in 100, about
three should fail. If none fails, ask for less (`confidence`) or measure more spots: both save undersizes.

| key | learn it from | after about |
|---|---|---|
| `set_up_error` | dial pins once set up: 0.7 of the root mean square of the offsets (half the total) | 20 set-ups |
| `level`, `level_spread` | loss of the most worn side, by sets: the middle one, spread of its logarithm | 20 cranks |
| `one_sided` | sweep an indicator round worn pins: the worse side's share of the oval loss | 30 pins |
| `other_step` | how often a journal turned out to be at another undersize than its set | 50 cranks |
| `bow` | half the run-out of the middle main, the middle one of your cranks, unstraightened | 20 cranks |
| `hidden_form`, `hidden_share` | trace ground and worn journals: what two points do not show | 10 traces |

Write what you found under `[assumed]` (`set_up_error` under `[policy]`) in your sheets: [sheet.md](sheet.md). Change
one key at a time, and only where your own figure is far from the usual one; learn first what moves most in the table
above.

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
    between = [(said, true) for grade in GRADES for _, said, true, is_open in total["plausible", grade, "chance"].cases
               if is_open and 0.02 <= said < 0.9]
    said, true = (100 * sum(one[i] for one in between) / max(len(between), 1) for i in (0, 1))
    lines += ["", f"Of all cases said to have 2 to 90 in 100 the mean chance was {said:.0f}; {true:.0f} in 100 came "
              f"true: there the program says too {'little' if true > said else 'much'}."]
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


def moved_by(total, few):
    """Each other assumption against the usual ones on the same sheets, what moves the Brier score most first."""
    rows = []
    for name in chance_assumed.VARIED:
        moves, trues, shallows, deepers = [], [], [], []
        for grade in GRADES:
            one, usual = total[name, grade, "chance"], few[grade]
            moves.append(one.brier_above(usual))
            trues.append((one.came_true()[0], usual.came_true()[0]))
            shallows.append((one.too_shallow()[0], usual.too_shallow()[0]))
            deepers.append((one.deeper()[0], usual.deeper()[0]))
        move = sum(found for found, _ in moves) / len(moves)
        error = math.sqrt(sum(error**2 for _, error in moves)) / len(moves)

        def change(pairs):
            return 100 * sum(a - b for a, b in pairs) / len(pairs)

        true = 100 * sum(a for a, _ in trues) / len(trues)
        rows.append((abs(move), f"| {name} | {1000 * move:+.1f} ± {1000 * error:.1f} | {true:.1f} | "
                                f"{change(shallows):+.1f} | {change(deepers):+.1f} |"))
    usual = 100 * sum(few[grade].came_true()[0] for grade in GRADES) / len(GRADES)
    return ["| told instead | Brier score moves by, thousandths | of 90 and more came true, in 100 | "
            "too shallow, more in 100 | too deep, more in 100 |",
            "|---|---|---|---|---|", f"| nothing, as usual | | {usual:.1f} | | |",
            *(row for _, row in sorted(rows, reverse=True))]


def what_matters(total, few, off):
    """What other assumptions on the same cranks, and other cranks under the same assumptions, do to the figures."""
    lines = [f"The same {off} cranks, judged once more with another assumption on their sheets; mean of the grades.",
             "A small figure beside its ± means that the key hardly matters.", "", *moved_by(total, few), ""]
    rows = []
    for world in chance_cranks.WORLDS:
        if world != "plausible":
            ones = [total[world, grade, "chance"] for grade in GRADES]
            true = sum(one.came_true()[0] for one in ones) / len(ones)
            shallow = sum(one.too_shallow()[0] for one in ones) / len(ones)
            rows.append((true, f"- {world}: {100 * true:.1f} came true, {100 * shallow:.1f} too shallow"))
    lines += ["Cranks that are not as assumed, what *90 and more* is then worth, the worst first (mean of the grades):",
              "", *(row for _, row in sorted(rows)), ""]
    full, few_spots = (total["plausible", grade, "chance"].brier()[0] for grade in ("full", "few"))
    lines += [f"To compare: measuring few spots instead of all moves the Brier score by "
              f"{1000 * (few_spots - full):+.0f} thousandths."]
    return "\n".join(lines)


def write(program, page, seed, cranks, workers, draws, say):
    cranks = cranks or CRANKS
    off = max(round(OFF_SHARE * cranks), 1)
    total = chance_run.worn(program, ["plausible"], GRADES, seed, cranks, draws=draws, workers=workers)
    others = [name for name in chance_cranks.WORLDS if name != "plausible"]
    whole = [name for name in others if name in WHOLE]
    total |= chance_run.worn(program, whole, GRADES, seed, cranks, draws=draws, workers=workers)
    fewer = [name for name in others if name not in WHOLE]
    total |= chance_run.worn(program, fewer, GRADES, seed, off, draws=draws, workers=workers)
    for name in chance_assumed.VARIED:
        total |= chance_run.worn(program, ["plausible"], GRADES, seed, off, draws=draws, workers=workers, assumed=name)
    say(total)
    few = {grade: total["plausible", grade, "chance"].first(off) for grade in GRADES}
    plausible = chance_cranks.WORLDS["plausible"]
    said = f" The program drew {draws:,} cranks for each chance, not its usual number." if draws else ""
    lines = HEAD.format(cranks=f"{cranks:,}", level=f"{plausible.level:.4f}", bow=f"{plausible.bow:.4f}",
                        odd=100 * plausible.odd, wreck=100 * plausible.wreck, draws=said,
                        factor=math.exp(plausible.level_sd)).split("\n")
    lines += ["## How the choices fared", "",
              "At 90 in 100 asked for. *Brier score*: mean square of chance said less what came true, 0 at best.",
              "*Too shallow*: did not clean up where the program said to start. *Loss*: rungs deeper than the truth",
              "needed, a lost pass counted as ten. ± is one standard error of so many cranks.", ""]
    lines += figures(total, ["plausible"])
    lines += ["", *not_ground(total)]
    lines += ["", "The same, had what nobody measured been as good as what was (`chance_as_measured`):", ""]
    lines += figures(total, ["plausible"], what="as measured")
    lines += said_and_true(total)
    lines += ["", "## Cranks that the assumptions do not fit", "",
              f"{cranks:,} cranks each of *{'*, *'.join(whole)}*; {off} of the others.", ""]
    lines += figures(total, others)
    lines += ["", *meaning_of_worlds()]
    lines += TAIL.format(matters=what_matters(total, few, off)).split("\n")
    Path(page).write_text("\n".join(lines).rstrip() + "\n")
    return [fault for one in total.values() for fault in one.failed]


def not_ground(total):
    """What was told of the sets that were not told to be ground."""
    lines = []
    for grade in GRADES:
        one = total["plausible", grade, "chance"]
        sets = sum(one.actions.values())
        lines.append(f"- {grade}: of {sets:,} sets {one.actions.get('not decided', 0)} were not decided, "
                     f"{one.actions.get('leave alone', 0)} left alone, {one.given_up + one.given_up_rightly} given up,")
        lines.append(f"  of which {one.given_up} would have cleaned up at some undersize.")
    return lines


def meaning_of_worlds():
    return [
        "*one-sided*: three journals in four with all oval wear on one side. *oval*: nearly no even wear. *bow",
        "three times*, *wear twice*: as named. *even wear*: no journal worn to one side. *share 0.9*: nine tenths of",
        "the oval wear on the worse side of every journal. *set-up twice*: the machine centres half as well as the",
        "sheet says. *scores half as deep again*: every guess of a depth short by a third. *dial as read*: the run-out",
        "is the highest less the lowest reading, out-of-round and all.",
    ]
