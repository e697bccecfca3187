"""Worlds of invented clients: how they differ, feel, tell and gain; one as thought, others not."""

from dataclasses import dataclass, replace

import numpy as np


@dataclass(frozen=True)
class World:
    """How clients are made and how they answer; see the module for what is drawn.

    Attributes:
        curve: "log1p" as the filter thinks, "power" or "exponential" (Wathan's form) otherwise.
        reps_rate: middle of the reps curve's rate; reps_rate_spread between clients.
        start_bias: by how much all starts differ from the ladder's typical one.
        start_sd, correlation: spread of starts, and between families.
        told_floor, told_stretch, told_practice: true left in hand that tells as none; and how much
            more is left for each one told, at once and before practice.
        told_spread: spread between clients of ``told_floor``.
        told_noise, told_noise_each: spread of one set's telling (Hackett 2017: about one at 0-5).
        obeys: share of sets in which the client stops when told to.
        gain: log capacity gained by a well-dosed session, before it levels off.
        demand_misfit: spread of a step's true demand about the ladder's.
        day_seen, day_unseen: parts of the day's offset that the morning can and cannot show.
        ill_a_day, missed_morning, missed_session: chances.
        exponent: real repetitions are ``10 (R / 10) ** exponent`` of the curve's R.
        stop_bias: true left, beyond the number stopped at, that feels like time to stop; ``None``
            where stopping goes by the same feeling as telling. stop_noise: its spread.
        tells: "felt"; "copied", the number that the set was meant to leave; "same", always two.
        told_drift: change of ``told_floor`` a day.
        tells_why: whether it is told why a set ended short.
        nothing_after_stop: whether none is told after a stop, as if the stop had been the end.
        ladder_top: highest demand of the ladders, beside 1.2 in most.
    """

    name: str = "as thought"
    curve: str = "log1p"
    reps_rate: float = 0.030
    reps_rate_spread: float = 0.12
    start_bias: float = 0.0
    start_sd: float = 0.22
    correlation: float = 0.7
    told_floor: float = 0.4
    told_spread: float = 0.5
    told_stretch: float = 0.27
    told_practice: float = 0.45
    practice_sets: float = 120.0
    told_noise: float = 0.7
    told_noise_each: float = 0.15
    obeys: float = 0.93
    gain: float = 0.0042
    gain_spread: float = 0.4
    level_off: float = 0.45
    set_fatigue: float = 0.035
    demand_misfit: float = 0.025
    day_seen: float = 0.032
    day_unseen: float = 0.034
    wander: float = 0.004
    ill_a_day: float = 0.006
    ill_shift: float = -0.10
    missed_morning: float = 0.10
    missed_session: float = 0.08
    sets_a_session: int = 2
    ladder_step: tuple[float, float] = (0.03, 0.11)
    holes: float = 0.04
    exponent: float = 1.0
    stop_bias: float | None = None
    stop_noise: float = 0.0
    tells: str = "felt"
    told_drift: float = 0.0
    tells_why: bool = False
    nothing_after_stop: bool = False
    ladder_top: float = 1.2

    def for_client(self, rng: np.random.Generator) -> "World":
        """This world as one client finds it."""
        return self


OTHER_WORLDS = (
    World(name="told too many left", told_floor=-0.3, told_stretch=-0.1, told_practice=0.1),
    World(name="told much too few", told_floor=1.0, told_stretch=0.35),
    World(name="noisy telling", told_noise=1.1, told_noise_each=0.22),
    World(name="told exactly", told_floor=0.0, told_spread=0.2, told_stretch=0, told_practice=0),
    World(name="flatter curve", reps_rate=0.022),
    World(name="steeper curve", reps_rate=0.040),
    World(name="power curve", curve="power"),
    World(name="Wathan's curve", curve="exponential"),
    World(name="slow progress", gain=0.0020),
    World(name="fast progress", gain=0.0080),
    World(name="starts 35 % stronger", start_bias=0.30),
    World(name="starts 30 % weaker", start_bias=-0.35),
    World(name="families unrelated", correlation=0.2),
    World(name="big days", day_seen=0.05, day_unseen=0.055),
    World(name="days not seen", day_seen=0.0, day_unseen=0.05),
    World(name="does not stop", obeys=0.6),
    World(name="tires fast", set_fatigue=0.07),
    World(name="rough ladder", ladder_step=(0.08, 0.16), demand_misfit=0.06, holes=0.10),
)


@dataclass(frozen=True)
class DrawnWorld(World):
    """Each client draws how she feels, tells, stops, gains and trains; a world says the ranges.

    Attributes:
        bias: range of told minus true, repetitions; noise: range of one set's spread of it.
        stop_biases, stop_noises: the same of felt minus true where she stops.
        rates, exponents: ranges of the curve.
        gains: range of log capacity gained by a well-dosed session.
        starts: range by which starts differ from the ladder's typical one.
        unseen_mornings: range of the chance that a check-in is missed.
        drifts: most by which the bias may change in half a year, either way.
        habits: what she may tell.
        tops: highest demands that ladders may have.
    """

    bias: tuple[float, float] = (-1.5, 1.5)
    noise: tuple[float, float] = (0.3, 1.5)
    stop_biases: tuple[float, float] = (-1.5, 0.5)
    stop_noises: tuple[float, float] = (0.4, 1.2)
    rates: tuple[float, float] = (0.016, 0.045)
    exponents: tuple[float, float] = (0.6, 1.4)
    gains: tuple[float, float] = (0.0020, 0.0080)
    starts: tuple[float, float] = (-0.35, 0.35)
    unseen_mornings: tuple[float, float] = (0.05, 0.5)
    drifts: float = 0.0
    habits: tuple[str, ...] = ("felt",)
    tops: tuple[float, ...] = (1.2,)

    def for_client(self, rng: np.random.Generator) -> World:
        """Draw one client's world."""
        return replace(
            self,
            told_floor=-rng.uniform(*self.bias),
            told_spread=0.0,
            told_stretch=0.0,
            told_practice=0.0,
            told_noise=rng.uniform(*self.noise),
            told_noise_each=0.05,
            stop_bias=-rng.uniform(*self.stop_biases),
            stop_noise=rng.uniform(*self.stop_noises),
            reps_rate=rng.uniform(*self.rates),
            reps_rate_spread=0.0,
            exponent=rng.uniform(*self.exponents),
            gain=rng.uniform(*self.gains),
            gain_spread=0.0,
            start_bias=rng.uniform(*self.starts),
            missed_morning=rng.uniform(*self.unseen_mornings),
            told_drift=rng.uniform(-1.0, 1.0) * self.drifts / 180.0,
            tells=str(rng.choice(self.habits)),
            tells_why=bool(rng.random() < 0.5),
            nothing_after_stop=bool(rng.random() < 0.5),
            ladder_top=float(rng.choice(self.tops)),
        )


DRAWN_WORLDS = (
    DrawnWorld(name="drawn: fixed bias"),
    DrawnWorld(name="drawn: too many told", bias=(1.0, 1.5), stop_biases=(-0.5, 1.0)),
    DrawnWorld(name="drawn: drifting bias", drifts=2.0),
    DrawnWorld(name="drawn: copied numbers", habits=("copied", "same", "felt")),
    DrawnWorld(name="drawn: noise over one", noise=(1.0, 1.5)),
    DrawnWorld(name="drawn: early stoppers", stop_biases=(-2.2, -1.0)),
    DrawnWorld(name="drawn: strong starts", starts=(0.4, 0.9), gains=(0.004, 0.010)),
    DrawnWorld(
        name="drawn: frail and sparse",
        starts=(-0.8, -0.3),
        gains=(0.001, 0.004),
        unseen_mornings=(0.5, 0.95),
        holes=0.12,
        tops=(0.45, 0.7),
    ),
)
"""Report on seeds from 0 on; tune on others only, as the table says otherwise how well the noise
was learnt."""
