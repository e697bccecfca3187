"""Pictures that conversations ask for: a rung for this client's body, or a chart of the record."""

from typing import Any

from bot.flows.coach.client.charts import morning_points, week_points
from bot.flows.coach.client.climb import chart_points
from bot.flows.facts import ClientRecord
from bot.flows.machine import PictureRequest
from bot.flows.record.gains import gains_of, lines_of
from bot.pictures.chart_texts import in_words
from bot.pictures.store import PictureStore
from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from core.vocabulary import Family, PersonId, Role


class PictureRequests:
    """Turns requests into content ids; nothing is drawn before a channel loads it."""

    def __init__(self, store: PictureStore, words: Words) -> None:
        """``store`` keeps what is asked for; ``words`` say what it shows."""
        self._store = store
        self._words = words
        self._charts = {
            "climb": self._climb,
            "movement_climb": self._movement_climb,
            "readiness": self._readiness,
            "weekly_load": self._weekly_load,
        }

    def request(self, request: PictureRequest, facts: StoreFacts) -> tuple[str, str]:
        """Content id and what it shows in words; both "" when there is nothing to show."""
        if request.chart:
            return self._chart(request, facts)
        if facts.me.role is not Role.CLIENT:
            return "", ""
        client = facts.client(facts.me.id).client
        family = Family(request.args["family"])
        then = str(request.args.get("then", ""))
        if then:
            content_id = self._store.then_and_now(then, request.step_key, client, family)
            return content_id, str(
                self._words.word("phrases", "then_and_now")
            ) if content_id else ""
        moving = bool(request.args.get("moving"))
        content_id = self._store.request(request.step_key, client, family, moving=moving)
        if not content_id:
            return "", ""
        rung = request.step_key.partition("@")[0]
        return content_id, self._words.movement(rung).picture_text

    def _chart(self, request: PictureRequest, facts: StoreFacts) -> tuple[str, str]:
        if request.chart not in self._charts:
            return "", ""
        data = self._charts[request.chart](request, facts)
        if not data:
            return "", ""
        return self._store.chart(request.chart, data), in_words(request.chart, data, self._words)

    def _climb(self, request: PictureRequest, facts: StoreFacts) -> dict[str, Any]:
        """What each movement allows, over the days."""
        record = facts.client(PersonId(int(request.args["client"])))
        lines = lines_of(record, facts)
        if not lines:
            return {}
        rungs = {gain["family"]: gain["rungs"] for gain in gains_of(record, facts)}
        return {
            "title": self._words.word("names", "chart_title", "climb"),
            "names": {one.value: self._family(one.value) for one in lines},
            "order": [one.value for one in lines],
            "rungs": {
                one.value: [self._rung(rung) for rung in rungs.get(one.value, ())] for one in lines
            },
            **{
                one.value: [[day.isoformat(), percent] for day, percent in line]
                for one, line in lines.items()
            },
        }

    def _rung(self, rung: str) -> str:
        return self._words.movement(rung).name

    def _movement_climb(self, request: PictureRequest, facts: StoreFacts) -> dict[str, Any]:
        """One movement's believed capacity, for the coach."""
        record = facts.client(PersonId(int(request.args["client"])))
        family = Family(request.args["family"])
        points = chart_points(record, family, facts)
        if not points:
            return {}
        name = self._family(family.value)
        return {
            "title": f"{name[:1].upper()}{name[1:]}, {record.person.name}",
            "days": [f"{day.day} {day:%b}" for day in points["days"]],
            "on": [day.isoformat() for day in points["days"]],
            "capacity": points["capacity"],
            "low": points["low"],
            "high": points["high"],
            "done": points["done"],
            "rungs": [
                (demand, self._rung(rung))
                for demand, rung in points["rungs"]
                if rung in facts.reference.catalogue.by_id
            ],
            "words": self._words.word("names", "chart_words"),
        }

    def _readiness(self, request: PictureRequest, facts: StoreFacts) -> dict[str, Any]:
        """One client's mornings, for the coach."""
        record = facts.client(PersonId(int(request.args["client"])))
        points = morning_points(record, facts)
        if not points:
            return {}
        days = [f"{day.day} {day:%b}" for day in points["days"]]
        return {**points, **self._headed("readiness", record), "days": days}

    def _weekly_load(self, request: PictureRequest, facts: StoreFacts) -> dict[str, Any]:
        """One client's weeks of training, for the coach."""
        record = facts.client(PersonId(int(request.args["client"])))
        points = week_points(record, facts)
        if not points:
            return {}
        weeks = [f"{end.day} {end:%b}" for end in points["ends"]]
        drawn = {"weeks": weeks, "minutes": points["minutes"], "usual": points["usual"]}
        return {**drawn, **self._headed("weekly_load", record)}

    def _headed(self, chart: str, record: ClientRecord) -> dict[str, Any]:
        """Title and words of a chart about one client."""
        title = self._words.word("names", "chart_title", chart)
        words = self._words.word("names", "chart_words")
        return {"title": f"{title}, {record.person.name}", "words": words}

    def _family(self, family: str) -> str:
        name = self._words.word("names", "family", family)
        return str(name if isinstance(name, str) else name["label"])
