"""What the program foretells of the next measurement, held against the measurement.

"If pin 2 reads 1.8714 across its throw, 0.010 under has 87 in 100 and the pins go to 0.010 under" is a statement. That
result is entered as somebody at the bench would enter it, and the program asked again: the new chance at that undersize
is held against the foretold one (kept where the two are within `NEAR`), the new choice against the foretold choice.

The same measurement is then taken on the true crank: how often it changes the choice tells what the advice is worth.
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


def with_two_sizes(sheet, advice, sizes):
    """Two more readings: in the plane that the program named, and square to it."""
    square = dict(advice, plane=advice["plane"] + 90)
    return with_size(with_size(sheet, advice, sizes[0]), square, sizes[1])


def with_trace(sheet, advice, trace):
    new = copy.deepcopy(sheet)
    s = advice["journal"].split()[0]
    new.setdefault("trace", []).append(
        dict(journal=advice["journal"], at=advice["at"], size=trace["size"], angles=trace["angles"],
             departures=trace["departures"], **{"with": f"mic {s}"})
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


def with_instrument(sheet, advice, reads_high):
    """The instrument checked at the size of the journals: what it reads high is its zero, no error is left."""
    new = copy.deepcopy(sheet)
    for one in new["instrument"]:
        if f'"{one["name"]}"' in advice["measure"]:
            one["zero"] = one.get("zero", 0.0) + reads_high
            one["error_limit"] = 0.0
    return new


def as_told(sheet, advice, outcome):
    """The sheet with the result that the outcome names."""
    kind = advice["kind"]
    if kind == "size":
        return with_size(sheet, advice, outcome["shows"])
    if kind == "two sizes":
        return with_two_sizes(sheet, advice, [outcome["shows"], outcome["shows_square"]])
    if kind == "sweep":
        return with_trace(sheet, advice, outcome["trace"])
    if kind == "run-out":
        return with_run_out(sheet, advice, outcome["shows"], outcome["high"])
    if kind == "side":
        return with_share(sheet, advice, outcome["share"])
    if kind == "depth":
        return with_depth(sheet, advice, outcome["shows"])
    if kind == "instrument":
        return with_instrument(sheet, advice, outcome["shows"])
    raise ValueError(f"no such kind of measurement: {kind}")


def in_truth(sheet, advice, crank, bench):
    """The sheet with that measurement taken on the true crank."""
    kind = advice["kind"]
    if kind == "instrument":
        s = next(s for s in bench.instruments if f'"mic {s}"' in advice["measure"])
        return with_instrument(sheet, advice, bench.scale_error[s])
    journal = next(j for j in crank.journals if j.name == advice["journal"])
    if kind == "size":
        return with_size(sheet, advice, bench.read(journal, _station(journal, advice["at"], crank.engine),
                                                   advice["plane"]))
    if kind == "two sizes":
        station = _station(journal, advice["at"], crank.engine)
        return with_two_sizes(sheet, advice, [bench.read(journal, station, advice["plane"] + more) for more in (0, 90)])
    if kind == "sweep":
        return with_trace(sheet, advice, bench.sweep(journal, _station(journal, advice["at"], crank.engine)))
    if kind == "run-out":
        row = bench.run_out(journal, crank.world.dial)
        return with_run_out(sheet, advice, row["total"], row["high"])
    if kind == "side":
        return with_share(sheet, advice, float(np.clip(round(journal.share, 1), 0.5, 1.0)))
    return with_depth(sheet, advice, round(max(true for _, true, *_ in journal.scores), 6))


def chance_at(answer, s, undersize):
    rows = answer["sets"][s]["undersizes"]
    return min(rows, key=lambda row: abs(row["undersize"] - undersize))["chance"]


def try_out(ask_of, sheet, answer, crank, bench, label):
    """What came of each piece of advice in an answer: records for `say`."""
    records = []
    for s, told in answer["sets"].items():
        advice = told.get("measure_next")
        if not advice:
            records.append(dict(what="silent"))
            continue
        if not advice.get("foretold"):
            records.append(dict(what="no figures", kind=advice.get("kind", "no kind")))
            continue
        choices = set()
        for outcome in advice["foretold"]:
            again = ask_of(as_told(sheet, advice, outcome))
            choice = again["sets"][s]["choice"]
            choices.add(choice)
            records.append(dict(what="as told", kind=advice["kind"], foretold=outcome["chance"],
                                now=chance_at(again, s, outcome["undersize"]), choice_foretold=outcome["choice"],
                                choice=choice, label=label, set=s))
        records.append(dict(what="advice", kind=advice["kind"], idle=choices == {told["choice"]}))
        now = ask_of(in_truth(sheet, advice, crank, bench))["sets"][s]["choice"]
        records.append(dict(what="in truth", kind=advice["kind"], changed=now != told["choice"]))
    return records


def near(record):
    return abs(record["foretold"] - record["now"]) <= NEAR


def as_chosen(record):
    return record["choice_foretold"] == record["choice"]


def say(records):
    print(f"advice: {sum(1 for r in records if r['what'] == 'silent')} sets without any")
    for kind in sorted({r["kind"] for r in records if r["what"] == "no figures"}):
        count = sum(1 for r in records if r["what"] == "no figures" and r["kind"] == kind)
        print(f"no figures  {kind:<12}{count:>5} sets")
    told = [r for r in records if r["what"] == "as told"]
    for kind in sorted({r["kind"] for r in told}):
        mine = [r for r in told if r["kind"] == kind]
        print(f"as told     {kind:<12}{len(mine):>5} statements, "
              f"{100 * sum(map(near, mine)) / len(mine):5.1f} % within {NEAR:.2f}, "
              f"{100 * sum(map(as_chosen, mine)) / len(mine):5.1f} % chosen as foretold; "
              f"foretold {sum(r['foretold'] for r in mine) / len(mine):.2f}, then "
              f"{sum(r['now'] for r in mine) / len(mine):.2f} on average")
        for r in sorted(mine, key=lambda r: -abs(r["foretold"] - r["now"])):
            if not near(r) or not as_chosen(r):
                print(f"      {r['label']} {r['set']}: foretold {r['foretold']:.3f} and {r['choice_foretold']}, "
                      f"then {r['now']:.3f} and {r['choice']}")
    for kind in sorted({r["kind"] for r in records if r["what"] == "in truth"}):
        mine = [r for r in records if r["what"] == "in truth" and r["kind"] == kind]
        print(f"in truth    {kind:<12}{len(mine):>5} measurements, {sum(r['changed'] for r in mine)} change the choice")
    advice = [r for r in records if r["what"] == "advice"]
    idle = sum(r["idle"] for r in advice)
    print(f"advice with figures {len(advice)}, of which {idle} change no choice whatever is found")


def shares_kept(records):
    """Of the statements: the share within `NEAR`, the share chosen as foretold, how many."""
    mine = [r for r in records if r["what"] == "as told"]
    n = len(mine)
    return (sum(map(near, mine)) / n, sum(map(as_chosen, mine)) / n, n) if n else (None, None, 0)
