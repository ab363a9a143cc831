"""A parent opens the family page: what each child can do, is working on, and what comes next."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from progress.engine.terms import SkillState
from progress.models import Athlete, HomeIdea, Ladder, Note, Skill, Tier
from progress.usecases.engine_inputs import end_of
from progress.usecases.families.see_course import Course, see_courses
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.see_athlete import LadderPicture, ladders_of

MOST = 3  # items a parent takes in at a glance
WEEK = 7


@dataclass(frozen=True)
class Rest:
    """What a child takes easy; no ladders: everything. ``until`` is a day still to come, if any.

    The day is when people look again: no day ends a rest, a person does. Why is not told.
    """

    ladders: tuple[Ladder, ...]
    until: date | None


@dataclass(frozen=True)
class ChildProgress:
    """One child's page, in skills rather than numbers; no other child appears in it.

    ``asked`` are the required skills of the child's tier that are not steady yet, and ``asked_age``
    the youngest age of the next tier where the child has not reached it. ``seen_lately`` is
    whether anything was written down within the fresh days of the rules.
    """

    athlete: Athlete
    tier: Tier
    next_tier: Tier | None
    asked: tuple[Skill, ...]
    asked_age: float | None
    ladders: tuple[LadderPicture, ...]
    can_do: tuple[Skill, ...]
    working_on: tuple[Skill, ...]
    next_up: tuple[Skill, ...]
    rests: tuple[Rest, ...]
    last_checked: date | None
    seen_lately: bool
    note: Note | None
    idea: HomeIdea | None
    course: Course

    @property
    def certificate(self) -> int | None:
        """Key of the sign-off of the last move up, for athletes read ``with_last_move``."""
        return getattr(self.athlete, "last_move", None)

    @property
    def name(self) -> str:
        """The name the family chose to be shown, else the child's name."""
        return self.athlete.shown_as or str(self.athlete)

    @property
    def rests_wholly(self) -> bool:
        """Whether everything is taken easy, not only some ladders."""
        return any(not rest.ladders for rest in self.rests)


def see_family(*, children: Iterable[Athlete], today: date) -> tuple[ChildProgress, ...]:
    """Put the page of one family together; the caller has checked whose children these are."""
    athletes = list(children)
    if not athletes:
        return ()
    known = know_athletes(athletes=athletes, today=today)
    notes, ideas = _notes(athletes, today), _ideas()
    courses = see_courses(known)
    return tuple(
        _child(known, row, notes.get(athlete.pk), ideas, courses[row])
        for row, athlete in enumerate(athletes)
    )


def _child(
    known: Known, row: int, note: Note | None, ideas: Mapping[int, list[HomeIdea]], course: Course
) -> ChildProgress:
    athlete = known.athletes[row]
    next_tier = _next_tier(known, row)
    working, next_up = _working_on(known, row)[:MOST], _next_up(known, row)[:MOST]
    return ChildProgress(
        athlete=athlete,
        tier=athlete.tier,
        next_tier=next_tier,
        asked=tuple(_asked(known, row)) if next_tier else (),
        asked_age=_asked_age(known, row, next_tier),
        ladders=ladders_of(known, row),
        can_do=tuple(_can_do(known, row)[:MOST]),
        working_on=tuple(working),
        next_up=tuple(next_up),
        rests=_rests(known, athlete),
        last_checked=known.last_checked(row),
        seen_lately=not known.not_seen_since(row, known.picture.rules.fresh_days),
        note=note,
        idea=_idea([*next_up, *working], ideas, known.picture.on_day),
        course=course,
    )


def _next_tier(known: Known, row: int) -> Tier | None:
    number = known.readiness[row].next_tier
    tiers = (skill.tier for skill in known.skills.values() if skill.tier_id == number)
    return next(tiers, None)


def _can_do(known: Known, row: int) -> list[Skill]:
    """Steady skills, the highest tier and the freshest first."""
    found = known.estimates(row)
    steady = [known.skills[code] for code, e in found.items() if e.state is SkillState.SECURE]
    return sorted(steady, key=lambda s: (-s.tier_id, -(found[s.code].last or 0), s.code))


def _working_on(known: Known, row: int) -> list[Skill]:
    """Skills tried lately and not steady yet, the freshest first; nothing that rests."""
    found = known.estimates(row)
    tried = [
        known.skills[code]
        for code, e in found.items()
        if e.state in (SkillState.NEARLY, SkillState.BUILDING)
    ]
    active = [skill for skill in tried if not _is_resting(known, row, skill)]
    return sorted(active, key=lambda s: (-(found[s.code].last or 0), s.code))


def _next_up(known: Known, row: int) -> list[Skill]:
    """Skills not tried yet whose needs are held, the tier's own before the next tier's.

    Nothing that rests and nothing the child is too young for, or of an age nobody told us.
    """
    picture, athlete = known.picture, known.athletes[row]
    found = []
    for column, skill in enumerate(picture.catalogue.skills):
        tried = picture.evidence.attempts[row, column] > 0
        near = skill.tier in (athlete.tier_id, athlete.tier_id + 1)
        held = all(picture.held[row, picture.catalogue.position[need]] for need in skill.needs)
        own = known.skills[skill.code]
        barred = _is_resting(known, row, own) or _is_too_young(known, row, own)
        if near and held and not tried and not barred:
            found.append(own)
    return sorted(found, key=lambda s: (s.tier_id, not s.required, s.ladder.order, s.code))


def _is_resting(known: Known, row: int, skill: Skill) -> bool:
    athlete = known.picture.athletes[row]
    return athlete.held or skill.ladder.code in athlete.held_ladders


def _is_too_young(known: Known, row: int, skill: Skill) -> bool:
    """Too young for the skill, or for the tier of a skill above the child's own."""
    athlete = known.picture.athletes[row]
    floors = [skill.minimum_age]
    if skill.tier_id > athlete.tier:
        floors.append(skill.tier.minimum_age)
    return any(
        floor is not None and (athlete.age is None or athlete.age < floor) for floor in floors
    )


def _asked(known: Known, row: int) -> list[Skill]:
    """Required skills of the child's own tier that are not steady; nothing that rests."""
    tier = known.athletes[row].tier_id
    return [
        known.skills[code]
        for code, estimate in known.estimates(row).items()
        if known.skills[code].tier_id == tier
        and known.skills[code].required
        and estimate.state is not SkillState.SECURE
        and not _is_resting(known, row, known.skills[code])
    ]


def _asked_age(known: Known, row: int, tier: Tier | None) -> float | None:
    age = known.picture.athletes[row].age
    if tier is None or tier.minimum_age is None or (age is not None and age >= tier.minimum_age):
        return None
    return tier.minimum_age


def _rests(known: Known, athlete: Athlete) -> tuple[Rest, ...]:
    """The holds in force without their reasons; a hold of everything stands for all others."""
    rests = []
    for hold in known.holds.in_force(athlete):
        ahead = hold.review is not None and hold.review > known.holds.today
        rests.append(Rest(tuple(hold.ladders.all()), hold.review if ahead else None))
    whole = [rest for rest in rests if not rest.ladders]
    if not whole:
        return tuple(dict.fromkeys(rests))
    days = [rest.until for rest in whole]
    # Two people's holds both stand, so the later day counts, and no day is later than any.
    return (Rest((), None if None in days else max(day for day in days if day)),)


def _notes(athletes: Iterable[Athlete], today: date) -> dict[int, Note]:
    """The newest standing note marked for the family, by athlete key: one query."""
    found = Note.objects.standing().filter(
        athlete__in=[athlete.pk for athlete in athletes],
        for_family=True,
        written_at__lt=end_of(today),
    )
    return {note.athlete_id: note for note in reversed(found)}


def _ideas() -> dict[int, list[HomeIdea]]:
    """Ideas that a lead marked as fit for home, by skill key: one query."""
    found: dict[int, list[HomeIdea]] = {}
    for idea in HomeIdea.objects.filter(active=True):
        found.setdefault(idea.skill_id, []).append(idea)
    return found


def _idea(
    skills: Iterable[Skill], ideas: Mapping[int, list[HomeIdea]], on_day: int
) -> HomeIdea | None:
    """One idea for one of ``skills``: another each week, so that none is pressed for long."""
    fitting = [idea for skill in skills for idea in ideas.get(skill.pk, ())]
    return fitting[on_day // WEEK % len(fitting)] if fitting else None
