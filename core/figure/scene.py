"""What a picture is of: a rung at a dial setting, done by a body with its kit."""

from dataclasses import dataclass

from core.client.client import KitAtHome
from core.figure.people import Look
from core.mechanics.body import Body
from core.movements.catalogue import DialValue, Rung, Setting


@dataclass(frozen=True, slots=True)
class Scene:
    """What a picture is of.

    Attributes:
        setting: the dials that are not at their plain value.
    """

    rung: Rung
    setting: Setting
    body: Body
    kit: KitAtHome
    look: Look

    @property
    def holds(self) -> bool:
        """Whether the rung is a position to hold."""
        return self.rung.unit == "seconds"

    def dial(self, name: str) -> DialValue | None:
        """The value of a dial; ``None`` where the rung has no such dial."""
        plain = self.rung.dials.get(name)
        return dict(self.setting).get(name, plain[0]) if plain else None
