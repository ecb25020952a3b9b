#!/usr/bin/env python3
"""Make the two large worked sheets that the benchmark times.

    python3 checks/make_traced.py crates/tenunder/library

writes tarn-four-traced.toml (9 journals, 3 stations, 24 angles, axis free) and
tarn-four-72.toml (72 diameters, axis held). Both describe one invented worn
crank: the mains are bowed and worn nearly evenly, each pin is worn mostly on
one side. The scores are deeper in the traced one, so that ten under is in
doubt even on the best axis and the timing is not of an easy case. The seed is fixed, so the files come out the same every time; change
the wear here and not in the files. Needs nothing but Python 3.
"""

import math
import random
import sys
from pathlib import Path

HALF = 0.35  # front and rear stand this share of a journal's length from its middle

# even: loss on the radius all round; side: further loss at the worst point of the worn side, which faces `towards`
# (degrees); made: the diameter as the maker left it; high: taper of the wear, more at this end by this share.
MAINS = [
    dict(made=2.1248, even=0.0002, side=0.0002, towards=185, taper=+0.1),
    dict(made=2.1247, even=0.0005, side=0.0006, towards=170, taper=-0.1),
    dict(made=2.1248, even=0.0007, side=0.0008, towards=195, taper=+0.1),
    dict(made=2.1249, even=0.0005, side=0.0006, towards=175, taper=+0.2),
    dict(made=2.1247, even=0.0003, side=0.0003, towards=190, taper=-0.1),
]
PINS = [
    dict(made=1.8748, even=0.0006, side=0.0029, towards=12, taper=+0.10),
    dict(made=1.8747, even=0.0008, side=0.0036, towards=350, taper=-0.12),
    dict(made=1.8749, even=0.0007, side=0.0027, towards=8, taper=+0.08),
    dict(made=1.8748, even=0.0005, side=0.0022, towards=15, taper=-0.05),
]
RUN_OUTS = [(2, 0.0021, 68), (3, 0.0042, 74), (4, 0.0024, 81)]
CENTRES = [(1, +0.0003, 0.00), (2, -0.0004, -0.03), (3, +0.0002, 0.02), (4, -0.0002, 0.01)]
LOCAL_DAMAGE = """
[[damage]]
journal = "pin 2"
kind = "scoring"
depth = [0.0024, 0.0034, 0.0044]
at = "middle"
from = 330
to = 30

[[damage]]
journal = "main 3"
kind = "scoring"
depth = [0.0014, 0.0024, 0.0034]
at = "middle"
"""
DAMAGE = """
[[damage]]
journal = "pin 2"
kind = "scoring"
depth = [0.0008, 0.0012, 0.0018]
"""


def loss(wear, station, degrees):
    """Metal gone from the radius: a worn side like a rounded hump over half the journal, and a little all round."""
    hump = max(0.0, math.cos(math.radians(degrees - wear["towards"]))) ** 1.5
    return (wear["even"] + wear["side"] * hump) * (1.0 + wear["taper"] * station - 0.06 * abs(station))


def header(mark, policy):
    return f"""\
# An invented worn crank, made by checks/make_traced.py. Change it there.
sheet = 1
mark = "{mark}"
specification = "tarn-four.toml"
units = "in"
{policy}"""


INSTRUMENTS = """
[[instrument]]
name = "mic 1-2"
kind = "outside micrometer"
range = [1.0, 2.0]
graduation = 0.0001
zero = 0.0000
error_limit = 0.0001
repeatability = 0.00005

[[instrument]]
name = "mic 2-3"
kind = "outside micrometer"
range = [2.0, 3.0]
graduation = 0.0001
zero = 0.0000
error_limit = 0.0001
repeatability = 0.00005
"""

JOURNALS = [("main", n, wear, "mic 2-3") for n, wear in enumerate(MAINS, 1)] + [
    ("pin", n, wear, "mic 1-2") for n, wear in enumerate(PINS, 1)
]


def traced(source):
    out = [header("C-0419", '\n[policy]\naxis = "free"\ndraws = 20000\nseed = 1\n'), INSTRUMENTS]
    angles = [15 * k for k in range(24)]
    for kind, number, wear, mic in JOURNALS:
        for word, station in (("front", -1), ("middle", 0), ("rear", 1)):
            gone = [loss(wear, station, t) for t in angles]
            mean = sum(gone) / len(gone)
            departures = [mean - g for g in gone]
            if kind == "main":
                # The indicator was set about the journal's own centre; what is left over shows as run-out.
                c = sum(d * math.cos(math.radians(t)) for d, t in zip(departures, angles)) / 12
                s = sum(d * math.sin(math.radians(t)) for d, t in zip(departures, angles)) / 12
                departures = [
                    d - c * math.cos(math.radians(t)) - s * math.sin(math.radians(t))
                    for d, t in zip(departures, angles)
                ]
            read = [d + source.gauss(0.0, 0.00004) for d in departures]
            size = wear["made"] - 2 * mean + source.gauss(0.0, 0.00004)
            figures = ", ".join(f"{round(r, 4) + 0.0:.4f}" for r in read)
            out.append(
                f'\n[[trace]]\njournal = "{kind} {number}"\nat = "{word}"\nsize = {size:.4f}\n'
                f'start = 0\ndepartures = [{figures}]\nwith = "{mic}"\n'
            )
    out += [f'\n[[run_out]]\njournal = "main {n}"\ntotal = {t:.4f}\nhigh = {h}\n' for n, t, h in RUN_OUTS]
    out += [f'\n[[centre]]\njournal = "pin {n}"\nthrow = {t:.4f}\nindex = {i:.2f}\n' for n, t, i in CENTRES]
    return "".join(out) + LOCAL_DAMAGE


def diameters(source):
    lines = ["reading = [\n"]
    for kind, number, wear, mic in JOURNALS:
        for word, station in (("front", -1), ("rear", 1)):
            for plane in (0, 45, 90, 135):
                true = wear["made"] - loss(wear, station, plane) - loss(wear, station, plane + 180)
                size = true + source.gauss(0.0, 0.00005)
                lines.append(
                    f'    {{ journal = "{kind} {number}", at = "{word}", plane = {plane}, '
                    f'size = {size:.4f}, with = "{mic}" }},\n'
                )
    lines.append("]\n")
    run_outs = [f'\n[[run_out]]\njournal = "main {n}"\ntotal = {t:.4f}\nhigh = {h}\n' for n, t, h in RUN_OUTS]
    return (
        header("C-0418", "".join(lines) + '\n[policy]\naxis = "held"\ndraws = 20000\nseed = 1\n')
        + INSTRUMENTS
        + "".join(run_outs)
        + DAMAGE
    )


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else ".")
    source = random.Random(20240412)
    (folder / "tarn-four-traced.toml").write_text(traced(source))
    (folder / "tarn-four-72.toml").write_text(diameters(source))


main()
