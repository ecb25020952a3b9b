#!/usr/bin/env python3
"""Do the chances come true? Worn cranks with known truth are measured, judged by the program, and ground.

    python3 checks/chances.py target/release/tenunder --cranks 300

The cranks are made another way than the program reckons (`chance_cranks.py`), measured in three grades
(`chance_measuring.py`), and each sheet is put to the program on its own. What it says of each set and undersize is
held against what the true surface does (`chance_score.py`).
"""

import argparse
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import chance_cranks
import chance_measuring
import chance_score

CHUNK = 10


def ask(program, path):
    done = subprocess.run([program, "assess", str(path), "--json"], capture_output=True, text=True, timeout=300)
    if done.returncode != 0:
        raise RuntimeError(f"{path.name}: exit {done.returncode}: {done.stderr.strip()[:400]}")
    return json.loads(done.stdout)


def work(task):
    """One chunk of cranks: scores by (world, grade), and the same for the chance as measured."""
    program, world, grades, seed, numbers, draws, keep = task
    scores = {}
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(keep) if keep else Path(folder)
        for number in numbers:
            crank = chance_cranks.make(chance_cranks.WORLDS[world], seed, number)
            for grade in grades:
                sheet = chance_measuring.measure(crank, grade, seed, number)
                if draws:
                    sheet["policy"] = dict(draws=draws)
                path = folder / f"{world.replace(' ', '-')}-{number}-{grade}.json"
                chance_measuring.write(crank, sheet, path)
                mine = scores.setdefault((world, grade, "chance"), chance_score.Score())
                try:
                    answer = ask(program, path)
                except (RuntimeError, subprocess.TimeoutExpired, json.JSONDecodeError) as fault:
                    mine.failed.append(str(fault))
                    continue
                mine.take(answer, chance_measuring.truth(crank))
                if any("chance_as_measured" in row for s in answer["sets"].values() for row in s["undersizes"]):
                    other = scores.setdefault((world, grade, "as measured"), chance_score.Score())
                    other.take(answer, chance_measuring.truth(crank), "chance_as_measured")
    return scores


def run(program, worlds, grades, seed, cranks, first=0, draws=None, keep=None, workers=2):
    if keep:
        os.makedirs(keep, exist_ok=True)
    tasks = [
        (program, world, grades, seed, range(n, min(n + CHUNK, first + cranks)), draws, keep)
        for world in worlds
        for n in range(first, first + cranks, CHUNK)
    ]
    total = {}
    with multiprocessing.Pool(workers) as pool:
        for scores in pool.imap_unordered(work, tasks):
            for key, one in scores.items():
                total.setdefault(key, chance_score.Score()).add(one)
    return total


def say(total):
    print(f"{'world':<26}{'grade':<6}{'':<13}{'cases':>6} {'Brier':>6} {'open':>6}  {'choices':>7} {'shallow':>8}"
          f" {'loss':>6} {'deeper':>7} {'given up':>9}  {'90 and more came true':>22}")
    for (world, grade, what), one in sorted(total.items(), key=lambda kv: (kv[0][2], list(chance_cranks.WORLDS).index(kv[0][0]))):
        share, n = one.came_true()
        print(f"{world:<26}{grade:<6}{what:<13}{len(one.cases):>6} {one.brier():>6.4f} {one.brier(True):>6.4f}  "
              f"{len(one.choices):>7} {100 * one.too_shallow():>6.1f} % {one.loss():>6.2f} {100 * one.deeper():>5.1f} %"
              f" {one.given_up:>4}/{one.given_up + one.given_up_rightly:<4} {100 * share:>8.1f} % of {n}")
    for (world, grade, what), one in sorted(total.items()):
        if what == "chance":
            print(f"\n{world}, {grade}: {one.actions}")
            for low, high, n, said, true in one.calibration():
                print(f"   {100 * low:5.0f} to {min(100 * high, 100):4.0f}: said {100 * said:5.1f}, came true {100 * true:5.1f}, cases {n}")
    for key, one in total.items():
        for fault in one.failed[:5]:
            print("FAILED", key, fault)


def main():
    ask_for = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    ask_for.add_argument("program")
    ask_for.add_argument("--cranks", type=int, default=300)
    ask_for.add_argument("--first", type=int, default=0, help="number of the first crank")
    ask_for.add_argument("--seed", type=int, default=1)
    ask_for.add_argument("--worlds", default="plausible", help="names parted by commas, or all")
    ask_for.add_argument("--grades", default="full,half,few")
    ask_for.add_argument("--draws", type=int, help="draws of the program (its usual number where left out)")
    ask_for.add_argument("--workers", type=int, default=2)
    ask_for.add_argument("--keep", help="a folder for the sheets, each with its truth beside it")
    told = ask_for.parse_args()
    worlds = list(chance_cranks.WORLDS) if told.worlds == "all" else told.worlds.split(",")
    began = time.monotonic()
    total = run(told.program, worlds, told.grades.split(","), told.seed, told.cranks, told.first, told.draws, told.keep,
                told.workers)
    say(total)
    failed = sum(len(one.failed) for one in total.values())
    print(f"\n{told.cranks} cranks a world, {time.monotonic() - began:.0f} s, {failed} sheets without an answer")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
