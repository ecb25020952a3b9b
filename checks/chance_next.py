"""What the program foretells of the next measurement, held against the measurement.

"If pin 2 reads 1.8714 across its throw, 0.010 under has 87 in 100" is a statement. It is tried twice:

- as told: the figure that it names is written into the sheet, and the new chance is held against the foretold one
- in truth: the measurement is taken on the true crank; the outcome that it falls into is held against the new chance

A statement is kept where the two are within `NEAR`. Where no outcome that was told changes the choice, the advice was
idle.
"""

import copy

import numpy as np

from chance_cranks import FRONT, MIDDLE, REAR, STATIONS

NEAR = 0.10


def _station(journal, at, engine):
    words = {"front": FRONT, "middle": MIDDLE, "rear": REAR}
    if at in words:
        return words[at]
    length = engine.length[0 if journal.set == "main" else 1]
    return int(np.argmin([abs(share * length - float(at or 0.0)) for share in STATIONS]))


def with_size(sheet, advice, size):
    """The sheet with one more reading, at the spot that the program named."""
    new = copy.deepcopy(sheet)
    s = advice["journal"].split()[0]
    new.setdefault("reading", []).append(
        dict(journal=advice["journal"], at=advice["at"], plane=advice["plane"], size=size, **{"with": f"mic {s}"})
    )
    return new


def with_run_out(sheet, advice, total, high):
    new = copy.deepcopy(sheet)
    new["run_out"] = [one for one in new.get("run_out", []) if one["journal"] != advice["journal"]]
    new["run_out"].append(dict(journal=advice["journal"], total=max(total, 0.0), high=high % 360))
    return new


def with_share(sheet, advice, share):
    new = copy.deepcopy(sheet)
    new["worn"] = [one for one in new.get("worn", []) if one["journal"] != advice["journal"]]
    new["worn"].append(dict(journal=advice["journal"], share=min(max(share, 0.5), 1.0)))
    return new


def with_depth(sheet, advice, depth):
    new = copy.deepcopy(sheet)
    for one in new.get("damage", []):
        if one["journal"] == advice["journal"]:
            one["depth"] = depth
    return new


def as_told(sheet, advice, outcome):
    """The sheet with the figure that the outcome names; None where it names none that a sheet can carry."""
    value = outcome.get("value")
    if value is None and outcome.get("low") is not None and outcome.get("high") is not None:
        value = (outcome["low"] + outcome["high"]) / 2
    if value is None:
        return None
    kind = advice["kind"]
    if kind == "size":
        return with_size(sheet, advice, value)
    if kind == "run-out":
        return with_run_out(sheet, advice, value, outcome.get("high_at", advice.get("high_at", 0.0)))
    if kind == "side":
        return with_share(sheet, advice, value)
    if kind == "depth":
        return with_depth(sheet, advice, value)
    return None


def in_truth(sheet, advice, crank, bench):
    """The sheet with that measurement taken on the true crank, and its figure; None where it cannot be taken."""
    journal = next(j for j in crank.journals if j.name == advice["journal"])
    kind = advice["kind"]
    if kind == "size":
        size = bench.read(journal, _station(journal, advice["at"], crank.engine), advice["plane"])
        return with_size(sheet, advice, size), size
    if kind == "run-out":
        row = bench.run_out(journal, crank.world.dial)
        return with_run_out(sheet, advice, row["total"], row["high"]), row["total"]
    if kind == "side":
        share = float(np.clip(round(journal.share, 1), 0.5, 1.0))
        return with_share(sheet, advice, share), share
    if kind == "depth" and journal.scores:
        depth = round(max(true for _, true, *_ in journal.scores), 6)
        return with_depth(sheet, advice, depth), depth
    return None


def falls_into(outcomes, value):
    """The outcome whose range holds the value, or whose figure is nearest."""
    for one in outcomes:
        low, high = one.get("low"), one.get("high")
        if (low is not None or high is not None) and (low is None or value >= low) and (high is None or value <= high):
            return one
    told = [one for one in outcomes if one.get("value") is not None]
    return min(told, key=lambda one: abs(one["value"] - value)) if told else None


def chance_at(answer, s, undersize):
    rows = answer["sets"][s]["undersizes"]
    return min(rows, key=lambda row: abs(row["undersize"] - undersize))["chance"]


def try_out(ask_of, sheet, answer, crank, bench):
    """What came of each piece of advice in an answer: records for `say`."""
    records = []
    for s, told in answer["sets"].items():
        advice = told.get("measure_next")
        if not advice:
            records.append(dict(what="silent"))
            continue
        outcomes = advice.get("foretold") or []
        if not outcomes or "kind" not in advice:
            records.append(dict(what="no figures"))
            continue
        choices = set()
        for outcome in outcomes:
            new = as_told(sheet, advice, outcome)
            if new is None:
                records.append(dict(what="cannot be tried", kind=advice["kind"]))
                continue
            again = ask_of(new)
            choices.add((again["sets"][s]["action"], again["sets"][s].get("choice")))
            now = chance_at(again, s, outcome["undersize"])
            records.append(dict(what="as told", kind=advice["kind"], foretold=outcome["chance"], now=now,
                                mark=sheet["mark"], set=s))
        if choices:
            choices.add((told["action"], told.get("choice")))
            records.append(dict(what="advice", kind=advice["kind"], idle=len(choices) == 1))
        taken = in_truth(sheet, advice, crank, bench)
        if taken is not None:
            new, value = taken
            outcome = falls_into(outcomes, value)
            if outcome is not None:
                now = chance_at(ask_of(new), s, outcome["undersize"])
                records.append(dict(what="in truth", kind=advice["kind"], foretold=outcome["chance"], now=now,
                                    mark=sheet["mark"], set=s))
    return records


def say(records):
    for what in ("silent", "no figures", "cannot be tried"):
        print(f"{what:<18}{sum(1 for r in records if r['what'] == what):>6} sets")
    for what in ("as told", "in truth"):
        for kind in sorted({r["kind"] for r in records if r["what"] == what}):
            mine = [r for r in records if r["what"] == what and r["kind"] == kind]
            near = sum(1 for r in mine if abs(r["foretold"] - r["now"]) <= NEAR)
            print(f"{what:<12}{kind:<12}{len(mine):>5} statements, {100 * near / len(mine):5.1f} % within {NEAR:.2f}; "
                  f"foretold {sum(r['foretold'] for r in mine) / len(mine):.2f}, then "
                  f"{sum(r['now'] for r in mine) / len(mine):.2f} on average")
            for r in sorted(mine, key=lambda r: -abs(r["foretold"] - r["now"]))[:3]:
                if abs(r["foretold"] - r["now"]) > NEAR:
                    print(f"      worst: {r['mark']} {r['set']}: foretold {r['foretold']:.2f}, then {r['now']:.2f}")
    advice = [r for r in records if r["what"] == "advice"]
    if advice:
        idle = sum(1 for r in advice if r["idle"])
        print(f"advice {len(advice)}, of which {idle} change no choice whatever is found")


def share_near(records, what):
    mine = [r for r in records if r["what"] == what]
    return (sum(1 for r in mine if abs(r["foretold"] - r["now"]) <= NEAR) / len(mine) if mine else None), len(mine)
