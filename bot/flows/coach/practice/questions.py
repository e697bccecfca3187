"""The coach's questions about herself: where she is, when her list comes, who stands in for her."""

from collections.abc import Mapping, Sequence

from bot.flows.changes import Change, SetBackup, SetDigest, SetPerson
from bot.flows.facts import Facts, Person
from bot.flows.form_question import FormQuestion, Option, Setting, yes_no
from bot.flows.forms import Form
from bot.flows.joining.reading import common_countries, read_country, read_zone, zones_offered
from bot.flows.parsing import Reask, Why, plain_words, read_choice, read_clock, read_words
from bot.json_values import JsonValue
from core.vocabulary import PersonId

DIGEST_BETWEEN = ("04:00", "12:00")
NO_BACKUP = "none"


def _name(text: str, setting: Setting) -> str | Reask:
    return setting.facts.me.name if text == "keep" else read_words(text, 40)


def _names(setting: Setting) -> Sequence[Option]:
    return [Option("keep", setting.facts.me.name)] if setting.facts.me.name else []


def _digest(text: str, setting: Setting) -> str | Reask:
    if text == "keep":
        return setting.facts.digest_at().strftime("%H:%M")
    return read_clock(text, *DIGEST_BETWEEN, setting.words)


def _digest_times(setting: Setting) -> Sequence[Option]:
    now = setting.facts.digest_at().strftime("%H:%M")
    others = [clock for clock in ("06:00", "06:30", "07:00", "07:30", "08:00") if clock != now]
    return [Option("keep", now), *(Option(clock.replace(":", ""), clock) for clock in others)]


def others(facts: Facts) -> list[Person]:
    """The coaches who could stand in for me."""
    return [coach for coach in facts.coaches() if coach.id != facts.me.id]


def _backup(text: str, setting: Setting) -> str | Reask:
    """A coach's id, or ``NO_BACKUP``."""
    names = {plain_words(coach.name): str(coach.id) for coach in others(setting.facts)}
    if text in names.values():
        return text
    if plain_words(text) in names:
        return names[plain_words(text)]
    if read_choice(text, (NO_BACKUP,), setting.spoken("no_backup")) == NO_BACKUP:
        return NO_BACKUP
    return Reask(Why.NOT_A_CHOICE, text)


def _backups(setting: Setting) -> Sequence[Option]:
    found = [Option(str(coach.id), coach.name) for coach in others(setting.facts)]
    return (*found, Option(NO_BACKUP))


def _many_zones(setting: Setting) -> bool:
    return len(setting.country.zones) > 1


COACH_FORM = Form(
    "coach/own",
    (
        FormQuestion("called", "own", _name, options=_names, free=True),
        FormQuestion("country", "own", read_country, options=common_countries, columns=2),
        yes_no("country_right", "own"),
        FormQuestion("zone", "own", read_zone, options=zones_offered, when=_many_zones),
        FormQuestion("digest_at", "own", _digest, options=_digest_times, columns=3),
        FormQuestion("backup", "own", _backup, group="no_backup", options=_backups),
    ),
)


def own_given(facts: Facts) -> dict[str, JsonValue]:
    """What is known of me, under the form's keys."""
    me, backup = facts.me, facts.backup_of(facts.me.id)
    given: dict[str, JsonValue] = {
        "called": me.name,
        "digest_at": facts.digest_at().strftime("%H:%M"),
        "backup": str(backup.id) if backup else NO_BACKUP,
    }
    if me.country:
        given |= {"country": me.country, "country_right": True, "zone": me.zone}
    return given


def own_changes(key: str, given: Mapping[str, JsonValue], facts: Facts) -> tuple[Change, ...]:
    """What is to be written down when one of my answers is set."""
    me, value = facts.me.id, str(given[key])
    match key:
        case "called":
            return (SetPerson(me, name=value),)
        case "country":
            zones = Setting(given, facts).country.zones
            return (SetPerson(me, country=value, zone=zones[0][1] if len(zones) == 1 else None),)
        case "zone":
            return (SetPerson(me, zone=value),)
        case "digest_at":
            return (SetDigest(me, value),)
        case "backup":
            return (SetBackup(me, None if value == NO_BACKUP else PersonId(int(value))),)
    return ()
