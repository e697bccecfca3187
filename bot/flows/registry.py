"""All conversations and desks by name."""

from collections.abc import Mapping
from typing import cast

from bot.flows import (
    alert_desk,
    checkin,
    client_desk,
    coach_alerts,
    coach_client,
    coach_clients,
    coach_correct,
    coach_doses,
    coach_hold,
    coach_invite,
    coach_join,
    coach_leave,
    coach_lift,
    coach_menu,
    coach_note,
    coach_rebind,
    coach_rungs,
    coach_settings,
    coach_start,
    coach_test,
    feeling,
    health_change,
    home_test,
    how_hard,
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
    health_change,
    home_test,
    how_hard,
    join,
    menu,
    message,
    own_data,
    progress,
    safety,
    settings,
    today,
)
_COACH = (
    coach_alerts,
    coach_client,
    coach_clients,
    coach_correct,
    coach_doses,
    coach_hold,
    coach_invite,
    coach_join,
    coach_leave,
    coach_lift,
    coach_menu,
    coach_note,
    coach_rebind,
    coach_rungs,
    coach_settings,
    coach_start,
    coach_test,
)
_DESKS = (alert_desk, client_desk, OpenDesk(), PassOnDesk(), SilenceDesk())

FLOWS: Mapping[str, Flow] = {flow.NAME: cast(Flow, flow) for flow in (*_CLIENT, *_COACH)}

DESKS: Mapping[str, Desk] = {cast(Desk, desk).NAME: cast(Desk, desk) for desk in _DESKS}
