"""Worlds of invented clients: how they differ, feel, tell and gain; one as thought, others not."""

from dataclasses import dataclass


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
