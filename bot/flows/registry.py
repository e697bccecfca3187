"""All conversations and desks by name."""

from collections.abc import Mapping
from types import ModuleType
from typing import cast

from bot.flows import (
    checkin,
    feeling,
    join,
    menu,
    message,
    own_data,
    progress,
    safety,
    settings,
    today,
)
from bot.flows.desks import OpenDesk, PassOnDesk, SilenceDesk
from bot.flows.machine import Desk, Flow

_CLIENT = (
    checkin,
    feeling,
    join,
    menu,
    message,
    own_data,
    progress,
    safety,
    settings,
    today,
)
_COACH: tuple[ModuleType, ...] = ()

FLOWS: Mapping[str, Flow] = {module.NAME: cast(Flow, module) for module in (*_CLIENT, *_COACH)}

DESKS: Mapping[str, Desk] = {desk.NAME: desk for desk in (OpenDesk(), PassOnDesk(), SilenceDesk())}
