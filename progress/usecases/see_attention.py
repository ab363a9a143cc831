"""The programme lead asks: whom might nobody have noticed?

Four lists, each a reason to look or to ask, never a verdict on a child or a coach.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scipy.special import expit, logit

from progress.engine.attention import Attendance, WentBack
from progress.engine.plateaus import LEAST_GAIN, Standstill
from progress.engine.terms import Decision
from progress.models import Athlete, GymClass, Ladder, Skill
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow, yesterday
from progress.usecases.look_over import BACK_DAYS, LookedOver, look_over

# With more athletes than this the whole gym would take longer than somebody waits for a page.
MOST_AT_ONCE = 3000
FROM_SHARE = 0.60  # gains are told from a skill that is clean six times in ten


@dataclass(frozen=True)
class NoGainOn:
    """Hardly a gain over ``weeks`` from ``tries``, over all or on one ``ladder`` (its name).

    ``p_gain``: the chance that the athlete gained as much as was asked for in that time.
    """

    ladder: str
    weeks: int
    tries: int
    p_gain: float


@dataclass(frozen=True)
class GainAsked:
    """What counts as a gain in ``weeks``: a skill goes from ``from_share`` clean to ``to_share``.

    ``usual``: children here gain as much on average; else it is the least a coach could notice.
    """

    weeks: int
    from_share: float
    to_share: float
    usual: bool


@dataclass(frozen=True)
class NoGain:
    """An athlete without a gain, over all first and then by ladder."""

    athlete: Athlete
    held: bool
    parts: tuple[NoGainOn, ...]


@dataclass(frozen=True)
class NotChecked:
    """An athlete nobody checked for long; ``last`` is None for one never checked."""

    athlete: Athlete
    last: date | None
    days_ago: int | None


@dataclass(frozen=True)
class Back:
    """An athlete whose readiness is less than four weeks before; skills by name.

    ``slipped``: secure then, and not sure enough now. ``stale``: secure then, and now only in need
    of a fresh check. ``tries``: made in between.
    """

    athlete: Athlete
    before: Decision
    now: Decision
    slipped: tuple[str, ...]
    stale: tuple[str, ...]
    tries: int


@dataclass(frozen=True)
class ComesLess:
    """An athlete who came less often; ``found`` has the meetings and the chance of luck."""

    athlete: Athlete
    held: bool
    found: Attendance


@dataclass(frozen=True)
class Attention:
    """The four lists at the end of ``until``, of ``gym_class`` or of everybody.

    ``ask_for_class``: the gym is too large to look at as a whole, and the lists are empty.
    ``asked``: what was looked for in each window that ``no_gain`` speaks of. ``cannot_tell``:
    athletes whose evidence cannot say whether there was a gain. Who is on hold stands apart in
    ``unchecked_held`` and ``back_held``. ``by_luck``: how many of the ``compared`` luck alone would
    put on the list of those who came less often.
    """

    until: date
    since: date
    gym_class: GymClass | None
    athletes: int
    ask_for_class: bool = False
    no_gain: tuple[NoGain, ...] = ()
    asked: tuple[GainAsked, ...] = ()
    cannot_tell: int = 0
    unchecked: tuple[NotChecked, ...] = ()
    unchecked_held: tuple[NotChecked, ...] = ()
    slipped: tuple[Back, ...] = ()
    gone_stale: tuple[Back, ...] = ()
    back_held: tuple[Back, ...] = ()
    comes_less: tuple[ComesLess, ...] = ()
    compared: int = 0
    by_luck: float = 0.0

    @property
    def went_back(self) -> int:
        """How many went back who are not on hold."""
        return len(self.slipped) + len(self.gone_stale)


def see_attention(
    *, today: date, gym_class: GymClass | None = None, most_at_once: int = MOST_AT_ONCE
) -> Attention:
    """Whom to look at, worked out once a day as of the end of yesterday.

    Twelve queries where the answer is kept, thirty at most where it is not. ``most_at_once``: with
    more athletes only a class is looked over.
    """
    until = yesterday(today)
    whole = Athlete.objects.here_on(until).count() <= most_at_once
    if gym_class is None and not whole:
        return Attention(until, _since(until), None, athletes=0, ask_for_class=True)
    of = None if whole else gym_class

    def work_out(day: date) -> LookedOver:
        return look_over(athletes=_athletes(of, day), until=day)

    found = kept_until_tomorrow(
        question="attention", today=today, work_out=work_out, of=of.code if of else ""
    )
    people = _people(_athletes(gym_class, until), found)
    return _told(found, people, gym_class)


def _athletes(gym_class: GymClass | None, day: date) -> list[Athlete]:
    return list(gym_class.athletes_on(day) if gym_class else Athlete.objects.here_on(day))


def _since(until: date) -> date:
    return until - timedelta(days=BACK_DAYS)


def _people(athletes: Iterable[Athlete], found: LookedOver) -> dict[str, Athlete]:
    """Those who were looked over and are still here, by code and in the order of names."""
    return {one.code: one for one in athletes if one.code in found.athletes}


def _told(
    found: LookedOver, people: Mapping[str, Athlete], gym_class: GymClass | None
) -> Attention:
    unchecked = _unchecked(found, people)
    back = _back(found.went_back, people)
    free = [one for one in back if one.athlete.code not in found.held]
    compared = [one for code, one in found.attendance.items() if code in people]
    return Attention(
        until=found.until,
        since=_since(found.until),
        gym_class=gym_class,
        athletes=len(people),
        no_gain=_no_gain(found, people),
        asked=_asked(found, people),
        cannot_tell=sum(code not in found.can_tell for code in people),
        unchecked=tuple(one for one in unchecked if one.athlete.code not in found.held),
        unchecked_held=tuple(one for one in unchecked if one.athlete.code in found.held),
        slipped=tuple(one for one in free if one.slipped or not one.stale),
        gone_stale=tuple(one for one in free if one.stale and not one.slipped),
        back_held=tuple(one for one in back if one.athlete.code in found.held),
        comes_less=_comes_less(found, people),
        compared=len(compared),
        by_luck=sum(one.by_luck for one in compared),
    )


def _no_gain(found: LookedOver, people: Mapping[str, Athlete]) -> tuple[NoGain, ...]:
    ladders = dict(Ladder.objects.values_list("code", "name"))
    parts: dict[str, list[NoGainOn]] = {}
    for one in found.stuck:
        name = "" if one.ladder is None else ladders.get(one.ladder, one.ladder)
        parts.setdefault(one.athlete, []).append(_no_gain_on(one, name))
    return tuple(
        NoGain(athlete, code in found.held, tuple(parts[code]))
        for code, athlete in people.items()
        if code in parts
    )


def _no_gain_on(one: Standstill, ladder: str) -> NoGainOn:
    return NoGainOn(
        ladder=ladder,
        weeks=one.window_days // 7,
        tries=one.attempts,
        p_gain=one.p_gain,
    )


def _asked(found: LookedOver, people: Mapping[str, Athlete]) -> tuple[GainAsked, ...]:
    """What was asked for depends on the window alone, not on the athlete."""
    asked = {one.window_days: one.asked for one in found.stuck if one.athlete in people}
    return tuple(
        GainAsked(
            weeks=days // 7,
            from_share=FROM_SHARE,
            to_share=float(expit(logit(FROM_SHARE) + gain)),
            usual=gain > LEAST_GAIN,
        )
        for days, gain in sorted(asked.items())
    )


def _unchecked(found: LookedOver, people: Mapping[str, Athlete]) -> list[NotChecked]:
    return [
        NotChecked(
            athlete=people[one.athlete],
            last=None if one.last_day is None else date.fromordinal(one.last_day),
            days_ago=one.days_ago,
        )
        for one in found.unchecked
        if one.athlete in people
    ]


def _back(went_back: Sequence[WentBack], people: Mapping[str, Athlete]) -> list[Back]:
    names = dict(Skill.objects.values_list("code", "name"))
    fell = {one.athlete: one for one in went_back}
    return [
        Back(
            athlete=athlete,
            before=fell[code].before,
            now=fell[code].now,
            slipped=tuple(names.get(skill, skill) for skill in fell[code].slipped),
            stale=tuple(names.get(skill, skill) for skill in fell[code].gone_stale),
            tries=fell[code].attempts_since,
        )
        for code, athlete in people.items()
        if code in fell
    ]


def _comes_less(found: LookedOver, people: Mapping[str, Athlete]) -> tuple[ComesLess, ...]:
    return tuple(
        ComesLess(athlete, code in found.held, found.attendance[code].found)
        for code, athlete in people.items()
        if code in found.attendance and found.attendance[code].found.dropped
    )
