"""What each warning sign means: its level, the first action, whether it holds training."""

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from enum import StrEnum

from core.errors import LexiconError
from core.vocabulary import AlertLevel, Condition, Sign, TextLevel


class FirstAction(StrEnum):
    """What the first line of the advice tells the client to do; templates hold the words."""

    CALL_NOW = "call_now"
    GO_TO_HOSPITAL = "go_to_hospital"
    DOCTOR_TODAY = "doctor_today"
    FAST_SUGAR = "fast_sugar"
    CRISIS_LINE = "crisis_line"
    SAFE_PLACE = "safe_place"
    REST_TODAY = "rest_today"
    LEAVE_IT_OUT = "leave_it_out"
    ANSWER_COACH = "answer_coach"
    CALL_IF_URGENT = "call_if_urgent"
    COUGH_HARD = "cough_hard"
    USE_PEN = "use_pen"
    GET_OUT = "get_out"
    CALL_DEVICE_CLINIC = "call_device_clinic"
    EAT_NOW = "eat_now"
    TAKE_NO_MORE = "take_no_more"
    COOL_IT = "cool_it"
    MEASURE_AGAIN = "measure_again"
    TALK_WITH_COACH = "talk_with_coach"


@dataclass(frozen=True, slots=True)
class LiftRule:
    """Whose word lifts a hold: a clinician's (``always`` or with these conditions) or a coach's."""

    always: bool
    conditions: frozenset[Condition] = frozenset()

    def needs_clinician(self, conditions: Set[Condition]) -> bool:
        """Whether a clinician must have cleared a client with these conditions."""
        return self.always or not self.conditions.isdisjoint(conditions)


@dataclass(frozen=True, slots=True)
class SignRule:
    """One line of signs.yaml.

    ``past_after_days``: reported as older than this many days it is history. ``earlier_level``: the
    level when the client answers "earlier". ``asked``: whether doubt may be put as a question.
    """

    id: Sign
    level: AlertLevel
    first_action: FirstAction
    holds_training: bool
    past_after_days: int
    earlier_level: AlertLevel
    asked: bool
    lift: LiftRule

    @property
    def text_level(self) -> TextLevel:
        """The level of a text that asserts this sign; a mention reads as none with its sign."""
        if self.level is AlertLevel.MENTION:
            return TextLevel.NONE
        return TextLevel(self.level.value)


SignTable = Mapping[Sign, SignRule]


def clinician_due(
    signs: Iterable[Sign],
    level: AlertLevel | None,
    conditions: Set[Condition],
    rules: SignTable,
) -> bool:
    """Whether only a clinician's word lifts the hold behind which these signs stand.

    Args:
        level: of the client's open alert, if there is one.
        conditions: the client's.
    """
    return level is AlertLevel.EMERGENCY or any(
        rules[sign].lift.needs_clinician(conditions) for sign in signs
    )


def parse_signs(data: Mapping[str, object]) -> dict[Sign, SignRule]:
    """The signs table from the parsed signs.yaml.

    Raises LexiconError naming the sign that is missing, unknown or wrong.
    """
    missing = {sign.value for sign in Sign} - set(data)
    unknown = set(data) - {sign.value for sign in Sign}
    if missing or unknown:
        raise LexiconError(f"signs.yaml: missing {sorted(missing)}, unknown {sorted(unknown)}")
    return {Sign(name): _parse_rule(name, row) for name, row in data.items()}


def _parse_rule(name: str, row: object) -> SignRule:
    if not isinstance(row, Mapping):
        raise LexiconError(f"signs.yaml: {name} must be a mapping")
    try:
        rule = SignRule(
            id=Sign(name),
            level=AlertLevel(row["level"]),
            first_action=FirstAction(row["first_action"]),
            holds_training=bool(row["holds_training"]),
            past_after_days=int(row["past_after_days"]),
            earlier_level=AlertLevel(row["earlier"]),
            asked=bool(row["asked"]),
            lift=_parse_lift(row["lift"]),
        )
    except (KeyError, ValueError, TypeError) as error:
        raise LexiconError(f"signs.yaml: {name}: {error!r}") from error
    if rule.past_after_days < 1:
        raise LexiconError(f"signs.yaml: {name}: past_after_days must be 1 or more")
    if rule.level is AlertLevel.EMERGENCY and not rule.lift.always:
        raise LexiconError(f"signs.yaml: {name}: an emergency is lifted by a clinician only")
    return rule


def _parse_lift(value: object) -> LiftRule:
    """Raises ValueError for anything but the three forms that the head of signs.yaml names."""
    if value in ("clinician", "coach"):
        return LiftRule(always=value == "clinician")
    if (
        not isinstance(value, Mapping)
        or set(value) != {"clinician_if"}
        or not value["clinician_if"]
    ):
        raise ValueError(f"lift: {value!r}")
    return LiftRule(False, frozenset(Condition(name) for name in value["clinician_if"]))
