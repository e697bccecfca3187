"""Wishes in clients' own words."""

import pytest

from bot.flows.walk_words import wished_activity
from bot.flows.wishes import MovementWish, wish_of
from core.programme.walking import Activity
from core.vocabulary import Family
from tests.support.facts import reference

WISHES = (
    ("easier squat please", "easier", "squat"),
    ("make it easier", "easier", ""),
    ("easier squat", "easier", "squat"),
    ("Harder push up!", "harder", "push"),
    ("too hard", "easier", ""),
    ("this is too easy", "harder", ""),
    ("no kit", "no_kit", ""),
    ("can I have an easier squat", "easier", "squat"),
    ("Could I have an easier squat please?", "easier", "squat"),
    ("give me something easier", "easier", ""),
    ("The push ups are too hard for me", "easier", "push"),
    ("I can't do the squats today", "easier", "squat"),
    ("cant we make the sqaut easier", "easier", "squat"),
    ("I am struggling with the calf raises", "easier", "heel_raise"),
    ("please make my wall push easier", "easier", "push"),
    ("is there a gentler way to do the heel lifts?", "easier", "heel_raise"),
    ("the squat is too easy", "harder", "squat"),
    ("can I try a harder squat", "harder", "squat"),
    ("the bridge is not hard enough", "harder", "bridge"),
    ("I haven't got a band here", "no_kit", ""),
    ("no bench today for the push ups", "no_kit", "push"),
)

NEWS = (
    "my squat felt easier today",
    "it is getting easier every week",
    "easier squat than on Monday",
    "the squat was easier than on Monday, thanks",
    "not too hard at all",
    "the push ups were not too hard",
    "I like the squat",
    "can I train on Thursday instead?",
    "my grandson is having a hard time at school",
    "Tuesday",
    "15",
    "please tell Moana that the new chair came and that it is far too hard to sit on for very long",
    "",
    "🙂",
)


@pytest.mark.parametrize(("text", "what", "family"), WISHES)
def test_a_wish_is_understood_with_the_movement_it_names(text: str, what: str, family: str):
    assert wish_of(text, reference().wishes) == MovementWish(what, family)


@pytest.mark.parametrize("text", NEWS)
def test_news_is_not_taken_for_a_wish(text: str):
    assert wish_of(text, reference().wishes) is None


def test_every_family_that_is_named_is_one_of_the_catalogue():
    assert set(reference().wishes.families) <= set(Family)


@pytest.mark.parametrize(
    ("text", "activity"),
    [
        ("I'd rather cycle", Activity.CYCLE),
        ("Can I swim instead?", Activity.SWIM),
        ("I would rather dance than walk", Activity.DANCE),
        ("could I do some gardening instead of walking, please", Activity.GARDEN),
        ("can I walk instead", Activity.WALK),
        ("I prefer the exercise bike", Activity.CYCLE),
        ("I cycled 20 minutes", None),
        ("can I swim with my chest pain", None),
        ("I'd rather not cycle", None),
        ("can I cycle with a sore knee", None),
        ("I'd rather rest", None),
    ],
)
def test_another_activity_is_wished_for_in_plain_words_alone(text: str, activity: Activity | None):
    assert wished_activity(text, reference().walks) is activity
