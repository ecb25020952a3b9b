"""A true crank measured as a shop would, and the sheet of it.

Diameters across two points with the micrometer's error (its scale's, shared; each reading's own; its graduation),
run-outs with the dial's. Grades say how much was measured:

- full: three stations, two planes or four, every journal; run-outs on most cranks
- half: one or two stations, mostly two planes; a journal in seven left out; a run-out on some
- few: one to three readings on a journal, a third of them left out, on some cranks no pin read along its throw
"""

import math

import numpy as np

from chance_cranks import DEGREES, FRONT, MIDDLE, REAR, SETS

GRADES = ("full", "half", "few")
WORDS = {FRONT: "front", MIDDLE: "middle", REAR: "rear"}


class Bench:
    """The instruments of one shop, with what is wrong with them."""

    def __init__(self, engine, source):
        self.engine, self.source = engine, source
        self.instruments = {}
        for s in SETS:
            low, high = engine.limits(s)
            graduation = engine.graduation * source.choice((1.0, 1.0, 1.0, 0.5)) * (
                5.0 if source.random() < 0.06 else 1.0
            )
            limit = max(engine.graduation * source.choice((1.0, 1.0, 2.0)), graduation)
            step = 25.0 if engine.units == "mm" else 1.0
            base = step * math.floor((low - engine.ladder[-1] - 0.02 * engine.scale) / step)
            self.instruments[s] = dict(
                name=f"mic {s}",
                kind="outside micrometer",
                range=[base, base + 2 * step],
                graduation=graduation,
                zero=round(source.choice((-1, 0, 0, 0, 1)) * graduation, 6),
                error_limit=limit,
                repeatability=0.5 * graduation * source.choice((1.0, 1.0, 2.0)),
            )
        self.scale_error = {s: source.uniform(-1.0, 1.0) * one["error_limit"] for s, one in self.instruments.items()}

    def read(self, journal, station, plane):
        one = self.instruments[journal.set]
        shown = journal.diameter(station, plane) + one["zero"] + self.scale_error[journal.set]
        shown += self.source.normal(0.0, one["repeatability"])
        return round(round(shown / one["graduation"]) * one["graduation"], 6)

    def sweep(self, journal, station):
        """An indicator once round, every 15 degrees, with the mean diameter by the micrometer."""
        from_throw = np.arange(0, 360, 15)
        # Sheets count a trace's angles from pin 1's throw.
        throw = self.engine.angles[int(journal.name.split()[1]) - 1] if journal.set == "pin" else 0.0
        row = np.asarray([journal.radius[station][int(deg) % 360] for deg in from_throw])
        finest = 0.0001 * self.engine.scale
        departures = [round(round(d / finest) * finest, 6) for d in row - row.mean()]
        one = self.instruments[journal.set]
        shown = 2 * row.mean() + one["zero"] + self.scale_error[journal.set]
        size = round(round(shown / one["graduation"]) * one["graduation"], 6)
        return dict(size=size, angles=[float((deg + throw) % 360) for deg in from_throw], departures=departures)

    def reading(self, journal, station, plane, repeats=1):
        sizes = [self.read(journal, station, plane) for _ in range(repeats)]
        return dict(
            journal=journal.name,
            at=WORDS[station],
            plane=float(plane),
            size=sizes[0] if repeats == 1 else sizes,
            **{"with": f"mic {journal.set}"},
        )

    def run_out(self, journal, dial):
        """What a dial at the middle of a main shows in one turn."""
        engine, source, t = self.engine, self.source, np.radians(DEGREES)
        row = journal.radius[MIDDLE]
        if dial:
            total, high = row.max() - row.min(), float(row.argmax())
        else:
            x, y = 2 * (row * np.cos(t)).mean(), 2 * (row * np.sin(t)).mean()
            total, high = 2 * math.hypot(x, y), math.degrees(math.atan2(y, x))
        mark = 0.0001 * engine.scale
        total = abs(total + source.normal(0.0, mark))
        high = 5 * round((high + source.normal(0.0, 8.0)) / 5) % 360
        graduation = 0.01 if engine.units == "mm" else 0.0005
        finest = graduation / 5  # read between the lines
        return dict(journal=journal.name, total=round(round(total / finest) * finest, 6), high=float(high))


def _planes(source, grade, s, across):
    if grade == "full":
        return (0, 45, 90, 135) if source.random() < 0.3 else (0, 90)
    if grade == "half":
        return (0, 90) if source.random() < 0.75 else ((90,) if across else (source.choice((0, 90)),))
    if s == "pin" and across:
        return (90,)
    return (0, 90) if source.random() < 0.35 else (source.choice((0, 90)),)


def _stations(source, grade):
    if grade == "full":
        return (FRONT, MIDDLE, REAR)
    if grade == "half":
        return ((FRONT, REAR), (FRONT, REAR), (MIDDLE,))[source.integers(3)]
    return ((MIDDLE,), (MIDDLE,), (FRONT,), (FRONT, REAR))[source.integers(4)]


def measure(crank, grade, seed, number, stamps=False):
    """The sheet of a crank measured to a grade. Nothing of the truth goes into it but through an instrument."""
    source = np.random.default_rng([seed, number, 7, GRADES.index(grade)])
    engine = crank.engine
    bench = Bench(engine, np.random.default_rng([seed, number, 8]))
    sheet = dict(sheet=1, mark=f"S-{number}", units=engine.units, specification=engine.specification())
    sheet["instrument"] = list(bench.instruments.values())
    sheet["reading"], sheet["run_out"], sheet["damage"], sheet["worn"] = [], [], [], []
    across = source.random() < 0.35  # this hand lays the micrometer across the throw only
    left_out = dict(full=0.0, half=0.14, few=0.33)[grade]
    for s in SETS:
        journals = crank.of_set(s)
        taken = [j for j in journals if source.random() >= left_out] or [journals[source.integers(len(journals))]]
        for journal in taken:
            planes = _planes(source, grade, s, across)
            repeats = 2 if source.random() < 0.15 else 1
            spots = [(at, plane) for at in _stations(source, grade) for plane in planes]
            if grade == "few":
                source.shuffle(spots)
                spots = spots[:3]
            sheet["reading"] += [bench.reading(journal, at, plane, repeats) for at, plane in spots]
    _dial(crank, grade, source, bench, sheet)
    for journal in crank.journals:
        for station, _, low, likely, high in journal.scores:
            row = dict(journal=journal.name, kind="scoring", depth=[round(d, 6) for d in (low, likely, high)])
            sheet["damage"].append(row if station is None else row | {"at": WORDS[station]})
        if journal.set == "pin" and source.random() < 0.06:
            sheet["worn"].append(dict(journal=journal.name, share=float(np.clip(round(journal.share, 1), 0.5, 1.0))))
    if stamps:
        _stamps(crank, source, sheet)
    return {key: value for key, value in sheet.items() if value != []}


def _dial(crank, grade, source, bench, sheet):
    inner = crank.of_set("main")[1:-1]
    if not inner:
        return
    all_of_them, one_of_them = dict(full=(0.55, 0.25), half=(0.15, 0.25), few=(0.0, 0.1))[grade]
    luck = source.random()
    if luck < all_of_them:
        chosen = inner
    elif luck < all_of_them + one_of_them:
        chosen = [inner[len(inner) // 2]]
    else:
        chosen = []
    sheet["run_out"] = [bench.run_out(journal, crank.world.dial) for journal in chosen]


def _stamps(crank, source, sheet):
    for s in SETS:
        if crank.step[s] > 0 and source.random() < 0.3:
            sheet.setdefault("stamped", []).append(dict(set=s, undersize=crank.step[s]))


def truth(crank):
    """What is known of the crank, for a file beside the sheet."""
    return dict(
        engine=crank.engine.name,
        world=crank.world.name,
        ladder=list(crank.engine.rungs()),
        step=crank.step,
        cleans_up=crank.cleans_up,
        room=crank.room,
        wrecked=[j.name for j in crank.journals if j.wrecked],
        odd=[j.name for j in crank.journals if j.step != crank.step[j.set]],
    )


def bench_of(crank, grade, seed, number):
    """The same shop's instruments with the same errors, for a measurement that is taken later."""
    bench = Bench(crank.engine, np.random.default_rng([seed, number, 8]))
    bench.source = np.random.default_rng([seed, number, 9, GRADES.index(grade)])
    return bench
