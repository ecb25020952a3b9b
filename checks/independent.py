"""The clean-up question worked a second time, by other means.

Written from the mathematics of the clean-up question alone, without the Rust code: NumPy for the arithmetic, SciPy's
HiGHS for the linear programmes. `compare.py` holds the program's answers against it.

Lengths are in the sheet's own unit throughout; the programmes are solved in thousandths of it, so that HiGHS's
tolerances of 1e-10 stand for 1e-13 of the unit. Angles in the frame count from the first throw.
"""

import csv
import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

# A reading's plane on a pin counts from its own throw; traces and damage arcs count from the first throw. The second
# half is settled by the sheets with certified optimum: counted from the own throw, two of the four miss by 0.1 mm.
PLANE_FROM_OWN_THROW = True

SCALE = 1000.0  # programmes are solved in thousandths of the sheet's unit
STATION_SHARE = 0.35  # front and rear stand this share of a journal's length from its middle
SAME_PLACE_MM = 1e-6
MAIN, PIN = 0, 1
SETS = ("main", "pin")


@dataclass
class Size:
    """One size as an instrument gave it, corrected for the instrument's zero."""

    value: float
    own_sd: float
    instrument: int


@dataclass
class Point:
    """One surface point: which journal, where, and what its radius is made of."""

    set: int
    number: int
    at: float
    z: float
    t: float
    size: int
    by_share: bool = False  # the radius follows from the share f of the loss
    extra: float = 0.0  # run-out and departure, on the radius
    departure_sd: float = 0.0
    damages: list = field(default_factory=list)


def at_of(value, length):
    words = {"front": -STATION_SHARE * length, "middle": 0.0, "rear": STATION_SHARE * length}
    return words[value] if isinstance(value, str) and value in words else float(value)


def in_arc(direction, start, end):
    return (direction - start) % 360.0 <= (end - start) % 360.0


class Sheet:
    """A sheet, read for the checks: no message for the user, any fault is an exception."""

    def __init__(self, path):
        path = Path(path)
        raw = tomllib.loads(path.read_text())
        spec = raw["specification"]
        if isinstance(spec, str):
            spec = tomllib.loads((path.parent / spec).read_text())
        if spec["units"] != raw["units"]:
            raise ValueError("the checks want sheet and specification in one unit")
        self.spec, self.unit = spec, raw["units"]
        self.inch = self.unit == "in"
        self.same_place = SAME_PLACE_MM / (25.4 if self.inch else 1.0)
        policy = raw.get("policy", {})
        usual = (0.0005, 0.0003, 0.0002) if self.inch else (0.0125, 0.0075, 0.005)
        self.stock = policy.get("clean_up_stock", usual[0])
        self.set_up = policy.get("set_up_error", usual[1])
        self.polish = policy.get("polish_stock", usual[2])
        self.axis = policy.get("axis", "held")
        self.free = self.axis != "held"  # whether anything may move
        tolerance = spec.get("throw_tolerance", 0.0)
        self.throw_limits = tolerance if isinstance(tolerance, list) else [-tolerance, tolerance]
        self.turn = policy.get("index_datum", "fixed") == "free"
        self.draws = policy.get("draws", 20000)
        self.growth = spec.get("treatment", {}).get("growth", {}).get("mean", 0.0)
        self.pos = [np.array(spec[s]["positions"], float) for s in SETS]
        self.throws = np.radians(np.array(spec["pin"]["angles"], float))
        self.band = [spec[s]["size"] for s in SETS]
        self.middle = [(lo + hi) / 2 for lo, hi in self.band]
        self.ladder = [[0.0] + list(spec[s]["undersizes"]) for s in SETS]
        self._read_instruments(raw)
        self._read_points(raw, path)
        self.ground_to = [self._ground_to(s) for s in (MAIN, PIN)]

    def _read_instruments(self, raw):
        default = (0.0001, 0.0, 0.0001, 0.00005) if self.inch else (0.002, 0.0, 0.004, 0.001)
        self.instruments = [default]  # graduation, zero, error limit, repeatability
        self.by_name = {None: 0}
        for one in raw.get("instrument", []):
            self.by_name[one["name"]] = len(self.instruments)
            self.instruments.append(
                (one["graduation"], one.get("zero", 0.0), one["error_limit"], one["repeatability"])
            )

    def _size(self, values, name):
        values = values if isinstance(values, list) else [values]
        which = self.by_name[name]
        graduation, zero, _, repeatability = self.instruments[which]
        own = math.sqrt(repeatability**2 / len(values) + graduation**2 / 12)
        self.sizes.append(Size(sum(values) / len(values) - zero, own, which))
        return len(self.sizes) - 1

    def _journal(self, text):
        word, number = text.split()
        return SETS.index(word), int(number) - 1

    def _read_points(self, raw, path):
        self.sizes, self.points, self.readings, self.traced = [], [], [], set()
        self.damages, self.share, self.centre = [], {}, {}
        for one in raw.get("damage", []):
            depth = one["depth"]
            low, mode, high = depth if isinstance(depth, list) else (depth,) * 3
            self.damages.append((low, mode, high))
        for one in raw.get("worn", []):
            self.share[self._journal(one["journal"])] = {"even": 0.5, "one-sided": 1.0}.get(
                one["share"], one["share"]
            )
        for one in raw.get("centre", []):
            self.centre[self._journal(one["journal"])[1]] = (one.get("throw", 0.0), one.get("index", 0.0))
        run_outs = {self._journal(r["journal"]): (r["total"], r["high"]) for r in raw.get("run_out", [])}
        readings = list(raw.get("reading", []))
        if "readings" in raw:
            with open(path.parent / raw["readings"], newline="") as file:
                for row in csv.DictReader(file):
                    at = row["at"] if row["at"] in ("front", "middle", "rear") else float(row["at"])
                    readings.append(
                        dict(journal=row["journal"], at=at, plane=float(row["plane"]), size=float(row["size"]))
                        | ({"with": row["with"]} if row.get("with") else {})
                    )

        def shift(journal, degrees):
            if journal not in run_outs:
                return 0.0
            total, high = run_outs[journal]
            return total / 2 * math.cos(math.radians(degrees - high))

        def add(journal, at, degrees, **parts):
            s, k = journal
            covering = [
                d
                for d, one in enumerate(raw.get("damage", []))
                if self._journal(one["journal"]) == journal
                and ("at" not in one or abs(at_of(one["at"], self.spec[SETS[s]]["length"]) - at) <= self.same_place)
                and ("from" not in one or in_arc(degrees, one["from"], one["to"]))
            ]
            self.points.append(
                Point(s, k, at, self.pos[s][k] + at, math.radians(degrees), damages=covering, **parts)
            )

        for one in readings:
            journal = self._journal(one["journal"])
            at = at_of(one["at"], self.spec[SETS[journal[0]]]["length"])
            size = self._size(one["size"], one.get("with"))
            self.readings.append((journal, at, one["plane"], size))
            plane = one["plane"]
            if journal[0] == PIN and PLANE_FROM_OWN_THROW:
                plane += math.degrees(self.throws[journal[1]])
            for degrees in (plane, plane + 180.0):
                add(
                    journal, at, degrees, size=size, by_share=journal not in run_outs, extra=shift(journal, degrees)
                )
        for one in raw.get("trace", []):
            journal = self._journal(one["journal"])
            self.traced.add(journal)
            at = at_of(one["at"], self.spec[SETS[journal[0]]]["length"])
            size = self._size(one["size"], one.get("with"))
            departures = one["departures"]
            angles = one.get("angles") or [
                one.get("start", 0.0) + 360.0 * i / len(departures) for i in range(len(departures))
            ]
            sd = self.instruments[self.by_name[one["with"]]][3] if "with" in one else (
                0.00005 if self.inch else 0.00127
            )
            for degrees, departure in zip(angles, departures, strict=True):
                add(
                    journal, at, degrees, size=size, extra=departure + shift(journal, degrees), departure_sd=sd
                )

    def _ground_to(self, s):
        used = {p.size for p in self.points if p.set == s}
        largest = max(used, key=lambda i: self.sizes[i].value)
        size = self.sizes[largest]
        u = math.hypot(size.own_sd, self.instruments[size.instrument][2] / math.sqrt(3))
        fits = [under for under in self.ladder[s] if self.band[s][1] - under >= size.value - 2 * u]
        return max(fits, default=0.0)

    def radius(self, s, under):
        """R, half the size that the wheel must leave."""
        return (self.middle[s] - under - self.growth + self.polish) / 2

    # What is known and what is drawn.

    def _stock(self, sizes, shares, depths, departures, centring):
        """r - d - (a cos t + b sin t) of every point; arrays of draws x things in, draws x points out."""
        out = np.empty((sizes.shape[0], len(self.points)))
        journals = sorted({(p.set, p.number) for p in self.points})
        for i, p in enumerate(self.points):
            d = sizes[:, p.size]
            if p.by_share:
                r_g2 = self.middle[p.set] - self.ground_to[p.set]
                loss = r_g2 - d
                r = np.where(loss > 0, r_g2 / 2 - shares[:, journals.index((p.set, p.number))] * loss, d / 2)
            else:
                r = d / 2 + p.extra
            if departures is not None and p.departure_sd:
                r = r + departures[:, i] * p.departure_sd
            if p.damages:
                r = r - depths[:, p.damages].max(axis=1)
            if centring is not None:
                wheel = 0 if p.set == MAIN else 1 + p.number
                r = r - centring[:, wheel, 0] * math.cos(p.t) - centring[:, wheel, 1] * math.sin(p.t)
            out[:, i] = r
        return out

    def as_it_stands(self):
        """r - d of every point: readings and likeliest damages as they stand, f at 0.75 where it is not known."""
        journals = sorted({(p.set, p.number) for p in self.points})
        sizes = np.array([[s.value for s in self.sizes]])
        shares = np.array([[self.share.get(j, 0.75) for j in journals]])
        depths = np.array([[mode for _, mode, _ in self.damages]]).reshape(1, -1)
        return self._stock(sizes, shares, depths, None, None)[0]

    def draw_sizes(self, source, n):
        errors = np.stack([source.uniform(-one[2], one[2], n) for one in self.instruments], axis=1)
        own = source.standard_normal((n, len(self.sizes)))
        values = np.array([s.value for s in self.sizes])
        sd = np.array([s.own_sd for s in self.sizes])
        return values + own * sd + errors[:, [s.instrument for s in self.sizes]]

    def draw_stock(self, source, n):
        """r - d - machine of every point in n draws."""
        journals = sorted({(p.set, p.number) for p in self.points})
        shares = source.uniform(0.5, 1.0, (n, len(journals)))
        for j, share in self.share.items():
            if j in journals:
                shares[:, journals.index(j)] = share
        depths = np.empty((n, len(self.damages)))
        for k, (low, mode, high) in enumerate(self.damages):
            depths[:, k] = source.triangular(low, mode, high, n) if high > low else mode
        centring = source.normal(0.0, self.set_up, (n, 1 + len(self.pos[PIN]), 2)) if self.set_up else None
        departures = source.standard_normal((n, len(self.points)))
        return self._stock(self.draw_sizes(source, n), shares, depths, departures, centring)

    # Condition.

    def conditions(self, source, n):
        """Per journal with readings and no trace: the figures of its condition, and its within chance."""
        found = {}
        drawn = self.draw_sizes(source, n)
        for s, name in enumerate(SETS):
            low, high = (limit - self.ground_to[s] for limit in self.band[s])
            for k in range(len(self.pos[s])):
                mine = [(at, plane, size) for j, at, plane, size in self.readings if j == (s, k)]
                if not mine or (s, k) in self.traced:
                    continue
                index = [size for _, _, size in mine]
                value = np.array([[self.sizes[i].value for i in index]])

                def spread(sizes, key):
                    worst = np.zeros(sizes.shape[0])
                    for place in {m[key] for m in mine}:
                        cols = [c for c, m in enumerate(mine) if m[key] == place]
                        worst = np.maximum(worst, np.ptp(sizes[:, cols], axis=1))
                    return worst

                sizes = drawn[:, index]
                keeps = (sizes.min(axis=1) >= low) & (sizes.max(axis=1) <= high)
                keeps &= spread(sizes, 0) <= self.spec[name]["out_of_round"]
                keeps &= spread(sizes, 1) <= self.spec[name]["taper"]
                one = [
                    math.hypot(self.sizes[i].own_sd, self.instruments[self.sizes[i].instrument][2] / math.sqrt(3))
                    for i in index
                ]
                found[f"{name} {k + 1}"] = dict(
                    mean=value.mean(),
                    smallest=value.min(),
                    largest=value.max(),
                    out_of_round=spread(value, 0)[0],
                    taper=spread(value, 1)[0],
                    ground_to=self.ground_to[s],
                    wear=max(0.0, (low + high) / 2 - value.min()),
                    within_chance=keeps.mean(),
                    largest_u=max(one),
                    smallest_u=self._mean_u(index),
                )
        return found

    def _mean_u(self, index):
        """Standard uncertainty of the mean of sizes: their own parts average away, an instrument's do not."""
        n = len(index)
        variance = sum((self.sizes[i].own_sd / n) ** 2 for i in index)
        for which, one in enumerate(self.instruments):
            share = sum(1 for i in index if self.sizes[i].instrument == which) / n
            variance += (share * one[2]) ** 2 / 3
        return math.sqrt(variance)


class Programme:
    """max s: clear_i >= s, throws and indexes within tolerance. Unknowns x0, y0, sx, sy, psi, (u, v) per pin, s."""

    def __init__(self, sheet):
        self.sheet = sheet
        pins = len(sheet.pos[PIN])
        self.n = 5 + 2 * pins + 1
        zc = (sheet.pos[MAIN][0] + sheet.pos[MAIN][-1]) / 2
        half = max(abs(sheet.pos[MAIN][-1] - sheet.pos[MAIN][0]) / 2, 1e-9)
        self.zc, self.half = zc, half  # sx and sy are solved for as the offset at the outer mains
        rows = []
        for p in sheet.points:
            row = np.zeros(self.n)
            c, s = math.cos(p.t), math.sin(p.t)
            if p.set == MAIN:
                row[0:4] = c, s, (p.z - zc) / half * c, (p.z - zc) / half * s
            else:
                row[2:4] = p.at / half * c, p.at / half * s
                row[5 + 2 * p.number : 7 + 2 * p.number] = c, s
            row[-1] = 1.0
            rows.append(row)
        self.limits = []
        throw = sheet.spec["throw"]
        across = throw * math.radians(sheet.spec["index_tolerance"])
        for k, a in enumerate(sheet.throws):
            error, index = sheet.centre.get(k, (0.0, 0.0))
            for direction, off, (least, most), turns in (
                ((math.cos(a), math.sin(a)), error, sheet.throw_limits, 0.0),
                ((-math.sin(a), math.cos(a)), throw * math.radians(index), (-across, across), 1.0),
            ):
                row = np.zeros(self.n)
                row[5 + 2 * k : 7 + 2 * k] = direction
                row[0:2] = [-v for v in direction]
                row[2:4] = [-v * (sheet.pos[PIN][k] - zc) / half for v in direction]
                row[4] = -turns  # psi is solved for as throw x psi
                rows += [row, -row]
                self.limits += [most - off, off - least]
        self.a = np.array(rows)
        self.limits = np.array(self.limits)
        self.of_main = np.array([p.set == MAIN for p in sheet.points])
        # What stays: the turn where something ties the throws, the whole main axis where only the throws may move.
        self.fixed = [0, 1, 2, 3, 4] if sheet.axis == "throws" else [] if sheet.turn else [4]
        self.bounds = [(0.0, 0.0) if i in self.fixed else (None, None) for i in range(self.n)]

    def right_side(self, stock, radius_main, radius_pin):
        radius = np.where(self.of_main, radius_main, radius_pin)
        return np.concatenate([stock - radius, self.limits]) * SCALE

    def solve(self, b):
        """(x, duals, gap): HiGHS's optimum, and how far its primal and dual values lie apart (scaled)."""
        aim = np.zeros(self.n)
        aim[-1] = -1.0
        options = dict(primal_feasibility_tolerance=1e-10, dual_feasibility_tolerance=1e-10)
        found = linprog(aim, A_ub=self.a, b_ub=b, bounds=self.bounds, method="highs", options=options)
        if found.status != 0:
            raise RuntimeError(f"HiGHS: {found.message}")
        duals = np.maximum(-found.ineqlin.marginals, 0.0)
        return found.x, duals, abs(found.x[-1] - duals @ b)


    def least_shift(self, stock, radius_main, radius_pin, spare):
        """m(s): the least largest shift of any end main or pin centre, in x or y, that leaves the spare; None where none does."""
        b = self.right_side(stock, radius_main, radius_pin)
        b[: len(self.of_main)] -= spare * SCALE
        rows = self.a.copy()
        rows[:, -1] = 0.0
        pins = len(self.sheet.pos[PIN])
        shifts = []
        for end in (self.sheet.pos[MAIN][0], self.sheet.pos[MAIN][-1]):
            lever = (end - self.zc) / self.half
            for offset, slope in ((0, 2), (1, 3)):
                row = np.zeros(self.n)
                row[offset], row[slope] = 1.0, lever
                shifts.append(row)
        for i in range(2 * pins):
            row = np.zeros(self.n)
            row[5 + i] = 1.0
            shifts.append(row)
        held = np.array([sign * row for row in shifts for sign in (1.0, -1.0)])
        held[:, -1] = -1.0
        aim = np.zeros(self.n)
        aim[-1] = 1.0
        options = dict(primal_feasibility_tolerance=1e-10, dual_feasibility_tolerance=1e-10)
        found = linprog(aim, A_ub=np.vstack([rows, held]), b_ub=np.concatenate([b, np.zeros(len(held))]),
                        bounds=self.bounds, method="highs", options=options)
        if found.status == 2:
            return None
        if found.status != 0:
            raise RuntimeError(f"HiGHS: {found.message}")
        return found.x[-1] / SCALE


OUT_OF_THE_WAY = 5.0  # taken off a set's radius (mm or in) so that the set cannot govern: "the other set left out"


def spares(sheet):
    """{(main, pin): spare}, {(set, undersize): spare of the set alone}, largest primal-dual gap."""
    stock = sheet.as_it_stands()
    of_main = np.array([p.set == MAIN for p in sheet.points])
    alone, pairs, worst = {}, {}, 0.0
    if not sheet.free:
        for s, mask in ((MAIN, of_main), (PIN, ~of_main)):
            for under in sheet.ladder[s]:
                alone[SETS[s], under] = stock[mask].min() - sheet.radius(s, under)
        for m in sheet.ladder[MAIN]:
            for p in sheet.ladder[PIN]:
                pairs[m, p] = min(alone["main", m], alone["pin", p])
        return pairs, alone, 0.0
    programme = Programme(sheet)
    for key, rm, rp in questions(sheet):
        x, _, gap = programme.solve(programme.right_side(stock, rm, rp))
        worst = max(worst, gap / SCALE)
        if key[0] == "pair":
            pairs[key[1:]] = x[-1] / SCALE
        else:
            alone[key] = x[-1] / SCALE
    return pairs, alone, worst


def questions(sheet):
    """Every pair of undersizes and every set alone, with the radii asked for."""
    for m in sheet.ladder[MAIN]:
        for p in sheet.ladder[PIN]:
            yield ("pair", m, p), sheet.radius(MAIN, m), sheet.radius(PIN, p)
    for m in sheet.ladder[MAIN]:
        yield ("main", m), sheet.radius(MAIN, m), sheet.radius(PIN, 0.0) - OUT_OF_THE_WAY
    for p in sheet.ladder[PIN]:
        yield ("pin", p), sheet.radius(MAIN, 0.0) - OUT_OF_THE_WAY, sheet.radius(PIN, p)


def chances_held(sheet, source, n):
    """{question: chance}, axis held, n draws."""
    of_main = np.array([p.set == MAIN for p in sheet.points])
    asked = list(questions(sheet))
    counts = np.zeros(len(asked))
    done = 0
    while done < n:
        batch = min(10000, n - done)
        stock = sheet.draw_stock(source, batch)
        least = stock[:, of_main].min(axis=1), stock[:, ~of_main].min(axis=1)
        for i, (_, rm, rp) in enumerate(asked):
            counts[i] += np.count_nonzero(np.minimum(least[0] - rm, least[1] - rp) >= sheet.stock)
        done += batch
    return {key: c / n for (key, _, _), c in zip(asked, counts)}, n


def chances_free(sheet, source, n, most_programmes):
    """{question: chance}, draws used, programmes solved.

    Solving every draw with HiGHS would take hours. What one solved programme teaches about the others is exact,
    though: only the right-hand side differs, so its duals bound the spare of every draw from above, and its tight rows,
    solved again for another draw, give a placement whose worst clearance bounds that draw's spare from below. A draw is
    counted when a bound lies on one side of the clean-up stock; HiGHS solves what is left. Whole blocks of draws are
    counted until the programmes allowed are spent, so the share stays unbiased.
    """
    programme = Programme(sheet)
    asked = list(questions(sheet))
    rm = np.array([q[1] for q in asked])
    rp = np.array([q[2] for q in asked])
    points = len(sheet.points)
    fixed = programme.fixed
    upper, lower = [], []  # duals; (rows, their solution matrix, x, b of the rows)
    counts, used, solved = np.zeros(len(asked)), 0, 0
    stock_wanted = sheet.stock * SCALE
    a = programme.a[:, :-1]
    block = 250

    def b_of(stock, pairs):
        radius = np.where(programme.of_main[None, :], rm[pairs][:, None], rp[pairs][:, None])
        head = (stock - radius) * SCALE
        return np.concatenate([head, np.broadcast_to(programme.limits * SCALE, (len(pairs), len(programme.limits)))], axis=1)

    def bound_below(plan, b):
        rows, solution, x, b_rows = plan
        as_found = (b[:, :points] - (a @ x[:-1])[None, :points]).min(axis=1)
        guess = x[None, :] + (b[:, rows] - b_rows[None, :]) @ solution.T
        room = b - guess[:, :-1] @ a.T
        moved = room[:, :points].min(axis=1)
        moved[room[:, points:].min(axis=1) < -1e-7] = -np.inf
        return np.maximum(as_found, moved)

    while used < n and solved < most_programmes:
        stock = sheet.draw_stock(source, block)
        d, q = (v.ravel() for v in np.meshgrid(np.arange(block), np.arange(len(asked)), indexing="ij"))
        passed = np.zeros(len(d), bool)
        open_ = np.arange(len(d))

        def settle(duals, plan):
            nonlocal open_
            if not len(open_):
                return
            keep = np.ones(len(open_), bool)
            for start in range(0, len(open_), 4000):
                part = open_[start : start + 4000]
                b = b_of(stock[d[part]], q[part])
                fails = b @ duals < stock_wanted
                passes = bound_below(plan, b) >= stock_wanted
                passed[part[passes]] = True
                keep[start : start + 4000] = ~(fails | passes)
            open_ = open_[keep]

        for duals, plan in zip(reversed(upper), reversed(lower)):
            settle(duals, plan)
        while len(open_):
            chosen = open_[source.integers(len(open_))]
            b = b_of(stock[d[[chosen]]], q[[chosen]])[0]
            x, duals, _ = programme.solve(b)
            solved += 1
            rows = np.flatnonzero(duals > 1e-9)
            matrix = programme.a[rows].copy()
            matrix[:, fixed] = 0.0
            plan = (rows, np.linalg.pinv(matrix), x, b[rows])
            upper.append(duals)
            lower.append(plan)
            passed[chosen] = x[-1] >= stock_wanted
            open_ = open_[open_ != chosen]
            settle(duals, plan)
        counts += passed.reshape(block, len(asked)).sum(axis=0)
        used += block
    return {key: c / used for (key, _, _), c in zip(asked, counts)}, used, solved


def clearance_at(sheet, axis, radius_main, radius_pin):
    """Least clearance at a published placement: to first order as the question is stated, and in true geometry.

    `axis` is x0, y0, sx, sy and the new centre (u, v) of each pin less its present one, as the program prints them.
    """
    zc = (sheet.pos[MAIN][0] + sheet.pos[MAIN][-1]) / 2
    centre = {int(one["journal"].split()[1]) - 1: (one["u"], one["v"]) for one in axis["pins"]}
    direction = np.array([axis["sx"], axis["sy"], 1.0])
    direction /= np.linalg.norm(direction)
    first = exact = np.inf
    for p, r in zip(sheet.points, sheet.as_it_stands(), strict=True):
        along = p.z - zc if p.set == MAIN else p.at
        x, y = (axis["x0"], axis["y0"]) if p.set == MAIN else centre[p.number]
        wanted = radius_main if p.set == MAIN else radius_pin
        c, s = math.cos(p.t), math.sin(p.t)
        moved = (x + axis["sx"] * along) * c + (y + axis["sy"] * along) * s
        first = min(first, r - moved - wanted)
        spot = np.array([r * c - x, r * s - y, along])
        exact = min(exact, np.linalg.norm(np.cross(spot, direction)) - wanted)
    return first, exact


def exact_spare(sheet, radius_main, radius_pin, rounds=9):
    """The best spare in true geometry: distances to a tilted line, throws and indexes as they are in space.

    The programme is set up again about the placement found, with every distance and its derivative exact, until the
    true spare no longer grows. Returns the true spare of the last placement that keeps its tolerances.
    """
    programme = Programme(sheet)
    stock = sheet.as_it_stands()
    pins, n = len(sheet.pos[PIN]), programme.n
    throw, half, zc = sheet.spec["throw"], programme.half, programme.zc
    centres = []
    for k, a in enumerate(sheet.throws):
        error, index = sheet.centre.get(k, (0.0, 0.0))
        r_vec, t_vec = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
        # the measured error is along e_r and e_t
        centres.append((throw + error) * r_vec + throw * math.radians(index) * t_vec)
    radius = np.where(programme.of_main, radius_main, radius_pin)
    damage = np.array([max((sheet.damages[d][1] for d in p.damages), default=0.0) for p in sheet.points])
    metal = stock + damage  # r: depth lies below it along the radius

    def line(x):
        direction = np.array([x[2] / half, x[3] / half, 1.0]) / SCALE
        direction[2] = 1.0
        return direction / np.linalg.norm(direction)

    def clear(x):
        direction = line(x)
        out = np.empty(len(sheet.points))
        for i, p in enumerate(sheet.points):
            spot = np.array([metal[i] * math.cos(p.t), metal[i] * math.sin(p.t), 0.0])
            if p.set == MAIN:
                foot = np.array([x[0], x[1], 0.0]) / SCALE
                spot[2], foot[2] = p.z, zc
            else:
                foot = np.array([x[5 + 2 * p.number], x[6 + 2 * p.number], 0.0]) / SCALE
                spot[2], foot[2] = p.at, 0.0
            out[i] = np.linalg.norm(np.cross(spot - foot, direction))
        return (out - damage - radius) * SCALE

    def kept(x):
        out = []
        for k, a in enumerate(sheet.throws):
            at = (sheet.pos[PIN][k] - zc) / half
            offset = centres[k] + (x[5 + 2 * k : 7 + 2 * k] - x[0:2] - x[2:4] * at) / SCALE
            length = np.hypot(*offset)
            angle = math.remainder(math.atan2(offset[1], offset[0]) - a, 2 * math.pi) - x[4] / SCALE / throw
            out += [(length - throw) * SCALE, throw * angle * SCALE]
        return np.array(out)

    across = throw * math.radians(sheet.spec["index_tolerance"])
    most = np.array([sheet.throw_limits[1], across] * pins) * SCALE
    least = np.array([sheet.throw_limits[0], -across] * pins) * SCALE

    def slopes(function, x):
        step = 1e-3
        base = []
        for i in range(n - 1):
            up, down = x.copy(), x.copy()
            up[i] += step
            down[i] -= step
            base.append((function(up) - function(down)) / (2 * step))
        return np.array(base).T

    x, _, _ = programme.solve(programme.right_side(stock, radius_main, radius_pin))
    x = x[:-1]
    first = clear(x).min() / SCALE
    best = -np.inf
    for turn in range(rounds):
        # Steps are held shorter each time: where the axis is not unique the programme would jump about for ever.
        step = 300.0 * 0.3**turn
        bounds = [(v - step, v + step) for v in x] + [(None, None)]
        for i in programme.fixed:
            bounds[i] = (0.0, 0.0)
        c, g = clear(x), kept(x)
        jc, jg = slopes(clear, x), slopes(kept, x)
        rows = np.vstack([np.column_stack([-jc, np.ones(len(c))]), np.column_stack([jg, np.zeros(len(g))]),
                          np.column_stack([-jg, np.zeros(len(g))])])
        right = np.concatenate([c - jc @ x, most - g + jg @ x, g - jg @ x - least])
        aim = np.zeros(n)
        aim[-1] = -1.0
        found = linprog(aim, A_ub=rows, b_ub=right, bounds=bounds, method="highs")
        if found.status != 0:
            break
        x = found.x[:-1]
        if np.all(kept(x) <= most + 1e-5) and np.all(kept(x) >= least - 1e-5):
            best = max(best, clear(x).min() / SCALE)
    return first, best
