"""Turn records into what the engine takes: athletes, the log, holds, and the day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.db.models import Exists, Max, OuterRef, QuerySet, TextField
from django.db.models.functions import Cast
from django.utils import timezone

from progress.engine import terms
from progress.engine.log import Log, gather
from progress.engine.rules import Rules
from progress.models import Athlete, Attempt, Challenge, Hold, RegisterEntry, StaffMember

DAY = 24 * 60 * 60
LEVEL = {result.value: result.level for result in terms.Result}


def end_of(day: date) -> datetime:
    """The first moment after ``day`` at the venue."""
    midnight = datetime.combine(day + timedelta(days=1), time.min)
    return timezone.make_aware(midnight)


def venue_day(moment: datetime) -> float:
    """A moment as the venue's day number: ``date.toordinal`` plus the time of day."""
    return venue_days([moment])[0]


def venue_days(moments: Iterable[datetime]) -> list[float]:
    """Many moments as the venue's day numbers, in their order."""
    zone = timezone.get_current_timezone()
    days = []
    for moment in moments:
        local = moment.astimezone(zone)
        seconds = local.hour * 3600 + local.minute * 60 + local.second + local.microsecond / 1e6
        days.append(local.toordinal() + seconds / DAY)
    return days


def read_log(
    catalogue: terms.Catalogue,
    athletes: Sequence[Athlete],
    until: date,
    coaches_asked: int | None = None,
) -> Log:
    """The standing attempts of ``athletes`` up to the end of ``until``: two queries at most.

    The log names every coach of the gym, also those who recorded none of these athletes: whether a
    gate asks for a second coach must not depend on who else is on the page. Where as many coaches
    as ``coaches_asked`` are in the log already, the others are not looked up.
    """
    code_of = {athlete.pk: athlete.code for athlete in athletes}
    rows = (
        Attempt.objects.standing()
        .filter(at__lt=end_of(until), athlete__in=_selection(athletes))
        # As text: turning a million moments into objects of the ORM takes longer than all the rest.
        .annotate(at_text=Cast("at", TextField()))
        .values_list(
            *("athlete_id", "skill__code", "at_text", "result", "coach__code", "variant__code")
        )
        .order_by()
    )
    log = gather(catalogue, list(code_of.values()), _columns(rows, code_of))
    if coaches_asked is not None and len(log.coaches) >= coaches_asked:
        return log
    # Any attempt will do, a corrected one too: the first found by the coach's index answers.
    recorded = Attempt.objects.filter(coach=OuterRef("pk"), at__lt=end_of(until)).order_by()
    coaches = StaffMember.objects.filter(Exists(recorded))
    others = set(coaches.order_by().values_list("code", flat=True)) - set(log.coaches)
    return replace(log, coaches=(*log.coaches, *sorted(others)))


def _selection(athletes: Sequence[Athlete]) -> Any:
    """The athletes as a condition; past a few hundred, databases want a subquery instead."""
    if len(athletes) < 500:
        return [athlete.pk for athlete in athletes]
    chosen = {athlete.pk for athlete in athletes}
    if len(chosen) == Athlete.objects.count():
        return Athlete.objects.values("pk")
    low, high = min(chosen), max(chosen)
    return Athlete.objects.filter(pk__gte=low, pk__lte=high).values("pk")


def _columns(rows: QuerySet[Any, Any], code_of: Mapping[int, str]) -> list[Sequence[object]]:
    when: list[datetime] = []
    columns: list[list[object]] = [[], [], [], [], []]
    who, skills, results, coaches, variants = columns
    for athlete, skill, at, result, coach, variant in rows.iterator(chunk_size=20_000):
        if athlete in code_of:
            who.append(code_of[athlete])
            skills.append(skill)
            when.append(datetime.fromisoformat(at))
            results.append(LEVEL[result])
            coaches.append(coach)
            variants.append(variant)
    # SQLite keeps moments in UTC and does not say so.
    aware = (at if at.tzinfo else at.replace(tzinfo=UTC) for at in when)
    return [who, skills, venue_days(aware), results, coaches, variants]


@dataclass(frozen=True)
class Holds:
    """The holds of some athletes, by athlete key, newest first."""

    by_athlete: Mapping[int, tuple[Hold, ...]]
    today: date

    @classmethod
    def read(cls, athletes: Iterable[Athlete], today: date) -> "Holds":
        """All holds that started by ``today``, lifted ones too: two queries at most."""
        found: dict[int, tuple[Hold, ...]] = {}
        pks = [athlete.pk for athlete in athletes]
        holds = Hold.objects.filter(starts__lte=today)
        if len(pks) < 500:
            holds = holds.filter(athlete__in=pks)
        for hold in holds.prefetch_related("ladders"):
            found[hold.athlete_id] = (*found.get(hold.athlete_id, ()), hold)
        return cls(found, today)

    def in_force(self, athlete: Athlete) -> tuple[Hold, ...]:
        """Holds that stop this athlete today."""
        mine = self.by_athlete.get(athlete.pk, ())
        return tuple(hold for hold in mine if hold.lifted is None or hold.lifted > self.today)

    def lifted_since(self, athlete: Athlete, days: int) -> bool:
        """Whether a hold was lifted in the last ``days``."""
        since = self.today - timedelta(days=days)
        mine = self.by_athlete.get(athlete.pk, ())
        return any(h.lifted is not None and since < h.lifted <= self.today for h in mine)

    def stretches(self, athletes: Iterable[Athlete]) -> dict[str, list[tuple[float, float]]]:
        """Every hold as (first day, last day) in venue day numbers, by athlete code."""
        until = float(self.today.toordinal() + 1)
        return {
            athlete.code: [
                (float(h.starts.toordinal()), float(h.lifted.toordinal()) if h.lifted else until)
                for h in self.by_athlete[athlete.pk]
            ]
            for athlete in athletes
            if athlete.pk in self.by_athlete
        }


def away_lately(athletes: Sequence[Athlete], today: date, days: int) -> set[int]:
    """Keys of athletes whose register says they last came more than ``days`` ago.

    One query, or none for athletes read ``with_last_here``. An athlete without any register entry
    is not taken to have been away.
    """
    if all(hasattr(athlete, "last_here") for athlete in athletes):
        came = [(athlete.pk, getattr(athlete, "last_here", None)) for athlete in athletes]
        return {pk for pk, day in came if day is not None and (today - day).days > days}
    entries = RegisterEntry.objects.filter(present=True, meeting__day__lt=today)
    if len(athletes) < 500:
        entries = entries.filter(athlete__in=[athlete.pk for athlete in athletes])
    last = entries.values_list("athlete_id").annotate(Max("meeting__day")).order_by()
    return {pk for pk, day in last if (today - day).days > days}


def as_terms(
    athletes: Sequence[Athlete],
    holds: Holds,
    rules: Rules,
    away: set[int],
    class_challenges: Mapping[int, str] | None = None,
) -> tuple[terms.Athlete, ...]:
    """The athletes in the engine's words on the day of ``holds``.

    ``class_challenges``: what is asked of the class that each (by key) practises in; what is
    written of an athlete goes before it.
    """
    found, of_class = [], class_challenges or {}
    for athlete in athletes:
        stops = [[ladder.code for ladder in h.ladders.all()] for h in holds.in_force(athlete)]
        found.append(
            terms.Athlete(
                code=athlete.code,
                tier=athlete.tier_id,
                age=athlete.age_on(holds.today),
                held=any(not ladders for ladders in stops),
                held_ladders=frozenset(code for ladders in stops for code in ladders),
                easing_back=holds.lifted_since(athlete, rules.easing_days) or athlete.pk in away,
                target=_target(rules, athlete.challenge, of_class.get(athlete.pk, Challenge.USUAL)),
            )
        )
    return tuple(found)


def _target(rules: Rules, own: str, class_challenge: str) -> tuple[float, float] | None:
    """The band to aim for where a coach asked for gentler or bolder, else None."""
    challenge = class_challenge if own == Challenge.USUAL else own
    if challenge == Challenge.USUAL:
        return None
    shift = rules.challenge_shift if challenge == Challenge.GENTLER else -rules.challenge_shift
    return min(rules.target_low + shift, 0.98), min(rules.target_high + shift, 0.99)
