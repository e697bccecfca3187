"""What plainly answers a joining question, however it reads to somebody who looks for signs.

The joining form asks for illnesses, operations and what the body cannot do; telling them is no
alarm. What else stands in the words is: a chest that is tight now, a new joint that is hot.
"""

import re

from bot.flows.facts import Facts
from bot.flows.form_question import FormQuestion, Setting
from bot.flows.forms import BACK, DONE, NONE, SKIP
from bot.flows.joining.operation_answers import KEYS as OPERATION_KEYS
from bot.flows.joining.questions import JOIN_FORM
from bot.flows.joining.sentences import CONDITION_QUESTIONS, MEDICINE_QUESTIONS
from bot.flows.machine import State
from bot.flows.parsing import Reask, read_choice, read_many
from bot.flows.safety.answers import has_any, is_address
from core.answers.health import tells_nothing_else
from core.red_flags.reading import Reading, TextReasonCode
from core.vocabulary import Sign, TextLevel

HEALTH_QUESTIONS = frozenset(
    {
        "conditions_heart",
        "conditions_other",
        "replaced_joints",
        "operations",
        "doctor_said",
        "other_health",
        *OPERATION_KEYS,
    }
)
"""Where an operation may be told."""
LISTED_HEALTH = frozenset({*CONDITION_QUESTIONS, *MEDICINE_QUESTIONS, "medicines_any"})
"""Where conditions and medicines are told."""
ABILITY_QUESTIONS = frozenset({"floor", "spares", "falls", "fears_falling", "walking_aid"})
"""Where it is told what the body cannot do."""
NEVER_A_PLAN = frozenset({Sign.SELF_HARM, Sign.ABUSE})
"""What no doctor's plan is about."""


def plainly_answers(state: State, text: str, facts: Facts) -> bool:
    """Whether typed words can be nothing but the answer to the open question."""
    question = JOIN_FORM.by_key.get(state.step)
    if question is None:
        return False
    setting = Setting(state.answers.get("given", {}), facts)
    if question.key == "home":
        return is_address(text, facts.reference.safety_answers)
    if _steers(question, text, setting):
        return True
    if question.free:
        return False
    if question.many:
        return _only_choices(question, text, setting)
    return not isinstance(question.read(text, setting), Reask)


def tells_what_was_asked(state: State, text: str, reading: Reading, facts: Facts) -> bool:
    """Whether a sign that was read in an answer is what the open question asks about."""
    question = JOIN_FORM.by_key.get(state.step)
    if question is None:
        return False
    words = facts.reference.safety_answers
    if question.many:
        setting = Setting(state.answers.get("given", {}), facts)
        if _only_choices(question, text, setting):
            return True
    if question.key == "doctor_plan":
        # "Two puffs if short of breath" is the plan; "I am short of breath" is not.
        plan = has_any(text, words["plan_words"]) and has_any(text, words["plan_if"])
        own = NEVER_A_PLAN.isdisjoint(reading.signs)
        return own and plan and not has_any(text, words["said_of_now"])
    guessed = (
        reading.level is TextLevel.ASK and reading.because.code is TextReasonCode.SECOND_OPINION
    )
    if not guessed:
        return False
    signs = set(reading.signs)
    if question.key in LISTED_HEALTH and not has_any(text, words["said_of_now"]):
        # "I have high blood pressure and take bisoprolol" is what was asked, word for word.
        return tells_nothing_else(text, facts.reference.sentences)
    if question.key in ABILITY_QUESTIONS:
        return signs <= {Sign.FALL, Sign.UNSURE} and not has_any(text, words["said_of_now"])
    operated = has_any(text, words["operation"]) or has_any(text, words["past"])
    return (
        question.key in HEALTH_QUESTIONS
        and signs <= {Sign.JOINT_REPLACEMENT}
        and operated
        and not has_any(text, words["operation_trouble"])
    )


def beside_the_answer(state: State, text: str, facts: Facts) -> str:
    """What stands in a text beside the doctor's plan: all that is said under no condition."""
    if state.step != "doctor_plan":
        return ""
    words = facts.reference.safety_answers
    apart = "|".join(re.escape(word) for word in sorted(words["plan_apart"]))
    joins = "|".join(re.escape(word) for word in sorted(words["plan_joins"]))
    parts = re.split(
        rf"[.!?;\n]+|,\s*|\b(?:{joins})\s+(?=(?:{apart})\b)", text, flags=re.IGNORECASE
    )
    told = (part.strip() for part in parts if not _of_the_plan(part, facts))
    return ". ".join(filter(None, told))


def _of_the_plan(part: str, facts: Facts) -> bool:
    """What to do in a case, or how often; the latter in nobody's first person."""
    words = facts.reference.safety_answers
    if has_any(part, words["plan_when"]):
        return True
    dosed = has_any(part, words["plan_words"]) and has_any(part, words["plan_if"])
    return dosed and not has_any(part, words["plan_apart"])


def _only_choices(question: FormQuestion, text: str, setting: Setting) -> bool:
    """Whether the text names choices of the question and nothing else."""
    codes = [option.code for option in question.options(setting)]
    found, unknown = read_many(text, codes, setting.spoken(question.group), setting.words)
    return bool(found) and not unknown


def _steers(question: FormQuestion, text: str, setting: Setting) -> bool:
    """Whether the text is a word of the form itself ("skip")."""
    wanted = [BACK]
    wanted += [SKIP] if question.skippable else []
    wanted += [DONE, NONE] if question.many else []
    return not isinstance(read_choice(text, wanted, setting.spoken("form")), Reask)
