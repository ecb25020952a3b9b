"""Invented engines for the worn cranks of `chances.py`.

No maker's book stands behind these figures. Lengths are in the engine's own unit; `scale` turns inches into it.
"""

from dataclasses import dataclass

MM = 25.4
SETS = ("main", "pin")


@dataclass(frozen=True)
class Engine:
    name: str
    units: str
    angles: tuple  # degrees, direction of each throw
    mains: int
    main: tuple  # finished limits at standard
    pin: tuple
    ladder: tuple  # undersizes of both sets, without standard
    round_limit: float  # out-of-round and taper
    length: tuple  # of a main, of a pin
    pitch: float
    graduation: float
    growth: float = 0.0
    taper_per_length: bool = False
    outriggers: int = 0  # mains past the last throw
    often: float = 1.0  # how often it comes, against the others

    @property
    def scale(self):
        return MM if self.units == "mm" else 1.0

    def count(self, s):
        return self.mains if s == "main" else len(self.angles)

    def limits(self, s):
        return self.main if s == "main" else self.pin

    def middle(self, s):
        low, high = self.limits(s)
        return (low + high) / 2

    def tolerance(self, s):
        low, high = self.limits(s)
        return high - low

    def rungs(self):
        return (0.0, *self.ladder)

    def polish(self):
        return 0.005 if self.units == "mm" else 0.0002

    def stock(self):
        return 0.0125 if self.units == "mm" else 0.0005

    def set_up(self):
        return 0.0075 if self.units == "mm" else 0.0003

    def wheel_radius(self, s, rung):
        """Half the size that the wheel must leave at an undersize."""
        return (self.middle(s) - rung - self.growth + self.polish()) / 2

    def specification(self):
        """The table a sheet carries in place of the name of an engine."""
        out = dict(specification=1, name=self.name, units=self.units, throw=round(1.7 * self.scale, 3))
        out |= dict(throw_tolerance=0.002 * self.scale, index_tolerance=0.25)
        for i, s in enumerate(SETS):
            limit = self.round_limit
            places = range(self.mains) if s == "main" else range(len(self.angles))
            # Pins share the gaps between the mains, however many stand in each; none stands before an outrigger.
            bays = self.mains - 1 - self.outriggers
            gap = self.pitch * (bays / len(self.angles) if s == "pin" else 1.0)
            out[s] = dict(
                count=self.count(s),
                positions=[round(gap * (k + (0.5 if s == "pin" else 0.0)), 4) for k in places],
                length=self.length[i],
                size=list(self.limits(s)),
                undersizes=list(self.ladder),
                out_of_round=limit,
                taper={self.units: limit / 2, "per": "length"} if self.taper_per_length else limit,
            )
            if s == "pin":
                out[s]["angles"] = list(self.angles)
        out["treatment"] = dict(kind="none")
        if self.growth:
            out["treatment"] = dict(kind="nitriding", growth=dict(mean=self.growth, sd=self.growth / 5))
        return out


ENGINES = (
    Engine("Tarn four", "in", (0, 180, 180, 0), 5, (2.1245, 2.1250), (1.8745, 1.8750), (0.010, 0.020, 0.030, 0.040),
           0.0005, (1.10, 0.95), 3.2, 0.0001, growth=0.0005, often=2),
    Engine("Skelder six", "mm", (0, 120, 240, 240, 120, 0), 7, (79.980, 80.000), (63.980, 64.000),
           (0.25, 0.50, 0.75, 1.00), 0.020, (35.0, 38.0), 120.0, 0.002, growth=0.012, often=2),
    Engine("Wren single", "in", (0,), 2, (1.4985, 1.4995), (1.2485, 1.2495), (0.010, 0.020, 0.030, 0.040, 0.060),
           0.0010, (1.75, 1.40), 5.5, 0.0001, taper_per_length=True),
    Engine("Hatch vee eight", "in", (0, 90, 270, 180), 5, (2.7490, 2.7500), (2.2490, 2.2500),
           (0.010, 0.020, 0.030, 0.040), 0.0010, (1.2, 1.8), 4.4, 0.0001, often=1.5),
    Engine("Fleet twin", "mm", (0, 180), 3, (44.984, 45.000), (37.984, 38.000), (0.25, 0.50), 0.010, (26.0, 24.0),
           75.0, 0.001),
    # Twelve journals: the seventh main is an outrigger past the last throw.
    Engine("Mallow five", "mm", (0, 144, 288, 216, 72), 7, (59.982, 60.000), (47.984, 48.000),
           (0.25, 0.50, 0.75, 1.00), 0.015, (28.0, 26.0), 88.0, 0.002, outriggers=1),
    Engine("Cope split six", "in", (0, 300, 240, 180, 120, 60), 4, (2.4988, 2.4998), (2.2489, 2.2499),
           (0.010, 0.020, 0.030), 0.0006, (1.0, 0.85), 4.0, 0.0001),
    Engine("Garth four", "mm", (0, 180, 180, 0), 5, (54.980, 55.000), (47.980, 48.000), (0.05, 0.25, 0.50, 0.75), 0.010,
           (26.0, 25.0), 85.0, 0.01, often=1.2),
    Engine("Quern four", "in", (0, 180, 180, 0), 3, (1.9990, 2.0000), (1.7490, 1.7500),
           (0.010, 0.020, 0.030, 0.040, 0.060), 0.0010, (1.5, 1.3), 5.0, 0.0001),
)


def draw_engine(source):
    weights = [one.often for one in ENGINES]
    total = sum(weights)
    return ENGINES[source.choice(len(ENGINES), p=[w / total for w in weights])]
