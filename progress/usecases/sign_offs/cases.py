"""The lead looks at some athletes before signing off: what the engine says, what stands in the way.

Worked out from the log when asked, never from answers kept earlier: a decision about a child rests
on what is on record at that moment.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from progress.engine.answers import Estimate, Readiness
from progress.engine.tier_asks import slipped_gates
from progress.models import Athlete, Hold, Skill, Tier
from progress.usecases.know_athletes import Known, age_floors, know_athletes
from progress.usecases.sign_offs.refused import Obstacle, day_words


@dataclass(frozen=True)
class SkillAsked:
    """A skill that the tier asks for, with what is known of it; ``held`` where nothing is open."""

    skill: Skill
    estimate: Estimate

    @property
    def held(self) -> bool:
        """Whether it is held today: secure by the engine's own figures."""
        return self.estimate.held

    @property
    def last(self) -> date | None:
        """Day of the last attempt."""
        return None if self.estimate.last is None else date.fromordinal(self.estimate.last)


@dataclass(frozen=True)
class Case:
    """One athlete's case. ``next_tier`` is None at the top.

    ``asked`` are the required skills and the gates of the present tier; ``obstacles`` keep the
    athlete from moving up, and nobody can wave them through.
    """

    athlete: Athlete
    readiness: Readiness
    next_tier: Tier | None
    holds: tuple[Hold, ...]
    asked: tuple[SkillAsked, ...]
    obstacles: tuple[Obstacle, ...]

    @property
    def gates(self) -> tuple[SkillAsked, ...]:
        """The safety skills among those asked for."""
        return tuple(one for one in self.asked if one.skill.gate)


@dataclass(frozen=True)
class Cases:
    """Some athletes' cases in their order, with what they were worked out from."""

    all: tuple[Case, ...]
    known: Known


def look_at(*, athletes: Sequence[Athlete], today: date) -> Cases:
    """The cases of these athletes at the end of ``today``: the engine's queries and one more."""
    known = know_athletes(athletes=athletes, today=today)
    tiers = {tier.number: tier for tier in Tier.objects.all()}
    found = [_case(known, row, tiers, today) for row in range(len(athletes))]
    return Cases(tuple(found), known)


def _case(known: Known, row: int, tiers: dict[int, Tier], today: date) -> Case:
    athlete, readiness = known.athletes[row], known.readiness[row]
    asked = tuple(
        SkillAsked(known.skills[code], estimate)
        for code, estimate in known.estimates(row).items()
        if known.skills[code].tier_id == athlete.tier_id
        and (known.skills[code].required or known.skills[code].gate)
    )
    holds = known.holds.in_force(athlete)
    above = readiness.next_tier
    obstacles = [
        *_standing_in_the_programme(athlete, above, today),
        *_held_back(holds, asked),
        *_too_young(known, athlete, above, today),
        *_gates(known, row, asked),
        *_slipped(known, row),
    ]
    return Case(
        athlete=athlete,
        readiness=readiness,
        next_tier=None if above is None else tiers[above],
        holds=holds,
        asked=asked,
        obstacles=tuple(obstacles),
    )


def _standing_in_the_programme(athlete: Athlete, above: int | None, today: date) -> list[Obstacle]:
    found = []
    if athlete.left is not None and athlete.left <= today:
        found.append(
            Obstacle("Has left the programme.", "Take the leaving day off in the admin first.")
        )
    if above is None:
        found.append(Obstacle("Is in the highest tier.", "There is no tier with skills above it."))
    return found


def _held_back(holds: Sequence[Hold], asked: Sequence[SkillAsked]) -> list[Obstacle]:
    """A hold on everything stops; so does one on a ladder that the tier asks skills of.

    A hold means stop: what a child may not practise now cannot be shown to be held now. A hold on a
    ladder the tier asks nothing of leaves nothing open, so the lead decides and reads of it.
    """
    found = []
    for hold in holds:
        ladders = {ladder.pk: str(ladder) for ladder in hold.ladders.all()}
        stopped = sorted({ladders.get(one.skill.ladder_id, "") for one in asked} - {""})
        if not ladders or stopped:
            reach = f"on hold on {', '.join(stopped)}" if ladders else "on hold"
            found.append(
                Obstacle(
                    f"Is {reach} since {day_words(hold.starts)}.",
                    "A hold means stop: lift it on the athlete's page when it is over.",
                )
            )
    return found


def _too_young(known: Known, athlete: Athlete, above: int | None, today: date) -> list[Obstacle]:
    """An unknown age is not held against a child: the engine's reasons say that it is unknown."""
    least = None if above is None else age_floors(known.skills).get(above)
    age = athlete.age_on(today)
    if least is None or age is None or age >= least:
        return []
    return [
        Obstacle(
            f"Is younger than {least:g}, the youngest age for the next tier.",
            "Wait for the birthday, or correct the birth date in the admin.",
        )
    ]


def _gates(known: Known, row: int, asked: Sequence[SkillAsked]) -> list[Obstacle]:
    position = known.picture.catalogue.position
    return [
        Obstacle(
            f"Safety skill not held today: {one.skill}.",
            _check(known, row, position[one.skill.code]),
        )
        for one in asked
        if one.skill.gate and not one.held
    ]


def _check(known: Known, row: int, column: int) -> str:
    missing = known.picture.short_of(row, column) or "more clean tries"
    return f"Check it at the next class. It asks for {missing}, and is never waived."


def _slipped(known: Known, row: int) -> list[Obstacle]:
    """Gates of earlier tiers that recent tries say are not held any more, as the engine sees it."""
    skills = known.picture.catalogue.skills
    return [
        Obstacle(
            f"Safety skill of an earlier tier slipped: {known.skills[skills[column].code]}.",
            _check(known, row, column),
        )
        for column in slipped_gates(known.picture, row)
    ]


def first_fresh_day(known: Known, today: date) -> date:
    """The first day whose attempts still count as fresh."""
    return today - timedelta(days=known.picture.rules.fresh_days)
