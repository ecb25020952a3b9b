"""Makes the sheet of the bent Skelder six, `skelder-six-bent.toml`, in the folder named on the command line.

An invented crank of known shape: bent, one main oval, one pin off its stroke, thinly cased. What a micrometer, a dial and a
height gauge would show of it is worked out from that shape and rounded as they are read, so that what the program finds can
be compared with what stands here.
"""

import math
import random
import re
import sys
from pathlib import Path

BEND = {1: 0.0, 2: 0.017, 3: 0.029, 4: 0.034, 5: 0.029, 6: 0.017, 7: 0.0}  # off the line of the end mains, mm
TOWARD_DEG = 70.0
OVAL = {3: (0.008, 20.0)}  # amplitude on the radius, direction of its long axis
LONG_MM = {5: 0.062}  # pin 5 is longer in the throw than the book's
ANGLES = range(0, 360, 45)
TURNS = range(0, 360, 60)
THROWS = [0, 120, 240, 240, 120, 0]
MAIN_WEAR = [0.022, 0.030, 0.034, 0.038, 0.034, 0.030, 0.024]
PIN_WEAR = [0.050, 0.056, 0.060, 0.058, 0.064, 0.052]


def size(new, wear, oval, plane):
    amplitude, along = oval
    return new - wear + 2 * amplitude * math.cos(2 * math.radians(plane - along))


def dial(main, angle):
    amplitude, along = OVAL.get(main, (0.0, 0.0))
    bend = BEND[main] * math.cos(math.radians(angle - TOWARD_DEG))
    return bend + amplitude * math.cos(2 * math.radians(angle - along))


def to(step, value):
    return round(value / step) * step


def book(text):
    """The Skelder's own book as a table of the sheet, with what a shaft needs besides."""
    text = re.sub(r"(?m)^#.*\n", "", text).strip()
    text = re.sub(r"(?m)^\[(\w+)\]", r"[specification.\1]", text)
    text = text.replace("case_depth   = [1.5, 2.5]", "case_depth   = [1.5, 2.5]\ncase_least   = 0.30")
    more = """
mass = { kg = 62.0, unbalance = 900 }

[[specification.feature]]
name = "flange"
at = 775
run_out = 0.03
face = { radius = 65, run_out = 0.04 }

[[specification.feature]]
name = "rear seal land"
at = 755
run_out = 0.05

[[specification.run_out_rule]]
mains = [2, 3, 4, 5, 6]
of = "half"
most = 0.03

[[specification.run_out_rule]]
neighbours = true
most = 0.05
"""
    head, rest = text.split("[specification.main]", 1)
    return f"[specification]\n{head.strip()}{more}\n[specification.main]{rest}\n"


def main():
    rng = random.Random(13)
    folder = Path(sys.argv[1])
    noise = lambda sd: rng.gauss(0.0, sd)
    lines = ["""# A Skelder six that came in bent: main 4 stands furthest off the line, main 3 is oval as well, pin 5 is long in the
# throw, and the case of the pins is thin. An invented crank; checks/make_bent.py says what it was made to be, and
# makes this file.

sheet = 1
mark = "S-1112"
units = "mm"
carried = { on = ["main 1", "main 7"], vee = 90 }

reading = ["""]
    for set_name, new, wears, mic in (("main", 79.992, MAIN_WEAR, "mic 75-100"), ("pin", 63.992, PIN_WEAR, "mic 50-75")):
        for number, wear in enumerate(wears, 1):
            oval = OVAL.get(number, (0.002, 0.0)) if set_name == "main" else (-0.006, 0.0)
            for at in ("front", "rear"):
                for plane in (0, 90):
                    mm = to(0.002, size(new, wear, oval, plane) + noise(0.0008))
                    lines.append(f'    {{ journal = "{set_name} {number}", at = "{at}", plane = {plane}, size = {mm:.3f}, '
                                 f'with = "{mic}" }},')
    lines.append("]\n\n[policy]\naxis = \"free\"\n")
    for name, low, high in (("mic 50-75", 50, 75), ("mic 75-100", 75, 100)):
        lines.append(f"""[[instrument]]
name = "{name}"
kind = "outside micrometer"
range = [{low}, {high}]
graduation = 0.002
zero = 0.000
error_limit = 0.004
repeatability = 0.001
""")
    for number in BEND:
        read = [to(0.002, dial(number, angle) + noise(0.0008)) + 0.0 for angle in ANGLES]
        lines.append(f'[[dial]]\njournal = "main {number}"\nreadings = [{", ".join(f"{mm:.3f}" for mm in read)}]\n')
    for number, throw in enumerate(THROWS, 1):
        mm = 60.0 + LONG_MM.get(number, 0.004 * math.sin(number))
        heights = [to(0.01, 300 + mm * math.sin(math.radians(turn + throw)) + noise(0.005)) for turn in TURNS]
        lines.append(f'[[height]]\njournal = "pin {number}"\nangles = [{", ".join(map(str, TURNS))}]\n'
                     f'heights = [{", ".join(f"{h:.2f}" for h in heights)}]\n')
    lines.append('[[feature]]\nname = "flange"\ntotal = 0.012\nhigh = 200\nface_total = 0.01\n')
    lines.append('[[feature]]\nname = "rear seal land"\ntotal = 0.016\nhigh = 190\n')
    lines.append('[[case]]\nset = "main"\ndepth = 1.4\ndoubt = 0.1\n')
    lines.append('[[case]]\nset = "pin"\ndepth = 0.65\ndoubt = 0.05\n')
    lines.append(book((folder / "skelder-six.toml").read_text()))
    (folder / "skelder-six-bent.toml").write_text("\n".join(lines))


main()
