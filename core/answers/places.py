"""The country in which somebody lives, by its name or that of a place in it."""

from core.answers.said import clauses
from core.answers.words import SentenceWords, Understood


def read_country(text: str, words: SentenceWords) -> Understood[str] | None:
    """The ISO code of the country; where one was born or came from does not count.

    It is never sure: towns of one name lie in several countries.
    """
    said = clauses(text, words, words.towns)
    lived: list[tuple[str, bool, bool]] = []
    for clause in said:
        for hit in words.towns.hits(clause):
            before = clause[max(0, hit.start - 3) : hit.start]
            from_there = words.lists["came_from"].stands_in(before)
            named = words.lists["country_names"].are(clause[hit.start : hit.end])
            lived.append((hit.code, named, from_there))
    here = [one for one in lived if not one[2]] or lived
    if not here:
        return None
    by_name = [code for code, is_name, _from in here if is_name]
    codes = by_name or [code for code, _is_name, _from in here]
    return Understood(codes[-1], sure=False)
