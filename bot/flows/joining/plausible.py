"""Words that plainly answer another question: a date is no address, a sex no name."""

from bot.flows.form_question import Setting
from bot.flows.safety.answers import is_address
from core.answers.choices import choose
from core.answers.moments import read_date
from core.answers.plain import bare

MOST_DATE_WORDS = 3
"""Words of a date that stands alone: "12 March 1950"."""


def answers_something_else(text: str, setting: Setting) -> bool:
    """Whether a text is a question, a date alone, or says of oneself only "a woman" or "a man"."""
    words, said = setting.sentences, bare(text)
    if is_address(text, setting.facts.reference.safety_answers):
        return False
    if "?" in text:
        return True
    dated = bool(said) and said[0].isdigit() and len(said) <= MOST_DATE_WORDS
    if dated and read_date(text, setting.today, words) is not None:
        return True
    # "My sister" tells a sex too, and who to call.
    other = words.lists["relations"].stands_in(said)
    return not other and choose(text, "sex", words) is not None
