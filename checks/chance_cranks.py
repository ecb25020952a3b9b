"""Worn cranks whose true surface is known.

Made another way than the program reckons: wear is an arc of stated width, raised-cosine or flat-topped, with a second
arc or a scar on a third of the journals, twisted, tapered and hollowed along the journal, on a surface that an earlier
grind left with lobes and off its centre, on a shaft that is bent. Every journal is a grid of radii about the axis that
the wheel will follow: 360 directions (a pin's from its own throw, a main's from pin 1's) at seven stations.

What is likely (levels, shares, how often) is assumed; nobody has published a record of worn cranks journal by journal.
Lengths in this file are inches on the diameter unless `radius` is said, times the engine's scale.
"""

import math
from dataclasses import dataclass, field

import numpy as np

import chance_engines

STATIONS = (-0.43, -0.35, -0.175, 0.0, 0.175, 0.35, 0.43)  # shares of the length, from the middle
FRONT, MIDDLE, REAR = 1, 3, 5
DEGREES = np.arange(360.0)
SETS = chance_engines.SETS


@dataclass(frozen=True)
class World:
    """What the cranks are like. The first is the plausible one; the others are wrong about it on purpose."""

    name: str
    level: float = 0.0023  # median loss of a set
    level_sd: float = 0.60  # of its logarithm, between sets
    between: float = 0.50  # of its logarithm, between the journals of a set
    one_sided: float = 0.10  # share of journals with all oval wear on one side
    share: float | None = None  # or the same share for every journal
    oval: tuple | None = None  # Beta parameters of the oval part, both sets
    even: float = 0.08  # share of cranks worn evenly
    bow: float = 0.0004  # median offset of the middle, radius
    set_up: float = 1.0  # times what the sheet says
    score: float = 1.0  # times what the sheet says
    odd: float = 0.03
    wreck: float = 0.01
    dial: bool = False  # run-out is the highest less the lowest, not the part that goes round once


WORLDS = {
    one.name: one
    for one in (
        World("plausible"),
        World("one-sided", one_sided=0.75),
        World("oval", oval=(6.0, 1.0)),
        World("bow three times", bow=0.0012),
        World("wear twice", level=2 * World.level),
        World("even wear", even=1.0),
        World("share 0.9", share=0.9),
        World("set-up twice", set_up=2.0),
        World("scores half as deep again", score=1.5),
        World("dial as read", dial=True),
    )
}


@dataclass
class Journal:
    set: str
    number: int  # from 0
    step: float  # undersize it was last ground to
    radius: np.ndarray  # stations x directions, about the axis the wheel follows
    share: float  # of the oval wear, on the worse side
    offset: tuple  # radius, of the present centre from the grinding axis
    scores: list = field(default_factory=list)  # (station or None, true depth, stated lowest, likeliest, highest)
    wrecked: bool = False

    @property
    def name(self):
        return f"{self.set} {self.number + 1}"

    def bad(self):
        """The true surface less the damage below it."""
        depth = np.zeros((len(STATIONS), 1))
        for station, true, *_ in self.scores:
            where = slice(None) if station is None else slice(station, station + 1)
            depth[where] = np.maximum(depth[where], true)
        return self.radius - depth

    def diameter(self, station, plane):
        """Across the journal, two points."""
        at = int(round(plane)) % 360
        row = self.radius[station]
        return row[at] + row[(at + 180) % 360]


@dataclass
class Crank:
    engine: chance_engines.Engine
    world: World
    journals: list
    step: dict  # what each set was last ground to
    cleans_up: dict  # set -> for each rung of the ladder
    room: dict  # set -> least radius less the clean-up stock and the machine's error

    def of_set(self, s):
        return [j for j in self.journals if j.set == s]


def arc(source, width, flat):
    """Depth round the journal, one at its deepest, nought outside the arc; turned later."""
    half = width / 2
    away = np.abs((DEGREES + 180.0) % 360.0 - 180.0)
    if flat:
        edge = half * source.uniform(0.3, 0.7)  # the flank
        inside = np.clip((half - away) / edge, 0.0, 1.0)
        return 0.5 - 0.5 * np.cos(math.pi * inside)
    return np.where(away < half, 0.5 + 0.5 * np.cos(math.pi * away / half), 0.0)


def turned(profile, degrees):
    """The profile with its deepest place at the given directions, one for each station."""
    at = (DEGREES[None, :] - np.asarray(degrees)[:, None]) % 360.0
    return np.interp(at, np.append(DEGREES, 360.0), np.append(profile, profile[0]))


class Maker:
    def __init__(self, world, source):
        self.world, self.source = world, source
        self.engine = chance_engines.draw_engine(source)
        self.scale = self.engine.scale
        self.zeta = np.array(STATIONS) / 0.35

    def crank(self):
        source, world, engine = self.source, self.world, self.engine
        journals, step = [], {}
        self.even = source.random() < world.even
        crank_level = source.normal(0.0, 0.5 * world.level_sd)
        for s in SETS:
            rungs = engine.rungs()
            g = min(source.choice(3, p=(0.58, 0.29, 0.13)), len(rungs) - 3)
            step[s] = rungs[g]
            level = world.level * math.exp(crank_level + source.normal(0.0, math.sqrt(0.75) * world.level_sd))
            common = source.uniform(0.0, 360.0)
            outer = source.random() < 0.7  # the side of the throw on which pins of this crank are worn
            for k in range(engine.count(s)):
                journals.append(self._journal(s, k, step[s], level, common, outer))
        self._bend([j for j in journals if j.set == "main"])
        crank = Crank(engine, world, journals, step, {}, {})
        self._judge(crank)
        return crank

    def _direction(self, s, common, outer):
        source = self.source
        if source.random() < 0.15:
            return source.uniform(0.0, 360.0)
        if s == "main":
            return common + source.normal(0.0, 25.0)
        side = 0.0 if outer == (source.random() < 0.85) else 180.0
        return side + source.triangular(-50.0, 0.0, 50.0)

    def _journal(self, s, k, step, level, common, outer):
        source, world, engine, scale = self.source, self.world, self.engine, self.scale
        rungs = engine.rungs()
        if source.random() < world.odd:
            step = rungs[source.integers(len(rungs))]
        loss = level * math.exp(source.normal(0.0, world.between))
        a, b = world.oval or ((1.8, 2.0) if s == "pin" else (1.4, 2.6))
        oval = 0.03 if self.even and world.oval is None else source.beta(a, b)
        if world.share is not None:
            share = world.share
        elif source.random() < world.one_sided:
            share = 1.0
        else:
            share = 0.5 + 0.5 * source.beta(1.1, 1.4)
        stations = len(STATIONS)
        twist = source.normal(0.0, 8.0) * self.zeta
        towards = self._direction(s, common, outer)
        # Along the journal: taper and barrel of the even part and of the oval part, each its own.
        along = [
            np.maximum(1.0 + taper * self.zeta + barrel * (self.zeta**2 - 0.5), 0.0)
            for taper, barrel in source.normal(0.0, (0.12, 0.09), (2, 2))
        ]
        worn = np.zeros((stations, 360))  # radius
        worn += (1.0 - oval) * loss / 2 * along[0][:, None]
        width = source.uniform(70.0, 200.0)
        worse = arc(source, width, source.random() < 0.4)
        worn += oval * loss * share * along[1][:, None] * turned(worse, towards + twist)
        if share < 1.0:
            other = arc(source, np.clip(width + source.normal(0.0, 25.0), 70.0, 200.0), source.random() < 0.4)
            opposite = towards + 180.0 + source.normal(0.0, 10.0)
            worn += oval * loss * (1.0 - share) * along[1][:, None] * turned(other, opposite + twist)
        if source.random() < 1 / 3 and not self.even:
            second = arc(source, source.uniform(30.0, 120.0), source.random() < 0.4)
            depth = loss * source.uniform(0.02, 0.12)
            worn += depth * along[1][:, None] * turned(second, source.uniform(0.0, 360.0) + twist)
        wrecked = source.random() < world.wreck
        if wrecked:
            worn += source.exponential(0.008) / 2
        worn = self._ridges(s, worn)
        # What the last grind left: a size within its limits, lobes that a micrometer sees in part.
        limits = engine.limits(s)
        size = limits[0] + engine.tolerance(s) * source.uniform(0.05, 0.95) - step
        form = np.zeros(360)
        for n in range(2, 8):
            reach = (0.00003 + 0.012 * oval * loss) * source.normal() / math.sqrt(n / 2)
            form += reach * np.cos(np.radians(n * (DEGREES - source.uniform(0.0, 360.0))))
        slope = source.normal(0.0, 0.00004) * self.zeta
        radius = size / 2 - scale * (worn + form[None, :] + slope[:, None])
        one = Journal(s, k, step, radius, share, (0.0, 0.0), wrecked=wrecked)
        if source.random() < 0.06:
            one.scores.append(self._score())
        return one

    def _ridges(self, s, worn):
        """Metal that the shell did not touch: at its edges, under its oil groove."""
        source = self.source
        if source.random() < 0.25:
            worn[[0, -1]] *= source.uniform(0.1, 0.8)
        if s == "main" and source.random() < 0.2:
            covered = slice(None) if source.random() < 0.5 else slice(0, 180)
            worn[MIDDLE, covered] *= source.uniform(0.3, 0.9)
        return worn

    def _score(self):
        source = self.source
        stated = math.exp(source.normal(math.log(0.0012), 0.6))
        stated = max(round(stated, 4), 0.0002)
        low, high = round(stated * source.uniform(0.5, 0.8), 4), round(stated * source.uniform(1.2, 1.7), 4)
        low, high = min(low, stated), max(high, stated)
        true = source.triangular(low, stated, high) if high > low else stated
        if source.random() < 0.1:  # the guess was wrong
            true *= source.uniform(0.6, 1.5)
        station = None if source.random() < 0.5 else (FRONT, MIDDLE, REAR)[source.integers(3)]
        return (station, self.scale * self.world.score * true, *(self.scale * d for d in (low, stated, high)))

    def _bend(self, mains):
        """Offsets of the inner mains from the line through the end mains: the bend, and how the last grind lay."""
        source, n = self.source, len(mains)
        bow = self.world.bow * math.exp(source.normal(0.0, 0.8))
        towards, crooked = source.uniform(0.0, 2 * math.pi), source.uniform(0.75, 1.35)
        for k, journal in enumerate(mains):
            if 0 < k < n - 1:
                height = bow * math.sin(math.pi * (k / (n - 1)) ** crooked)
                own = source.normal(0.0, 0.00012, 2)
                x, y = height * math.cos(towards) + own[0], height * math.sin(towards) + own[1]
                journal.offset = (self.scale * x, self.scale * y)
                t = np.radians(DEGREES)
                journal.radius = journal.radius + journal.offset[0] * np.cos(t) + journal.offset[1] * np.sin(t)

    def _judge(self, crank):
        """Grinds it: one error of centring for all mains, one for each pin."""
        source, engine, t = self.source, self.engine, np.radians(DEGREES)
        sd = engine.set_up() * self.world.set_up

        def centring():
            a, b = source.normal(0.0, sd, 2)
            return a * np.cos(t) + b * np.sin(t)

        mains = centring()
        for s in SETS:
            rooms = []
            for journal in crank.of_set(s):
                wheel = mains if s == "main" else centring()
                rooms.append((journal.bad() - wheel).min())
            crank.room[s] = min(rooms) - engine.stock()
            crank.cleans_up[s] = [bool(crank.room[s] >= engine.wheel_radius(s, rung)) for rung in engine.rungs()]


def make(world, seed, number):
    """The crank of that number: the same seed and number give the same crank."""
    return Maker(world, np.random.default_rng([seed, number])).crank()
