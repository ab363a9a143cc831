"""A parent opens the family page: what each child can do, is working on, and what comes next."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from progress.engine.terms import SkillState
from progress.models import Athlete, Hold, Skill, Tier
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.see_athlete import LadderPicture, ladders_of

MOST = 3  # items a parent takes in at a glance


@dataclass(frozen=True)
class ChildProgress:
    """One child's page, in skills rather than numbers; no other child appears in it."""

    athlete: Athlete
    tier: Tier
    next_tier: Tier | None
    ladders: tuple[LadderPicture, ...]
    can_do: tuple[Skill, ...]
    working_on: tuple[Skill, ...]
    next_up: tuple[Skill, ...]
    holds: tuple[Hold, ...]
    last_checked: date | None


def see_family(*, children: Iterable[Athlete], today: date) -> tuple[ChildProgress, ...]:
    """Put the page of one family together; the caller has checked whose children these are."""
    athletes = list(children)
    if not athletes:
        return ()
    known = know_athletes(athletes=athletes, today=today)
    tiers = {tier.number: tier for tier in Tier.objects.all()}
    return tuple(_child(known, row, tiers) for row in range(len(athletes)))


def _child(known: Known, row: int, tiers: dict[int, Tier]) -> ChildProgress:
    athlete, readiness = known.athletes[row], known.readiness[row]
    estimates = known.estimates(row)

    def in_state(*states: SkillState) -> list[Skill]:
        return [known.skills[c] for c, e in estimates.items() if e.state in states]

    tried = in_state(SkillState.NEARLY, SkillState.BUILDING)
    working = sorted(tried, key=lambda s: (-(estimates[s.code].last or 0), s.code))
    can_do = sorted(
        in_state(SkillState.SECURE),
        key=lambda s: (-s.tier_id, -(estimates[s.code].last or 0), s.code),
    )
    return ChildProgress(
        athlete=athlete,
        tier=tiers[athlete.tier_id],
        next_tier=tiers.get(readiness.next_tier) if readiness.next_tier is not None else None,
        ladders=ladders_of(known, row),
        can_do=tuple(can_do[:MOST]),
        working_on=tuple(working[:MOST]),
        next_up=tuple(_next_up(known, row)[:MOST]),
        holds=known.holds.in_force(athlete),
        last_checked=known.last_checked(row),
    )


def _next_up(known: Known, row: int) -> list[Skill]:
    """Skills not tried yet whose needs are held, the tier's own before the next tier's."""
    picture, athlete = known.picture, known.athletes[row]
    found = []
    for column, skill in enumerate(picture.catalogue.skills):
        tried = picture.evidence.attempts[row, column] > 0
        near = skill.tier in (athlete.tier_id, athlete.tier_id + 1)
        held = all(picture.held[row, picture.catalogue.position[need]] for need in skill.needs)
        if near and held and not tried:
            found.append(known.skills[skill.code])
    return sorted(found, key=lambda s: (s.tier_id, not s.required, s.ladder.order, s.code))
