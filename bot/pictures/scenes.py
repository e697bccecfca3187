"""Scenes for pictures outside a chat: a client's step, and every rung for a contact sheet."""

from bot.pictures.store import setting_from
from core.client.client import Client, KitAtHome
from core.figure.people import LOOKS, look_for
from core.figure.scene import Scene
from core.mechanics.body import Body, body_of
from core.movements.catalogue import Catalogue
from core.vocabulary import Band, Family, Sex

SHEET_BODY = Body(Sex.FEMALE, 1.65, 68.0)
SHEET_KIT = KitAtHome(
    chair=43.0, bench=90.0, table=75.0, step=18.0, bottle=1.5, band=Band.LIGHT, wall=True, mat=True
)


def scene_of(step_key: str, client: Client, family: Family, catalogue: Catalogue) -> Scene:
    """The scene of a stored step for this client's body and kit.

    Raises:
        KeyError: the catalogue has no such rung.
    """
    rung_id, _, dials = step_key.partition("@")
    return Scene(
        rung=catalogue.by_id[rung_id],
        setting=setting_from(dials),
        body=body_of(client),
        kit=client.kit,
        look=look_for(client.name, family.value),
    )


def scenes_of_all(catalogue: Catalogue) -> list[Scene]:
    """Every rung at its plain setting on one body with full kit; people take turns."""
    looks = tuple(LOOKS.values())
    return [
        Scene(rung, (), SHEET_BODY, SHEET_KIT, looks[k % len(looks)])
        for k, rung in enumerate(catalogue)
    ]
