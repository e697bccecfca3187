"""All conversations and handlers by name."""

from collections.abc import Mapping
from typing import cast

from bot.flows.client import (
    checkin,
    feeling,
    health_change,
    home_test,
    how_hard,
    later_low,
    menu,
    message,
    own_data,
    settings,
    today,
)
from bot.flows.client.asking import asked
from bot.flows.client.buttons import (
    HandOverHandler,
    LetterHandler,
    OpenHandler,
    PassOnHandler,
    QuietHandler,
    SilenceHandler,
)
from bot.flows.client.week import progress, sink, walk
from bot.flows.coach.alerts import buttons as alert_handler
from bot.flows.coach.alerts import hold as coach_hold
from bot.flows.coach.alerts import lift as coach_lift
from bot.flows.coach.alerts import open_alerts as coach_alerts
from bot.flows.coach.client import answer as coach_answer
from bot.flows.coach.client import ask_home_test as coach_test
from bot.flows.coach.client import buttons as client_handler
from bot.flows.coach.client import clearing as coach_start
from bot.flows.coach.client import correct as coach_correct
from bot.flows.coach.client import doses as coach_doses
from bot.flows.coach.client import leave as coach_leave
from bot.flows.coach.client import life as coach_life
from bot.flows.coach.client import note as coach_note
from bot.flows.coach.client import notes as coach_notes
from bot.flows.coach.client import open_card as coach_client
from bot.flows.coach.client import overrule as coach_overrule
from bot.flows.coach.client import rungs as coach_rungs
from bot.flows.coach.client import watched as coach_watched
from bot.flows.coach.client import week as coach_week
from bot.flows.coach.practice import client_list as coach_clients
from bot.flows.coach.practice import invite as coach_invite
from bot.flows.coach.practice import join as coach_join
from bot.flows.coach.practice import menu as coach_menu
from bot.flows.coach.practice import own_days as coach_days
from bot.flows.coach.practice import rebind as coach_rebind
from bot.flows.coach.practice import settings as coach_settings
from bot.flows.joining import join
from bot.flows.machine import CallbackHandler, Flow
from bot.flows.safety import treatment
from bot.flows.safety import warning as safety

_CLIENT = (
    asked,
    checkin,
    feeling,
    health_change,
    home_test,
    how_hard,
    join,
    later_low,
    menu,
    message,
    own_data,
    progress,
    safety,
    settings,
    sink,
    today,
    treatment,
    walk,
)
_COACH = (
    coach_alerts,
    coach_answer,
    coach_client,
    coach_clients,
    coach_correct,
    coach_days,
    coach_doses,
    coach_hold,
    coach_invite,
    coach_join,
    coach_leave,
    coach_life,
    coach_lift,
    coach_menu,
    coach_note,
    coach_notes,
    coach_overrule,
    coach_rebind,
    coach_rungs,
    coach_settings,
    coach_start,
    coach_test,
    coach_watched,
    coach_week,
)
_CALLBACK_HANDLERS = (
    alert_handler,
    client_handler,
    OpenHandler(),
    HandOverHandler(),
    LetterHandler(),
    PassOnHandler(),
    SilenceHandler(),
    QuietHandler(),
    coach_watched.WatchedHandler(),
)

FLOWS: Mapping[str, Flow] = {flow.NAME: cast(Flow, flow) for flow in (*_CLIENT, *_COACH)}

CALLBACK_HANDLERS: Mapping[str, CallbackHandler] = {
    cast(CallbackHandler, handler).NAME: cast(CallbackHandler, handler)
    for handler in _CALLBACK_HANDLERS
}
