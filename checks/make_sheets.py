#!/usr/bin/env python3
"""Make the varied sheets that compare.py puts to the program and to the independent working.

    python3 checks/make_sheets.py checks/sheets

Invented cranks with invented wear. The damage is set so that each set stands near its clean-up stock at one undersize:
there the chances lie between nought and one, and a wrong draw shows. Seeds are fixed: the files come out the same
every time. Change this script, not the files.
"""

import math
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import independent

INCH = dict(units="in", step=0.010, digits=4, band=0.0005, main=2.125, pin=1.875, throw=1.5, pitch=1.6, length=1.0,
            wear=0.0012, noise=0.00005, oor=0.0005, tolerances=(0.002, 0.25), grad=0.0001, error=0.0001, rep=0.00005)
METRIC = dict(units="mm", step=0.25, digits=3, band=0.02, main=70.0, pin=60.0, throw=45.0, pitch=45.0, length=30.0,
              wear=0.030, noise=0.001, oor=0.015, tolerances=(0.05, 0.2), grad=0.002, error=0.004, rep=0.001)
SINGLE, FOUR, SIX = [0], [0, 180, 180, 0], [0, 120, 240, 240, 120, 0]
VEE_EIGHT = [0, 90, 270, 180]  # a cross-plane eight: four throws, two rods on each
SPLIT_EIGHT = [0, 30, 90, 120, 270, 300, 180, 210]  # eight throws of split pins
SPLIT_SIX = [0, 300, 240, 180, 120, 60]

# name: base, angles, axis, and what was measured. mains and pins: "diameters", "run-outs" or "traces".
CASES = {
    "01-held-four-diameters": dict(base=INCH, angles=FOUR, mains="diameters", pins="diameters", zeros=True, growth=0.0005,
                                   repeats=True),
    "02-held-six-run-outs": dict(base=METRIC, angles=SIX, mains="run-outs", pins="diameters", zeros=True),
    "03-held-single-worn": dict(base=INCH, angles=SINGLE, mains="diameters", pins="diameters", worn=True),
    "04-held-four-traces": dict(base=METRIC, angles=FOUR, mains="traces", pins="traces", local=True, run_outs=True),
    "05-free-four-traces": dict(base=INCH, angles=FOUR, axis="free", mains="traces", pins="traces", run_outs=True,
                                centres=True, growth=0.0004),
    "06-free-six-index-free": dict(base=METRIC, angles=SIX, axis="free", datum="free", mains="traces", pins="traces",
                                   centres=True, local=True),
    "07-free-vee-eight": dict(base=INCH, angles=VEE_EIGHT, axis="free", mains="run-outs", pins="traces", zeros=True,
                              local=True),
    "08-free-split-six": dict(base=METRIC, angles=SPLIT_SIX, axis="free", datum="free", mains="run-outs", pins="traces",
                              growth=0.012, centres=True),
    "09-free-six-pin-diameters": dict(base=INCH, angles=SIX, axis="free", mains="traces", pins="diameters", worn=True),
    "10-held-ground-before": dict(base=METRIC, angles=FOUR, mains="diameters", pins="diameters", before=(1, 2), zeros=True,
                                  repeats=True, growth=0.01),
    "11-free-single-ground-before": dict(base=METRIC, angles=SINGLE, axis="free", mains="traces", pins="traces",
                                         before=(1, 1), centres=True, run_outs=True),
    "12-held-split-eight-coarse": dict(base=INCH, angles=SPLIT_EIGHT, mains="diameters", pins="diameters", coarse=True,
                                       repeats=True),
    "13-free-four-diameters": dict(base=METRIC, angles=FOUR, axis="free", mains="diameters", pins="diameters",
                                   unnamed=True),
    "14-held-six-mixed": dict(base=INCH, angles=SIX, mains="run-outs", pins="traces", local=True, before=(2, 1),
                              policy=dict(set_up_error=0.0006, clean_up_stock=0.0010, polish_stock=0.0)),
    "15-throws-four-traces": dict(base=INCH, angles=FOUR, axis="throws", mains="traces", pins="traces", centres=True,
                                  growth=0.0004, run_outs=True),
    "16-throws-shorter-six": dict(base=METRIC, angles=SIX, axis="throws", mains="run-outs", pins="traces",
                                  throw_tolerance="[-0.06, 0.0]", local=True),
    "17-free-shorter-split-six": dict(base=METRIC, angles=SPLIT_SIX, axis="free", mains="traces", pins="traces",
                                      throw_tolerance="[-0.04, 0.01]", run_outs=True),
}


class Maker:
    def __init__(self, name, case):
        self.name, self.case, self.base = name, case, case["base"]
        self.random = random.Random(name)
        self.pins = len(case["angles"])
        self.mains = self.pins + 1
        self.lines = []

    def figure(self, value, extra=0):
        return f"{round(value, self.base['digits'] + extra) + 0.0:.{self.base['digits'] + extra}f}"

    def specification(self):
        b, case = self.base, self.case
        throw_tolerance, index_tolerance = b["tolerances"]
        throw_tolerance = case.get("throw_tolerance", throw_tolerance)
        steps = ", ".join(f"{b['step'] * n:.3f}" for n in (1, 2, 3, 4))
        out = [
            "[specification]\nspecification = 1",
            f'name = "{self.name}"\nunits = "{b["units"]}"\nthrow = {b["throw"]}',
            f"throw_tolerance = {throw_tolerance}\nindex_tolerance = {index_tolerance}",
        ]
        for s in ("main", "pin"):
            count = self.mains if s == "main" else self.pins
            first = 0.0 if s == "main" else b["pitch"]
            places = ", ".join(f"{first + 2 * b['pitch'] * n:.2f}" for n in range(count))
            out.append(f"[specification.{s}]\ncount = {count}")
            if s == "pin":
                out.append(f"angles = {case['angles']}")
            out.append(
                f"positions = [{places}]\nlength = {b['length']}\n"
                f"size = [{self.figure(b[s] - b['band'])}, {self.figure(b[s])}]\nundersizes = [{steps}]\n"
                f"out_of_round = {b['oor']}\ntaper = {b['oor']}"
            )
        growth = case.get("growth")
        if growth:
            out.append(
                f'[specification.treatment]\nkind = "nitriding"\ngrowth = {{ mean = {growth}, sd = {growth / 5:.5f} }}'
            )
        else:
            out.append('[specification.treatment]\nkind = "none"')
        return "\n".join(out)

    def instruments(self):
        b, case = self.base, self.case
        if case.get("unnamed"):
            return ""
        out = []
        for s, zero in (("main", 1.0), ("pin", -1.5)):
            grad = b["grad"] * (10 if case.get("coarse") else 1)
            rep = b["rep"] * (4 if case.get("coarse") else 1)
            low = 25 * math.floor(b[s] / 25) if b["units"] == "mm" else math.floor(b[s])
            high = low + (25 if b["units"] == "mm" else 1)
            self.zero[s] = zero * b["grad"] if case.get("zeros") else 0.0
            out.append(
                f'[[instrument]]\nname = "mic {s}"\nkind = "outside micrometer"\nrange = [{low}, {high}]\n'
                f"graduation = {grad:.6f}\nzero = {self.figure(self.zero[s], 1)}\n"
                f"error_limit = {b['error']}\nrepeatability = {rep:.6f}"
            )
        return "\n\n".join(out)

    def wear_of(self, s, k):
        """Loss on the radius at a place: even, an ellipse, a worn side, and a little taper."""
        b = self.base
        share = self.case.get("before")
        made = b[s] - b["band"] * self.random.uniform(0.2, 0.8)
        if share:
            made -= b["step"] * share[0 if s == "main" else 1]
        even, side = b["wear"] * self.random.uniform(0.1, 0.4), b["wear"] * self.random.uniform(0.2, 0.8)
        towards, taper = self.random.uniform(0, 360), self.random.uniform(-0.2, 0.2)

        def radius(station, degrees):
            hump = max(0.0, math.cos(math.radians(degrees - towards))) ** 1.5
            return made / 2 - (even + side * hump) * (1 + taper * station)

        return radius

    def measured(self):
        b, case, out = self.base, self.case, []
        for s, count in (("main", self.mains), ("pin", self.pins)):
            how = case["mains" if s == "main" else "pins"]
            throws = [0.0] * count if s == "main" else case["angles"]
            for k in range(count):
                radius = self.wear_of(s, k)
                with_ = "" if case.get("unnamed") else f'with = "mic {s}"\n'
                if how == "traces":
                    for word, station in (("front", -1), ("rear", 1)):
                        n = self.random.choice((10, 12))
                        start = self.random.choice((0, 5, 12.5))
                        angles = [start + 360 * i / n for i in range(n)]
                        named = self.random.random() < 0.5
                        if named:
                            angles = [round(a + self.random.uniform(-4, 4), 2) for a in angles]
                        radii = [radius(station, a) for a in angles]
                        mean = sum(radii) / n
                        departures = ", ".join(
                            self.figure(r - mean + self.random.gauss(0, b["noise"])) for r in radii
                        )
                        where = f"angles = {angles}" if named else f"start = {start}"
                        out.append(
                            f'[[trace]]\njournal = "{s} {k + 1}"\nat = "{word}"\n'
                            f"size = {self.figure(2 * mean + self.zero[s])}\n{where}\n"
                            f"departures = [{departures}]\n{with_}".rstrip()
                        )
                else:
                    places = [("front", -1), ("rear", 1)] + ([("middle", 0)] if self.random.random() < 0.5 else [])
                    for word, station in places:
                        for plane in (0, 45, 90, 135) if self.random.random() < 0.3 else (0, 90):
                            true = radius(station, throws[k] + plane) + radius(station, throws[k] + plane + 180)
                            digits = -1 if case.get("coarse") else 0
                            sizes = [
                                self.figure(true + self.zero[s] + self.random.gauss(0, b["noise"]), digits)
                                for _ in range(self.random.choice((1, 2, 3)) if case.get("repeats") else 1)
                            ]
                            size = sizes[0] if len(sizes) == 1 else "[" + ", ".join(sizes) + "]"
                            out.append(
                                f'[[reading]]\njournal = "{s} {k + 1}"\nat = "{word}"\nplane = {plane}\n'
                                f"size = {size}\n{with_}".rstrip()
                            )
                if s == "main" and (how == "run-outs" or case.get("run_outs")):
                    total = b["wear"] * self.random.uniform(0.1, 0.9)
                    out.append(
                        f'[[run_out]]\njournal = "main {k + 1}"\ntotal = {self.figure(total)}\n'
                        f"high = {self.random.randrange(0, 360, 5)}"
                    )
                if s == "pin" and case.get("centres") and self.random.random() < 0.7:
                    error = self.random.uniform(-0.4, 0.4) * b["tolerances"][0]
                    index = self.random.uniform(-0.3, 0.3) * b["tolerances"][1]
                    out.append(
                        f'[[centre]]\njournal = "pin {k + 1}"\nthrow = {self.figure(error)}\nindex = {index:.3f}'
                    )
                if case.get("worn") and how == "diameters" and k < 3:
                    share = ('"even"', '"one-sided"', "0.8")[(k + (s == "pin")) % 3]
                    out.append(f'[[worn]]\njournal = "{s} {k + 1}"\nshare = {share}')
        return "\n\n".join(out)

    def damage(self, s, k, depth, spread, kind, start):
        d = [self.figure(depth * (1 + change)) for change in (-spread, 0.0, spread)]
        depths = d[1] if spread == 0 else "[" + ", ".join(d) + "]"
        where = "" if start is None else f'\nat = "front"\nfrom = {start}\nto = {(start + 150) % 360}'
        return f'[[damage]]\njournal = "{s} {k + 1}"\nkind = "{kind}"\ndepth = {depths}{where}'

    def write(self, folder):
        b, case = self.base, self.case
        self.zero = {"main": 0.0, "pin": 0.0}
        policy = {"axis": f'"{case.get("axis", "held")}"', "index_datum": f'"{case.get("datum", "fixed")}"',
                  "draws": 20000, "seed": 11} | case.get("policy", {})
        head = (
            "# An invented crank, made by checks/make_sheets.py. Change it there.\n"
            f'sheet = 1\nmark = "{self.name[:2]}"\nunits = "{b["units"]}"\n\n[policy]\n'
            + "\n".join(f"{key} = {value}" for key, value in policy.items())
        )
        body = "\n\n".join(part for part in (head, self.specification(), self.instruments(), self.measured()) if part)
        path = folder / f"{self.name}.toml"
        path.write_text(body + "\n")
        # Damage that brings each set near its clean-up stock at one undersize past what it was last ground to. A free axis
        # dodges local damage in part, so the depth is found by trying.
        chosen = {}
        for s, count in (("main", self.mains), ("pin", self.pins)):
            k = self.random.randrange(count)
            other = k if case.get("local") else (k + 1) % count
            chosen[s] = dict(k=k, other=other, depth=0.0, aim=b["noise"] * self.random.uniform(-3, 3),
                             kinds=self.random.sample(("scoring", "ridges", "pitting", "rust"), 2),
                             start=self.random.randrange(0, 360, 30) + 1)
        for _ in range(8):
            damages = []
            for s, one in chosen.items():
                # Two on one journal where the damage is local: the deeper counts where both lie.
                damages.append(self.damage(s, one["k"], one["depth"], 0.25, one["kinds"][0],
                                           one["start"] if case.get("local") else None))
                damages.append(self.damage(s, one["other"], 0.9 * one["depth"],
                                           0.0 if case.get("local") else 0.3, one["kinds"][1], None))
            path.write_text("\n\n".join([body, *damages]) + "\n")
            sheet = independent.Sheet(path)
            _, alone, _ = independent.spares(sheet)
            for s, one in chosen.items():
                which = independent.SETS.index(s)
                before = sheet.ladder[which].index(sheet.ground_to[which])
                spare = alone[s, sheet.ladder[which][before + 1]] - sheet.stock
                one["depth"] = max(one["depth"] + spare - one["aim"], 2 * b["noise"])


def main():
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name, case in CASES.items():
        Maker(name, case).write(folder)


if __name__ == "__main__":
    main()
