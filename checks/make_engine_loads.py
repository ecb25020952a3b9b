#!/usr/bin/env python3
"""Loads on the mains of engines with missing mains, shared pins and leaning cylinders, worked out with NumPy for
crates/film/tests/layout.rs to be held against.

    python3 checks/make_engine_loads.py > crates/film/tests/reference/mains_loads.csv

Written from mechanics alone, without the Rust code. Every piston, gudgeon pin and crankpin is placed by its coordinates;
accelerations come from a spectral derivative of the piston's travel, not from a formula; the force of a rod on its pin
follows from the balance of the piston, that of a throw on the mains from moments about each end of its span. Seen from
the nose, the crank turns counter-clockwise; X right, Y up; crank angle 0 is the firing of cylinder 1.
"""

import numpy as np

BORE, STROKE, ROD = 0.08, 0.08, 0.13
UP_AND_DOWN, ROUND = 0.40 + 0.3 * 0.55, 0.7 * 0.55  # kg at the piston and at the crankpin
CRANKCASE = 1e5
STEPS = 1440
RPM = 3000.0

# Throws (degrees ahead of the first), cylinders (throw, lean, fires), places of mains and throws, mass of a throw as if
# at its pin. The pressure is a plain curve that both sides write down alike: 1 bar, and a firing bump of 50 bar.
ENGINES = {
    "three-bearing four": (
        [0, 180, 180, 0],
        [(0, 0, 0), (1, 0, 540), (2, 0, 180), (3, 0, 360)],
        ([0.0, 0.24, 0.48], [0.07, 0.16, 0.32, 0.41]),
        0.4,
    ),
    "two-bearing twin": ([0, 180], [(0, 0, 0), (1, 0, 180)], ([0.0, 0.25], [0.08, 0.15]), -0.2),
    "vee twin": ([0], [(0, 25, 0), (0, -25, 310)], ([0.0, 0.11], [0.06]), -0.5),
    "flat twin": ([0, 180], [(0, 90, 0), (1, -90, 360)], ([0.0, 0.2], [0.08, 0.12]), 0.3),
    "vee eight": (
        [0, 90, 270, 180],
        [(0, 45, 0), (0, -45, 630), (1, 45, 270), (1, -45, 180), (2, 45, 450), (2, -45, 360), (3, 45, 540), (3, -45, 90)],
        ([0.0, 0.1, 0.21, 0.3, 0.42], [0.05, 0.15, 0.26, 0.36]),
        0.8,
    ),
    "overhung single": ([0], [(0, 0, 0)], ([0.0, 0.1], [0.14]), 0.1),
}


def pressure(degrees):
    """The same bump once a cycle, without kinks: about 51 bar at the top, 1 bar away from it."""
    return 1e5 + 50e5 * np.exp(40.0 * (np.cos(np.radians(degrees) / 4.0) ** 2 - 1.0))


def derivative(values, period):
    """Exact for a smooth periodic curve, to rounding."""
    rates = 2j * np.pi * np.fft.fftfreq(len(values), period / len(values))
    return np.fft.ifft(rates * np.fft.fft(values)).real


def rod_on_pin(lean, fires, throw, omega, period, degrees):
    """Force of one rod on the crankpin, the rotating mass of the rod included."""
    along = np.array([-np.sin(np.radians(lean)), np.cos(np.radians(lean))])
    angle = np.radians(throw + degrees)
    pin = 0.5 * STROKE * np.array([-np.sin(angle), np.cos(angle)])
    # The gudgeon pin stands on the bore's axis, a rod's length from the crankpin, on the far side.
    ahead = along @ pin
    aside = pin - np.outer(along, ahead)
    height = ahead + np.sqrt(ROD**2 - (aside**2).sum(axis=0))
    gudgeon = np.outer(along, height)
    acceleration = derivative(derivative(height, period), period)
    gas = (pressure(degrees - fires) - CRANKCASE) * 0.25 * np.pi * BORE**2
    rod = (pin - gudgeon) / ROD
    # Along the bore the piston is pushed by the gas and held by the rod; the wall takes the rest.
    push = (gas + UP_AND_DOWN * acceleration) / -(along @ rod)
    pull = np.array([derivative(derivative(part, period), period) for part in pin])
    return push * rod - ROUND * pull


def mains_loads(engine):
    throws, cylinders, (mains, places), unbalance = engine
    omega = RPM * 2 * np.pi / 60
    period = 4 * np.pi / omega
    degrees = np.arange(STEPS) * 720.0 / STEPS
    turn = cylinders[0][1] - cylinders[0][2] - throws[cylinders[0][0]]
    loads = np.zeros((len(mains), 2, STEPS))
    for number, (throw, place) in enumerate(zip(throws, places)):
        angle = np.radians(throw + turn + degrees)
        force = unbalance * 0.5 * STROKE * omega**2 * np.array([-np.sin(angle), np.cos(angle)])
        for on, lean, fires in cylinders:
            if on == number:
                off = (throw + turn + fires - lean) % 360
                assert min(off, 360 - off) < 1e-9, (throw, lean, fires)
                force += rod_on_pin(lean, fires, throw + turn, omega, period, degrees)
        span = min(max(np.searchsorted(mains, place) - 1, 0), len(mains) - 2)
        before, behind = mains[span], mains[span + 1]
        # Moments about the far end of the span, then about the near one.
        loads[span] += force * (behind - place) / (behind - before)
        loads[span + 1] += force * (place - before) / (behind - before)
    return degrees, loads


def main():
    print("# computed by checks/make_engine_loads.py (NumPy), loads of the journal on its main shell at 3000 rev/min;")
    print("# engine data and conventions stand there")
    print("engine,main,crank_deg,fx_n,fy_n")
    for name, engine in ENGINES.items():
        degrees, loads = mains_loads(engine)
        for main_number, load in enumerate(loads, start=1):
            for step in range(0, STEPS, 60):
                x, y = load[:, step]
                print(f"{name},{main_number},{degrees[step]:.1f},{x:.4f},{y:.4f}")


if __name__ == "__main__":
    main()
