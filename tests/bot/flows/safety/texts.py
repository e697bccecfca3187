"""Every safety text in final words, as each kind of client would get it.

``python -m tests.bot.flows.safety.texts`` prints them all, to be read slowly.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from bot.alerts.policy import UnseenText
from bot.flows.facts import Alert, ClientRecord
from bot.flows.machine import Say, rows_of
from bot.flows.safety.advice import advice, advice_values, call_again, question, which_sign
from bot.flows.safety.opening import Heard
from bot.flows.safety.treatment import Remedy, question_about
from bot.messages import Kind, Outgoing
from core.vocabulary import AlertId, AlertLevel, Condition, Medicine, Sign
from tests.support.facts import BACKUP, BOB, COACH, NOW, Record
from tests.support.talk import rendered

PLAN = "One spray under the tongue. Sit down and rest."
DOUBT = "I my chest felt odd for a moment"
"""Words that a question is about."""
COUNTRIES = ("NZ", "GB", "US", "MX", "")
"""With all lines, with another, with few, with no number known, and no country at all."""

LOUD = (AlertLevel.EMERGENCY, AlertLevel.URGENT)
ADVISED = tuple(sign for sign in Sign if sign not in (Sign.NEW_PAIN, Sign.UNREAD))
"""Signs that advice may be about; new pain and unread messages have words of their own."""


@dataclass(frozen=True, slots=True)
class ClientKind:
    """One kind of client: what the advice depends on."""

    name: str
    conditions: frozenset[Condition] = frozenset()
    medicines: frozenset[Medicine] = frozenset()
    plan: str = ""


CLIENTS = (
    ClientKind("well"),
    ClientKind("angina with a plan", frozenset({Condition.ANGINA}), plan=PLAN),
    ClientKind("asthma with a plan", frozenset({Condition.ASTHMA}), plan=PLAN),
    ClientKind("diabetic", frozenset({Condition.DIABETES}), frozenset({Medicine.INSULIN})),
    ClientKind("on a blood thinner", medicines=frozenset({Medicine.BLOOD_THINNER})),
)


@dataclass(frozen=True, slots=True)
class Text:
    """One text: who gets it for what, and its final words."""

    client: ClientKind
    country: str
    level: AlertLevel | None
    signs: tuple[Sign, ...]
    when: str
    template: str
    outgoing: Outgoing

    @property
    def title(self) -> str:
        """All that led to it, in one line."""
        signs = "+".join(self.signs) or "no sign"
        where = self.country or "no country"
        return (
            f"{self.template} | {self.level} | {signs} | {self.when} | {self.client.name} | {where}"
        )


def facts_for(client: ClientKind, country: str) -> Record:
    """A record with one such client."""
    facts = Record(BOB)
    facts.write(BOB, country=country)
    facts.save(BOB, home="1 Kauri Street", phone="+64215550101")
    return facts


def record_for(client: ClientKind, facts: Record) -> ClientRecord:
    """The client's record."""
    record = facts.client(BOB.id)
    body = replace(record.client, conditions=client.conditions, medicines=client.medicines)
    return replace(record, client=body, doctor_plan=client.plan)


def advices(*many: tuple[Sign, ...], countries: tuple[str, ...] = COUNTRIES) -> Iterator[Text]:
    """The advice on each of these at both levels, for everybody, in every circumstance."""
    circumstances: dict[str, dict[str, Any]] = {
        "": {},
        "unanswered": {"heard": Heard.SILENCE},
        "not understood": {"heard": Heard.UNCLEAR},
        "earlier": {"earlier": True},
        "for somebody else": {"for_other": True},
    }
    for client, country in product(CLIENTS, countries):
        facts = facts_for(client, country)
        record = record_for(client, facts)
        for signs, level, (when, how) in product(many, LOUD, circumstances.items()):
            say = advice(level, signs, record, facts.reference.signs, **how)
            outgoing = rendered(say, facts)
            yield Text(client, country, level, signs, when, say.template, outgoing)


def others(countries: tuple[str, ...] = COUNTRIES) -> Iterator[Text]:
    """Everything else that the safety conversation says."""
    emergency = _alert(AlertLevel.EMERGENCY)
    for client, country, reached in product(CLIENTS, countries, (True, False)):
        facts = facts_for(client, country)
        record = record_for(client, facts)
        if not reached:
            facts.cut_off(COACH, BACKUP)
            for level, signs, for_other in product(LOUD, NOBODY_HEARS, (False, True)):
                say = advice(level, signs, record, facts.reference.signs, for_other=for_other)
                when = "for somebody else" if for_other else ""
                title = f"{when} nobody hears".strip()
                outgoing = rendered(say, facts)
                yield Text(client, country, level, signs, title, say.template, outgoing)
        says = [which_sign(), *call_again(emergency)]
        says += [question((), about, again=a) for about in ("", DOUBT) for a in (False, True)]
        says += [Say(f"safety/{name}", {"tongue": ""}) for name in PLAIN]
        says += [Say("safety/thank_you", {"when": when}) for when in ("now", "earlier")]
        says += [
            Say(f"safety/{name}", {"is_emergency": e, "over": over})
            for name in ("words_passed_on", "wrong_button")
            for e, over in product((True, False), repeat=2)
        ]
        says += [
            Say(f"safety/{name}", {"home": home, "again": again, "signs": signs})
            for name in ("cannot_call", "good_you_called")
            for home, again in product(("1 Kauri Street", ""), (False, True))
            for signs in HELP_SIGNS
        ]
        for remedy in Remedy:
            says += [*question_about(remedy, facts)]
            says.append(Say("safety/it_helped", {"remedy": remedy.value}, kind=Kind.SAFETY))
        says.append(Say("safety/coach_seen", {"coach_name": "Robin"}, kind=Kind.SAFETY))
        says.append(Say("alerts/reaches_nobody", kind=Kind.ALERT))
        for say in says:
            yield Text(client, country, None, (), "", say.template, rendered(say, facts))
        for template, signs, called in product(UnseenText, UNSEEN_SIGNS, ("", "yes", "cannot")):
            rows = () if template is UnseenText.URGENT else rows_of("called", "cannot")
            for urgent in (True, False):
                values = {"signs": signs, "called": called, "is_emergency": not urgent}
                say = Say(f"safety/{template.value}", values, rows=rows)
                title = f"{called} {signs}"
                yield Text(client, country, None, (), title, say.template, rendered(say, facts))
        for sign in (Sign.CHEST_PAIN, Sign.BREATHLESS_REST, Sign.FAINT, Sign.STROKE):
            tapped = Say(
                "safety/now_or_earlier",
                advice_values((sign,), record),
                rows=rows_of("when=now when=earlier"),
            )
            yield Text(client, country, None, (sign,), "", tapped.template, rendered(tapped, facts))


UNSEEN_SIGNS = (
    *([], ["chest_pain"], ["asthma_severe"], ["fall"], ["silent_session"], ["self_harm"]),
    ["co_gas"],
)

HELP_SIGNS = ([], ["co_gas"], ["anaphylaxis"])
"""Who may go to the door, who may not go back to it, and who may not get up."""

NOBODY_HEARS = ((), (Sign.CHEST_PAIN,), (Sign.SELF_HARM,), (Sign.ABUSE,))
"""Signs that stand for each template of the advice, where no coach has an open chat."""

PLAIN = ("glad_it_is_not", "unread", "fever", "noted", "heard", "for_coach", "for_stranger")
PLAIN += ("care_for_stranger", "other_for_stranger", "which_unit", "no_clear_answer")
PLAIN += ("pulse_again", "still_on", "sugar_again", "not_kept")


def _alert(level: AlertLevel) -> Alert:
    return Alert(
        id=AlertId(1),
        client_id=BOB.id,
        level=level,
        signs=(Sign.CHEST_PAIN,),
        words=(),
        for_other=False,
        raised_at=NOW,
        round=1,
        chases=1,
        called="",
        seen_at=None,
        seen_by="",
        closed=False,
        newest_sign_at=NOW,
    )


def main() -> None:
    """Print each different text once, under all that leads to it first."""
    shown: set[str] = set()
    for text in (*advices((), *((sign,) for sign in ADVISED)), *others()):
        if text.outgoing.text not in shown:
            shown.add(text.outgoing.text)
            buttons = " | ".join(c.label for row in text.outgoing.choices for c in row)
            sys.stdout.write(f"=== {text.title}\n{text.outgoing.text}\n[{buttons}]\n\n")
    sys.stdout.write(f"{len(shown)} different texts\n")


if __name__ == "__main__":
    main()
