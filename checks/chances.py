#!/usr/bin/env python3
"""Do the chances come true? Cranks with known truth are measured, judged by the program, and ground.

    python3 checks/chances.py target/release/tenunder --cranks 300
    python3 checks/chances.py target/release/tenunder --part unworn
    python3 checks/chances.py target/release/tenunder --part next --cranks 100
    python3 checks/chances.py target/release/tenunder --assumed "bow twice" --cranks 100
    python3 checks/chances.py target/release/tenunder --hold
    python3 checks/chances.py target/release/tenunder --write docs/chances.md

Worn cranks are made another way than the program reckons (`chance_cranks.py`) and measured in three grades
(`chance_measuring.py`); each sheet is put to the program on its own, and what it says of each set and undersize is held
against what the true surface does (`chance_score.py`). Sound cranks must not go to the wheel without a word
(`chance_unworn.py`), and what the next measurement is foretold to say is tried (`chance_next.py`).
"""

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import chance_assumed
import chance_bounds
import chance_cranks
import chance_measuring
import chance_next
import chance_page
import chance_run


def say(total):
    print(f"{'world':<26}{'grade':<6}{'chance':<12}{'open':>6} {'Brier':>14} {'all':>6}  {'choices':>7}"
          f" {'too shallow':>14} {'loss':>11} {'deeper':>9} {'given up':>9}  90 and more came true")
    worlds, grades = [*chance_cranks.WORLDS, *chance_assumed.VARIED], list(chance_measuring.GRADES)

    def place(item):
        world, grade, what = item[0]
        return what != "chance", worlds.index(world), grades.index(grade)

    ordered = sorted(total.items(), key=place)
    for (world, grade, what), one in ordered:
        brier, shallow, loss, came = one.brier(), one.too_shallow(), one.loss(), one.came_true()
        print(
            f"{world:<26}{grade:<6}{what:<12}{sum(1 for c in one.cases if c[3]):>6} {brier[0]:>7.4f} ±{brier[1]:.4f}"
            f" {one.brier(True)[0]:>6.4f}  {len(one.choices):>7} {100 * shallow[0]:>6.1f} ±{100 * shallow[1]:3.1f} %"
            f" {loss[0]:>5.2f} ±{loss[1]:.2f} {100 * one.deeper()[0]:>6.1f} %"
            f" {one.given_up:>4}/{one.given_up + one.given_up_rightly:<4}"
            f"  {100 * came[0]:.1f} ±{100 * came[1]:.1f} % of {one.count()}"
        )
    for (world, grade, what), one in ordered:
        if what == "chance":
            print(f"\n{world}, {grade}: {', '.join(f'{n} {action}' for action, n in sorted(one.actions.items()))}")
            for low, high, n, said, true in one.calibration():
                print(f"   {100 * low:5.0f} to {min(100 * high, 100):3.0f}: said {100 * said:5.1f}, "
                      f"came true {100 * true:5.1f}, {n} cases")


def say_unworn(records):
    for zero in sorted({r["zero"] for r in records}):
        for kind in sorted({r["kind"] for r in records}):
            mine = [r for r in records if r["kind"] == kind and r["zero"] == zero]
            ground = [r for r in mine if r["grind"]]
            silent = [r for r in ground if not r["word"]]
            such = f"; such as {', '.join(r['mark'] for r in silent[:4])}" if silent else ""
            print(f"{zero:<24}{kind:<26}{len(mine):>5} sets, {len(ground):>4} told to grind, "
                  f"{len(silent):>4} without a word{such}")
    silent = sum(1 for r in records if r["grind"] and not r["word"])
    print(f"{100 * silent / max(len(records), 1):.2f} in 100 of {len(records)} sound sets told to grind or given up "
          "without a word")


def arguments():
    ask_for = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    ask_for.add_argument("program")
    ask_for.add_argument("--part", choices=("worn", "unworn", "next"), default="worn")
    ask_for.add_argument("--cranks", type=int, help="in each world; 300 worn, 3600 unworn, 60 next where left out")
    ask_for.add_argument("--first", type=int, default=0, help="number of the first crank")
    ask_for.add_argument("--seed", type=int, default=1)
    ask_for.add_argument("--worlds", default="plausible", help="names parted by commas, or all")
    ask_for.add_argument("--grades", default="full,half,few")
    ask_for.add_argument("--draws", type=int, help="draws of the program (its usual number where left out)")
    ask_for.add_argument("--assumed", choices=list(chance_assumed.VARIED), help="another assumption on the sheets")
    ask_for.add_argument("--stamps", action="store_true", help="the sheets tell what is stamped on some cranks")
    ask_for.add_argument("--workers", type=int, default=2)
    ask_for.add_argument("--keep", help="a folder for the sheets, each with its truth beside it")
    ask_for.add_argument("--hold", action="store_true", help="a quick slice of all parts, held to its bounds")
    ask_for.add_argument("--write", help="the page that tells what was said and what came true")
    return ask_for.parse_args()


def main():
    told = arguments()
    began = time.monotonic()
    grades, failed, broken = told.grades.split(","), [], []
    worlds = list(chance_cranks.WORLDS) if told.worlds == "all" else told.worlds.split(",")
    if told.hold:
        broken, failed = chance_bounds.hold(told.program, told.workers, say, say_unworn)
    elif told.write:
        failed = chance_page.write(told.program, told.write, told.seed, told.cranks, told.workers, told.draws,
                                   say)
    elif told.part == "unworn":
        records, failed = chance_run.unworn(told.program, told.seed, told.cranks or 3600, told.first, told.keep,
                                            told.workers, told.draws)
        say_unworn(records)
    elif told.part == "next":
        records, failed = chance_run.measured_next(told.program, grades, told.seed, told.cranks or 60, told.first,
                                                   told.workers, told.draws)
        chance_next.say(records)
    else:
        total = chance_run.worn(told.program, worlds, grades, told.seed, told.cranks or 300, told.first, told.draws,
                                told.stamps, told.keep, told.workers, told.assumed)
        say(total)
        failed = [fault for one in total.values() for fault in one.failed]
    for fault in failed[:10]:
        print("no answer:", fault)
    for fault in broken:
        print("out of bounds:", fault)
    print(f"{time.monotonic() - began:.0f} s, {len(failed)} sheets without an answer, {len(broken)} out of bounds")
    sys.exit(1 if failed or broken else 0)


if __name__ == "__main__":
    main()
