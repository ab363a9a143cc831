"""What is known of some athletes today: the one place where pages meet the engine."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from progress.engine.answers import Estimate, NextCheck, Readiness
from progress.engine.log import Log
from progress.engine.next_checks import next_checks
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture, picture
from progress.engine.readiness import readiness
from progress.engine.rules import Rules
from progress.engine.terms import Catalogue
from progress.models import Athlete, GymClass, RuleBook, Skill
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import learnt_by
from progress.usecases.engine_inputs import Holds, as_terms, away_lately, read_log


@dataclass(frozen=True)
class Known:
    """Athletes with the engine's picture of them, rows in the order of ``athletes``."""

    athletes: tuple[Athlete, ...]
    skills: dict[str, Skill]
    picture: Picture
    holds: Holds
    log: Log
    learnt_before: date

    @cached_property
    def readiness(self) -> tuple[Readiness, ...]:
        """The suggestion about the next tier for each athlete."""
        return readiness(self.picture, age_floors(self.skills))

    @cached_property
    def checks(self) -> tuple[NextCheck, ...]:
        """The checks for these athletes as one group."""
        return next_checks(self.picture, range(len(self.athletes)))

    def estimates(self, row: int) -> dict[str, Estimate]:
        """Every skill's estimate for one athlete, by skill code in catalogue order."""
        return {
            skill.code: self.picture.estimate(row, column)
            for column, skill in enumerate(self.picture.catalogue.skills)
        }

    def last_checked(self, row: int) -> date | None:
        """Day of the athlete's last attempt."""
        last = int(self.picture.evidence.last[row].max(initial=-1))
        return None if last < 0 else date.fromordinal(last)

    def not_seen_since(self, row: int, days: int) -> bool:
        """Whether the athlete has no attempt in the last ``days``."""
        last, today = self.last_checked(row), date.fromordinal(self.picture.on_day)
        return last is None or last <= today - timedelta(days=days)


def know_athletes(
    *,
    athletes: Sequence[Athlete],
    today: date,
    gym_class: GymClass | None = None,
    coaches_asked: int = 1,
) -> Known:
    """Replay the athletes' logs up to the end of ``today``: seven to nine queries.

    ``gym_class``: the class they practise in, where it asks for gentler or bolder practice.
    ``coaches_asked``: how many coaches other rules would ask for at a gate, so that the log can be
    read under them too.
    """
    skills = {skill.code: skill for skill in Skill.objects.with_needs()}
    catalogue, rules = as_catalogue(skills.values()), RuleBook.in_force()
    holds = Holds.read(athletes, today)
    most_coaches = max(coaches_asked, rules.gate_coaches)
    log = read_log(catalogue, athletes, today, coaches_asked=most_coaches)
    learnt = learnt_by(catalogue=catalogue, today=today).knowing(log.variants)
    seen = picture_of(
        athletes=athletes,
        holds=holds,
        log=log,
        catalogue=catalogue,
        parameters=learnt.parameters,
        rules=rules,
        class_challenges=asked_of(gym_class, athletes),
    )
    return Known(tuple(athletes), skills, seen, holds, log, learnt.cutoff)


def asked_of(gym_class: GymClass | None, athletes: Sequence[Athlete]) -> dict[int, str]:
    """What is asked of the class, by the key of each athlete in it."""
    return {athlete.pk: gym_class.challenge for athlete in athletes} if gym_class else {}


def picture_of(
    *,
    athletes: Sequence[Athlete],
    holds: Holds,
    log: Log,
    catalogue: Catalogue,
    parameters: Parameters,
    rules: Rules,
    class_challenges: Mapping[int, str] | None = None,
) -> Picture:
    """The engine's picture of these athletes at the end of the day of ``holds``.

    ``log`` has the same athletes in the same order; ``class_challenges`` says by athlete key what
    is asked of the class they practise in. One query, or none for athletes read
    ``with_last_here``.
    """
    away = away_lately(athletes, holds.today, rules.absence_days)
    return picture(
        catalogue,
        as_terms(athletes, holds, rules, away, class_challenges),
        log,
        parameters,
        rules,
        holds.today.toordinal(),
        holds.stretches(athletes),
    )


def age_floors(skills: dict[str, Skill]) -> dict[int, float]:
    """Youngest age for each tier that has one."""
    return {
        skill.tier.number: skill.tier.minimum_age
        for skill in skills.values()
        if skill.tier.minimum_age is not None
    }
