"""Whether what a text mentions is said of the writer, now.

After NegEx (Chapman et al. 2001, J Biomed Inform 34:301-310) and ConText (Harkema et al. 2009,
J Biomed Inform 42:839-851): cues before or after a mention, each ended by its clause or a
terminator. Widened for chat: "is back" and "same as" undo the past, "me too" undoes another
person, a double negative asserts, and a cue that clears only doubtfully leaves a doubt.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from core.red_flags.clauses import Clauses
from core.red_flags.matching import Hit, Hits, Match
from core.red_flags.tokens import Gap, Token
from core.told_number import ToldNumber
from core.vocabulary import Sign

_NEG_MAY_REACH = 12  # words within which a denial leaves at least a doubt
_NEG_REACH = 8  # words a negation reaches forward, unless a list carries it on
_OTHER_REACH = 14
_FIRST_NOT_FAR_YEAR = 2025  # the core knows no date: a year from here on may be this year


class Status(StrEnum):
    """What scope makes of one mention."""

    ASSERTED = "asserted"
    GONE = "gone"  # said of the writer, recent, over by now
    NEGATED = "negated"
    NEGATED_PERHAPS = "negated_perhaps"
    PAST = "past"
    PAST_PERHAPS = "past_perhaps"
    SUPPOSED = "supposed"  # hypothetical, a question about nobody, the future
    SUPPOSED_PERHAPS = "supposed_perhaps"
    OTHER = "other"  # another person
    OTHER_PERHAPS = "other_perhaps"
    OTHER_NOW = "other_now"  # another person, in danger at this moment
    ORDINARY = "ordinary"  # an ordinary feeling of training
    ORDINARY_PERHAPS = "ordinary_perhaps"


@dataclass(frozen=True, slots=True)
class PreparedText:
    """A text prepared for scope: its tokens, concepts, clauses and the numbers told in it."""

    tokens: Sequence[Token]
    hits: Hits
    clauses: Clauses
    numbers: tuple[ToldNumber, ...] = ()


def is_by_another(scene: PreparedText) -> bool:
    """Whether somebody else writes on the owner's phone: "wife here", "this is his daughter"."""
    if scene.hits.of("BY_ANOTHER"):
        return True
    opened = scene.hits.within("PERSON_HERE", 0, len(scene.tokens))
    return any(
        hit.start == 0
        or scene.tokens[hit.start].gap is Gap.STOP
        or scene.tokens[hit.start - 1].word in _GREETINGS
        for hit in opened
    )


_GREETINGS = frozenset(["hi", "hello", "hey", "help", "its", "sorry", "please", "his", "her"])


def status_of(match: Match, scene: PreparedText) -> Status:
    """The status of ``match``; when several cues apply, the first of this order decides.

    Re-assertion, negation, another person, supposition, the past, gone, training.
    """
    if _is_negated(match, scene):
        if _is_reasserted(match, scene):
            return Status.ASSERTED
        return Status.NEGATED
    other = _other_person(match, scene)
    if other is not None:
        return other
    supposed = _supposed(match, scene)
    if supposed is not None:
        return supposed
    past = _past(match, scene)
    if past is not None:
        return past
    told_together = match.rule.firm and len(match.rule.concepts) > 1
    if not told_together and _is_negated_perhaps(match, scene):
        return Status.NEGATED_PERHAPS
    if _is_ordinary(match, scene):
        return Status.ORDINARY
    nearly = match.start > 0 and scene.tokens[match.start - 1].word in ("nearly", "almost")
    if nearly and match.rule.sign is Sign.FALL:
        return Status.ORDINARY_PERHAPS
    if match.rule.firm:
        return Status.GONE if _is_gone(match, scene) else Status.ASSERTED
    if any(doubt(match, scene) for doubt in (_is_of_thing, _is_in_fun, _is_from_training)):
        return Status.ORDINARY_PERHAPS
    if _is_gone(match, scene):
        return Status.GONE
    return Status.ASSERTED


def _is_negated(match: Match, scene: PreparedText) -> bool:
    clause = scene.clauses.clause_of(match.start)
    cues = [
        hit
        for hit in scene.hits.within("NEG", clause[0], match.end)
        if not _is_part_of_sign(hit, match, scene) and _reaches(hit, match, scene)
    ]
    if cues and scene.hits.within("DOUBLE_NEG", clause[0], match.end):
        return False
    return bool(cues) or _negated_after(match, scene, clause)


def _is_part_of_sign(cue: Hit, match: Match, scene: PreparedText) -> bool:
    """ "No noise", "not sweating": the denial names the sign, here or elsewhere in the match."""
    return any(
        hit.start <= cue.start and cue.end <= hit.end
        for concept in match.rule.concepts
        for hit in scene.hits.within(concept, cue.start - _LONGEST_NAME, cue.end + _LONGEST_NAME)
    )


_LONGEST_NAME = 8  # words


def _words_of(match: Match) -> set[int]:
    return {i for hit in match.hits for i in range(hit.start, hit.end)}


def _is_negated_perhaps(match: Match, scene: PreparedText) -> bool:
    """A denial stands before the mention in its clause, though it may not reach that far."""
    clause = scene.clauses.clause_of(match.start)
    begin = max(clause[0], match.start - _NEG_MAY_REACH)
    return any(
        not scene.hits.any_within(("RESET", "DOUBLE_NEG"), cue.start, match.start)
        for cue in scene.hits.within("NEG", begin, match.start)
        if not _is_part_of_sign(cue, match, scene)
    )


def _reaches(cue: Hit, match: Match, scene: PreparedText) -> bool:
    """Whether a negation before or inside ``match`` reaches it."""
    target = min((h.start for h in match.hits if h.start >= cue.end), default=match.end)
    if scene.hits.any_within(("RESET",), cue.end, target + 1):
        return False
    comma_seen = False
    for index in range(cue.end, target):
        token = scene.tokens[index]
        if token.gap is not Gap.NONE:
            comma_seen = True
        if token.word in _NEW_CLAUSE and _starts_own_clause(index, scene):
            return False
    if target < len(scene.tokens) and scene.tokens[target].gap is not Gap.NONE:
        comma_seen = True
    listed = scene.hits.any_within(("LIST",), cue.end, match.end + 3)
    if comma_seen and not listed:
        return _is_bare_list(cue, match, scene)
    return listed or target - cue.end <= _NEG_REACH


_NEW_CLAUSE = frozenset(
    ["i", "im", "ive", "my", "me", "its", "am", "feel", "feeling", "got", "his", "her", "he", "she"]
)


def _starts_own_clause(index: int, scene: PreparedText) -> bool:
    """A first person after a comma or joining word begins a clause that no earlier "no" covers."""
    token = scene.tokens[index]
    if token.gap is not Gap.NONE:
        return True
    before = scene.tokens[index - 1].word if index else ""
    return before in ("and", "so", "just", "because", "cos", "since", "when", "although", "then")


def _is_bare_list(cue: Hit, match: Match, scene: PreparedText) -> bool:
    """ "no pain, dizziness": after the comma come only the words of the mention itself."""
    verbs = scene.hits.any_within(("VERBISH",), match.start, match.end + 1)
    return not verbs and match.end - match.start <= 3 and match.start - cue.end <= _NEG_REACH


def _negated_after(match: Match, scene: PreparedText, clause: tuple[int, int]) -> bool:
    sentence = scene.clauses.sentence_of(match.start)
    if scene.tokens[match.start].asks:
        return False  # "is it ok?" denies nothing
    over_by_now = scene.hits.any_within(("TODAY",), *sentence)  # "this morning, all fine now"
    reach = min(clause[1], match.end + 6)
    for concept in ("NEG_AFTER",) if over_by_now else ("NEG_AFTER", "NEG_AFTER_SOFT"):
        for hit in scene.hits.within(concept, match.start + 1, clause[1]):
            if _is_of_sugar(hit, match, scene):
                continue
            if hit.start < reach and not scene.hits.any_within(("RESET",), match.end, hit.start):
                return True
    follows = match.end < len(scene.tokens)
    if follows and scene.tokens[match.end].word in ("no", "none", "nil", "nope"):
        return scene.tokens[match.end].gap is not Gap.STOP
    return False


def _is_of_sugar(cue: Hit, match: Match, scene: PreparedText) -> bool:
    """ "My sugar is normal": on a flozin ketones rise without sugar, so it calms nothing (MHRA)."""
    before = max(0, cue.start - _SUGAR_NEAR)
    return match.rule.sign in _KETONES and scene.hits.any_within(("NUM_SUGAR",), before, cue.start)


_KETONES = frozenset([Sign.FLOZIN_KETO, Sign.KETO_HIGH])
_SUGAR_NEAR = 3  # words


def _is_reasserted(match: Match, scene: PreparedText) -> bool:
    """ "never dizzy normally but today I am": a later ellipsis takes the mention up again."""
    sentence = scene.clauses.sentence_of(match.start)
    return scene.hits.any_within(("REASSERT",), match.end, min(len(scene.tokens), sentence[1] + 8))


def _other_person(match: Match, scene: PreparedText) -> Status | None:
    sentence = scene.clauses.sentence_of(match.start)
    start = sentence[0]
    if _is_own(match, scene) or match.rule.sign is Sign.ABUSE:
        return None  # abuse is done by another, to the writer
    used = _words_of(match)  # "seeing two of everyone" is nobody's but the writer's
    people = [
        h
        for concept in ("PERSON", "THEY")
        for h in scene.hits.within(concept, max(start, match.start - _OTHER_REACH), match.end)
        if h.start not in used
    ]
    if not people:
        return None
    nearest = max(people, key=lambda h: h.start)
    if scene.hits.any_within(("NOT_ME",), sentence[0], sentence[1]):
        return Status.OTHER
    if scene.hits.any_within(("SELF", "SELF_TOO"), nearest.end, match.start):
        return None
    if scene.hits.any_within(("SELF_TOO",), match.start, len(scene.tokens)):
        return None
    return _danger_to_other(match, scene, sentence)


def _is_own(match: Match, scene: PreparedText) -> bool:
    """The mention itself says "my" or "I": a report of another's words does not matter then."""
    clause = scene.clauses.clause_of(match.start)
    before = scene.tokens[match.start - 1].word if match.start else ""
    reach = 2 if before in _BETWEEN_MY_AND_PART else 1  # but not "a lady in my choir fainted"
    begin = max(clause[0], match.start - reach)
    inside = scene.hits.any_within(("SELF", "MY"), begin, match.end)
    return inside and not scene.hits.any_within(("PERSON", "THEY"), begin, match.end)


_BETWEEN_MY_AND_PART = frozenset(
    {"left", "right", "new", "old", "lower", "upper", "whole", "poor", "big", "bad", "good", "own"}
    | {"other", "replaced", "operated", "dodgy", "was", "is", "has", "have", "got", "keep", "had"}
)


def _danger_to_other(match: Match, scene: PreparedText, sentence: tuple[int, int]) -> Status:
    whole = (0, len(scene.tokens))
    if is_by_another(scene):
        return Status.OTHER_NOW
    lifeless = match.rule.sign is Sign.CARDIAC_ARREST  # its own words are no call for help
    cleared: tuple[str, ...] = ("PAST_FAR", "PAST_VAGUE", "HABIT", "RECENT", "RECOVERED", "IF")
    if match.rule.firm and len(match.rule.concepts) > 1:
        # Two things that go together are told of somebody's state, not in passing.
        cleared = ("PAST_FAR", "RECOVERED", "IF_EVER", "LONG_DEAD")
    if scene.hits.any_within(cleared, *sentence) or far_year(*sentence, scene.tokens):
        if scene.hits.any_within(("HELP",), *whole) and not lifeless:
            return Status.OTHER_NOW
        return Status.OTHER
    if scene.hits.any_within(("HELP",), *whole):
        return Status.OTHER_NOW
    if match.rule.firm:
        return Status.OTHER_NOW
    close = scene.hits.any_within(("AT_ONCE", "JUST", "HAPPENING_TO"), *sentence)
    return Status.OTHER_NOW if close else Status.OTHER_PERHAPS


def _supposed(match: Match, scene: PreparedText) -> Status | None:
    sentence = scene.clauses.sentence_of(match.start)
    clause = scene.clauses.clause_of(match.start)
    ever = scene.hits.within("IF_EVER", *sentence)
    if any(h.start == 0 or scene.tokens[h.start - 1].word != "as" for h in ever):
        return Status.SUPPOSED  # but not "as if somebody sat on me"
    if scene.hits.any_within(("REPORT",), *sentence):
        supposed = scene.hits.any_within(("IF",), clause[0], match.start)
        return Status.SUPPOSED_PERHAPS if supposed else None
    today = scene.hits.any_within(("TODAY", "NOW"), *sentence)
    if today and scene.hits.any_within(("SELF", "MY"), *sentence):
        return Status.SUPPOSED_PERHAPS if scene.tokens[match.start].asks else None
    if scene.hits.any_within(("IF",), clause[0], match.start):
        return Status.SUPPOSED
    if scene.hits.any_within(("AVOID",), clause[0], match.start + 1):
        return Status.SUPPOSED
    asks = scene.tokens[match.start].asks
    caused = scene.hits.any_within(("CAUSE",), sentence[0], match.start + 1)
    if caused and scene.hits.any_within(("ASKING",), sentence[0], match.start + 1):
        return Status.SUPPOSED
    opener = asks and scene.hits.any_within(("ASKING",), sentence[0], match.start + 1)
    if opener or scene.hits.any_within(("ASKING_PLAIN",), sentence[0], sentence[0] + 6):
        mine = scene.hits.any_within(("MINE_NOW",), sentence[0], sentence[1])
        return None if mine else Status.SUPPOSED
    if asks:
        mine = scene.hits.any_within(("MINE_NOW", "SELF", "MY"), sentence[0], sentence[1])
        return Status.SUPPOSED_PERHAPS if not mine else None
    return None


def _past(match: Match, scene: PreparedText) -> Status | None:
    sentence = scene.clauses.sentence_of(match.start)
    clause = scene.clauses.clause_of(match.start)
    recovered = scene.hits.any_within(("RECOVERED",), match.start, len(scene.tokens))
    present = ("NOW", "RETURNED", "SAME", "TODAY")
    today = scene.hits.any_within(("TODAY",), *clause) and not far_year(*clause, scene.tokens)
    if today and not recovered:
        return None
    if not recovered and scene.hits.any_within(present, clause[0], clause[1]):
        return None
    if scene.hits.any_within(("SAME", "RETURNED"), match.end, len(scene.tokens)):
        return None
    following = scene.clauses.clause_after(clause)
    reach = following[1] if following else clause[1]
    if scene.hits.any_within(("PAST_FAR",), clause[0], reach) or far_year(
        clause[0], reach, scene.tokens
    ):
        return Status.PAST
    if scene.hits.any_within(("PAST_FAR",), sentence[0], clause[0]):
        opened_by = scene.hits.any_within(("PAST_OPENS",), sentence[0], clause[0])
        return Status.PAST if opened_by else Status.PAST_PERHAPS
    if scene.hits.any_within(("PAST_VAGUE",), clause[0], reach):
        return Status.PAST_PERHAPS
    return None


def far_year(start: int, end: int, tokens: Sequence[Token]) -> bool:
    """Whether a year of long ago is named among tokens [start, end)."""
    return any(
        len(t.word) == 4 and t.word.isdigit() and 1930 <= int(t.word) < _FIRST_NOT_FAR_YEAR
        for t in tokens[start:end]
    ) or any(_is_short_year(index, tokens) for index in range(max(1, start), end))


def _is_short_year(index: int, tokens: Sequence[Token]) -> bool:
    """ "in '74", "summer 08,": two digits for a year, not for an hour or a day ("since 06")."""
    word = tokens[index].word
    if len(word) != 2 or not word.isdigit() or "10" <= word < "40":
        return False
    leads = ("summer", "winter") if word < "10" else ("in", "since", "summer", "winter", "back")
    if tokens[index - 1].word not in leads:
        return False
    following = tokens[index + 1] if index + 1 < len(tokens) else None
    return following is None or following.gap is not Gap.NONE or following.word in _AFTER_A_YEAR


_AFTER_A_YEAR = frozenset(["and", "when", "but", "after", "with", "on", "it", "they", "my", "i"])


def _is_ordinary(match: Match, scene: PreparedText) -> bool:
    sentence = scene.clauses.sentence_of(match.start)
    ordinary_breath = match.rule.sign in (Sign.BREATHLESS_REST, Sign.BREATHLESS_EFFORT)
    if ordinary_breath and scene.hits.any_within(("TALKING",), *sentence):
        return True  # the talk test: who can chat is not short of breath
    if _is_sore_muscle(match, scene):
        return True
    return match.rule.weak and scene.hits.any_within(("FINE_SOON",), *sentence)


def _is_of_thing(match: Match, scene: PreparedText) -> bool:
    """The subject is a thing ("the router went black"), unless it is only where it happened."""
    for hit in scene.hits.within("THING", max(0, match.start - 3), match.end):
        before = [t.word for t in scene.tokens[max(0, hit.start - 2) : hit.start]]
        if not any(word in _PLACE_WORDS for word in before):
            return True
    return False


_PLACE_WORDS = frozenset(["in", "on", "off", "over", "at", "by", "into", "from", "near", "against"])


def _is_in_fun(match: Match, scene: PreparedText) -> bool:
    # Laughing is no denial of what is said in plain words.
    cues = ("FUN", "LAUGH") if match.rule.weak else ("FUN",)
    return scene.hits.any_within(cues, *scene.clauses.sentence_of(match.start))


def _is_from_training(match: Match, scene: PreparedText) -> bool:
    """A chest that aches from the exercise it has just done, with nothing alarming beside it."""
    if match.rule.sign is not Sign.CHEST_PAIN:
        return False
    worked = scene.hits.any_within(("FROM_TRAINING",), *scene.clauses.sentence_of(match.start))
    return worked and not scene.hits.any_within(_ALARMING, 0, len(scene.tokens))


def _is_sore_muscle(match: Match, scene: PreparedText) -> bool:
    """Chest muscles named as such, sore from what they did: the day after training."""
    if "PAIN" not in match.rule.concepts or not _is_from_training(match, scene):
        return False
    sentence = scene.clauses.sentence_of(match.start)
    named = scene.hits.any_within(("CHEST_MUSCLE",), *sentence)
    return named and not scene.hits.any_within(("NOT_THAT",), 0, len(scene.tokens))


_ALARMING = ("SWEAT", "JAW_ONLY", "LEFT_ONLY", "BREATHLESS", "CANT_BREATHE", "ANGINA", "DIZZY")


def _is_gone(match: Match, scene: PreparedText) -> bool:
    end = min(len(scene.tokens), match.end + 14)
    on = {hit.start for hit in scene.hits.of("SPREADS")}  # what has gone down my arm is not over
    return any(hit.start not in on for hit in scene.hits.within("GONE", match.start, end))
