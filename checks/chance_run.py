"""Sheets put to the program on several processes, a chunk of cranks at a time."""

import json
import multiprocessing
import tempfile
from pathlib import Path

import chance_assumed
import chance_cranks
import chance_measuring
import chance_next
import chance_score
import chance_unworn
from chance_program import NoAnswer, ask

CHUNK = 5


def _pool(work, tasks, workers):
    with multiprocessing.Pool(workers) as pool:
        yield from pool.imap_unordered(work, tasks)


def _chunks(first, count):
    return [range(n, min(n + CHUNK, first + count)) for n in range(first, first + count, CHUNK)]


def _worn(task):
    program, world, grades, seed, numbers, draws, stamps, keep, assumed = task
    scores = {}
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(keep) if keep else Path(folder)
        for number in numbers:
            crank = chance_cranks.make(chance_cranks.WORLDS[world], seed, number)
            truth = chance_measuring.truth(crank)
            for grade in grades:
                sheet = chance_measuring.measure(crank, grade, seed, number, stamps)
                if draws:
                    sheet["policy"] = dict(draws=draws)
                if assumed:
                    chance_assumed.put(sheet, assumed, crank.engine.scale)
                path = folder / f"{world.replace(' ', '-')}-{number}-{grade}.json"
                mine = scores.setdefault((assumed or world, grade, "chance"), chance_score.Score())
                if keep:
                    path.with_suffix(".truth.json").write_text(json.dumps(truth))
                try:
                    answer = ask(program, path, sheet)
                except NoAnswer as fault:
                    mine.failed.append(str(fault))
                    continue
                mine.take(number, answer, truth)
                if all("chance_as_measured" in row for s in answer["sets"].values() for row in s["undersizes"]):
                    other = scores.setdefault((assumed or world, grade, "as measured"), chance_score.Score())
                    other.take(number, answer, truth, "chance_as_measured")
    return scores


def worn(program, worlds, grades, seed, cranks, first=0, draws=None, stamps=False, keep=None, workers=2,
         assumed=None):
    """Scores by (world, grade, which chance); by the name of the assumption where another one is told."""
    if keep:
        Path(keep).mkdir(parents=True, exist_ok=True)
    tasks = [
        (program, world, grades, seed, numbers, draws, stamps, keep, assumed)
        for world in worlds
        for numbers in _chunks(first, cranks)
    ]
    total = {}
    for scores in _pool(_worn, tasks, workers):
        for key, one in scores.items():
            total.setdefault(key, chance_score.Score()).add(one)
    return total


def _unworn(task):
    program, seed, numbers, keep, draws = task
    records, failed = [], []
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(keep) if keep else Path(folder)
        for number in numbers:
            sheet, kind, zero = chance_unworn.draw(seed, number)
            if draws:
                sheet["policy"] = dict(draws=draws)
            try:
                answer = ask(program, folder / f"unworn-{number}.json", sheet)
            except NoAnswer as fault:
                failed.append(str(fault))
                continue
            for s, (grind, word) in chance_unworn.judge(answer).items():
                records.append(dict(kind=kind, zero=zero, set=s, grind=grind, word=word, mark=sheet["mark"],
                                    action=answer["sets"][s]["action"]))
    return records, failed


def unworn(program, seed, cranks, first=0, keep=None, workers=2, draws=None):
    """One record for each set, and the sheets that went without an answer."""
    if keep:
        Path(keep).mkdir(parents=True, exist_ok=True)
    tasks = [(program, seed, numbers, keep, draws) for numbers in _chunks(first, cranks)]
    records, failed = [], []
    for more, faults in _pool(_unworn, tasks, workers):
        records += more
        failed += faults
    return records, failed


def _next(task):
    program, grades, seed, numbers, draws = task
    records, failed = [], []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.json"

        def ask_of(sheet):
            return ask(program, path, sheet)

        for number in numbers:
            crank = chance_cranks.make(chance_cranks.WORLDS["plausible"], seed, number)
            for grade in grades:
                sheet = chance_measuring.measure(crank, grade, seed, number)
                if draws:
                    sheet["policy"] = dict(draws=draws)
                bench = chance_measuring.bench_of(crank, grade, seed, number)
                label = f"{sheet['mark']} {grade}"
                try:
                    records += chance_next.try_out(ask_of, sheet, ask_of(sheet), crank, bench, label)
                except NoAnswer as fault:
                    failed.append(f"{label}: {fault}")
    return records, failed


def measured_next(program, grades, seed, cranks, first=0, workers=2, draws=None):
    """What came of every piece of advice, and the sheets that went without an answer."""
    tasks = [(program, grades, seed, numbers, draws) for numbers in _chunks(first, cranks)]
    records, failed = [], []
    for more, faults in _pool(_next, tasks, workers):
        records += more
        failed += faults
    return records, failed
