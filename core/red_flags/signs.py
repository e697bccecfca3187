"""What each warning sign means: its level, the first action, whether it holds training."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from core.errors import LexiconError
from core.vocabulary import AlertLevel, Sign, TextLevel


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
    needs_clearance: bool
    past_after_days: int
    earlier_level: AlertLevel
    asked: bool

    @property
    def text_level(self) -> TextLevel:
        """The level of a text that asserts this sign; a mention reads as none with its sign."""
        if self.level is AlertLevel.MENTION:
            return TextLevel.NONE
        return TextLevel(self.level.value)


SignTable = Mapping[Sign, SignRule]


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
            needs_clearance=bool(row["needs_clearance"]),
            past_after_days=int(row["past_after_days"]),
            earlier_level=AlertLevel(row["earlier"]),
            asked=bool(row["asked"]),
        )
    except (KeyError, ValueError, TypeError) as error:
        raise LexiconError(f"signs.yaml: {name}: {error!r}") from error
    if rule.past_after_days < 1:
        raise LexiconError(f"signs.yaml: {name}: past_after_days must be 1 or more")
    return rule
