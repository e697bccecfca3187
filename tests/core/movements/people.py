"""Bodies, kit and the loaded catalogue for checks of movements."""

from functools import lru_cache

from hypothesis import strategies as st

from bot.reference.catalogue import MovementWords, load_catalogue, load_words
from core.client.client import Client, KitAtHome, Limits
from core.mechanics.body import Body
from core.movements.catalogue import Catalogue, Rung
from core.movements.demand import weigh_settings
from core.vocabulary import Band, Sex

FULL_KIT = KitAtHome(
    chair=43.0, bench=90.0, table=75.0, step=17.0, bottle=5.0, band=Band.HEAVY, cushion=10.0
)

# Stature, mass and sex that go together: body mass index 19 to 38.
bodies = st.builds(
    lambda sex, stature, index: Body(sex, stature, round(index * stature**2, 1)),
    sex=st.sampled_from(Sex),
    stature=st.floats(1.45, 1.95),
    index=st.floats(19.0, 38.0),
)

kits = st.builds(
    KitAtHome,
    chair=st.one_of(st.none(), st.floats(35.0, 55.0)),
    bench=st.one_of(st.none(), st.floats(80.0, 100.0)),
    table=st.one_of(st.none(), st.floats(65.0, 80.0)),
    step=st.one_of(st.none(), st.floats(10.0, 22.0)),
    bottle=st.one_of(st.none(), st.floats(0.5, 6.0)),
    band=st.one_of(st.none(), st.sampled_from(Band)),
    cushion=st.one_of(st.none(), st.floats(4.0, 12.0)),
)


@lru_cache
def catalogue() -> Catalogue:
    """The shipped catalogue, loaded once."""
    return load_catalogue()


@lru_cache
def words() -> MovementWords:
    """The English words, loaded once."""
    return load_words(catalogue())


def client(**changes: object) -> Client:
    """A client of 1.65 m and 70 kg with all kit, who gets down to the floor."""
    fields: dict[str, object] = {
        "name": "Test",
        "stature_cm": 165.0,
        "mass_kg": 70.0,
        "kit": FULL_KIT,
        "floor_ok": True,
        "lives_alone": False,
        "limits": Limits(overhead_allowed=True),
    }
    return Client(**{**fields, **changes})  # type: ignore[arg-type] # tests name real fields


def demand(body: Body, rung: Rung, kit: KitAtHome = FULL_KIT, **dials: float | str) -> float:
    """Demand of one setting; NaN where the body cannot take the pose."""
    plain = {name: values[0] for name, values in rung.dials.items()}
    turned = tuple(sorted((n, v) for n, v in dials.items() if plain.get(n) != v))
    return float(weigh_settings(body, rung, kit, [turned]).demand[0])
