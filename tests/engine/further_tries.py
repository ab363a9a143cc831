"""Put a plan of further tries to the engine on its real days, apart from how it was found."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from hypothesis import strategies as some

from progress.engine.answers import Readiness
from progress.engine.picture import Picture, picture
from progress.engine.readiness import readiness
from progress.engine.rules import Rules
from progress.engine.supposing import APART
from progress.engine.terms import Athlete, Catalogue, Skill
from progress.engine.what_would_change import WhatWouldChange, what_would_change
from tests.engine.random_gyms import RandomGym, catalogues, histories
from tests.engine.small_gyms import KIM, LEE, TODAY, Try, log_of, surer

HOUR = 0.75  # where a Try stands in its day
MEETINGS = tuple(TODAY + 7 * week for week in range(1, 9))
FLOORS = {2: 5.0, 3: 8.0}


def day_of(one: Try) -> int:
    """The venue day of a try."""
    return int(TODAY + HOUR - one.ago)


@some.composite
def climbers(draw: some.DrawFn) -> RandomGym:
    """One athlete of tier 1 or 2 whom nothing bars but the log; every rule of the floors varies."""
    drawn = draw(catalogues())
    # A skill above makes sure that there is a tier to move up to, one in it that there is a tier.
    sure = (Skill("OWN", "a", draw(some.integers(1, 2))), Skill("ABOVE", "a", 4))
    catalogue = Catalogue((*drawn.skills, *sure))
    athlete = Athlete("A0", sure[0].tier, age=draw(some.sampled_from((None, 7.0))))
    rules = Rules(
        secure_confidence=draw(some.sampled_from((0.4, 0.7))),
        nearly_confidence=0.3,
        gate_clean_in_a_row=draw(some.integers(1, 5)),
        gate_days=draw(some.integers(1, 3)),
        clean_attempts=draw(some.integers(1, 3)),
        clean_days=draw(some.integers(1, 2)),
        fresh_days=draw(some.sampled_from((20, 56))),
    )
    severity = {code: draw(some.sampled_from((-0.6, 0.0, 0.6))) for code in (KIM, LEE)}
    level = {tier: draw(some.floats(1, 5)) for tier in (1, 2, 3, 4)}
    parameters = surer(catalogue, tier_level=level, severity=severity)
    return RandomGym(
        catalogue, (athlete,), draw(histories(catalogue, (athlete,))), rules, parameters
    )


def ask(
    gym: RandomGym,
    row: int = 0,
    *,
    days: Sequence[int] = MEETINGS,
    age_floors: Mapping[int, float] | None = None,
) -> WhatWouldChange:
    """The engine's answer for one athlete of a gym."""
    codes = [athlete.code for athlete in gym.athletes]
    log = log_of(gym.catalogue, codes, gym.rows)
    return what_would_change(gym.picture, row, log, days=days, age_floors=age_floors)


def as_tries(
    gym: RandomGym,
    row: int,
    said: WhatWouldChange,
    *,
    without: str | None = None,
    strict: bool = False,
) -> list[Try]:
    """The plan as tries, made in the order it says; ``without``: one less at that skill.

    They are made as late in the day as the engine supposes, because even hours tell a little where
    an answer is on the edge. Skills that need one marked as first start at the meeting after its
    last. The tries are seen by the gym's most lenient coach where the rules do not ask for another,
    or by the strictest.
    """
    coaches = _coaches(gym, strict)
    left = []
    ends: dict[str, int] = {}
    for one in sorted(said.further, key=lambda one: len(_needs(gym, one.skill))):
        before = _needs(gym, one.skill) & {each.skill for each in said.further if each.first}
        start = max((ends[code] for code in before), default=0)
        ends[one.skill] = start + one.days
        count = one.clean - (one.skill == without)
        days = min(one.days, count)
        new = _new_coaches(gym, row, one.skill, coaches, said.by) if one.new_coaches else []
        for number in range(count):
            chosen = new[number] if number < one.new_coaches else (coaches or [""])[0]
            left.append((start + number * days // count, one.skill, chosen))
    left.sort(key=lambda one: one[0])
    return [
        Try(
            gym.athletes[row].code,
            skill,
            ago=TODAY + HOUR - (MEETINGS[meeting] + 1 - APART * (len(left) - number)),
            coach=coach,
        )
        for number, (meeting, skill, coach) in enumerate(left)
    ]


def _coaches(gym: RandomGym, strict: bool) -> list[str]:
    codes = [athlete.code for athlete in gym.athletes]
    return sorted(
        log_of(gym.catalogue, codes, gym.rows).coaches,
        key=lambda code: (gym.parameters.severity.get(code, 0.0), code),
        reverse=strict,
    )


def _needs(gym: RandomGym, code: str) -> set[str]:
    direct = set(gym.catalogue.skill(code).needs)
    return direct.union(*(_needs(gym, need) for need in direct)) if direct else direct


def _new_coaches(
    gym: RandomGym, row: int, skill: str, coaches: Sequence[str], by: int | None
) -> list[str]:
    """Coaches without a try in the run of clean ones that ends this athlete's log of the skill.

    Tries too old to be fresh on the day ``by`` are none of that run then.
    """
    assert by is not None
    mine = [one for one in gym.rows if one.athlete == gym.athletes[row].code and one.skill == skill]
    seen = set()
    for one in sorted(mine, key=lambda one: (one.ago, one.result == "clean")):
        if one.result != "clean" or day_of(one) < by - gym.rules.fresh_days:
            break
        seen.add(one.coach)
    return [code for code in coaches if code not in seen] + list(coaches)


def told_after(gym: RandomGym, further: Sequence[Try], day: int | None) -> Picture:
    """What the engine knows at the end of ``day`` with these tries in the log."""
    assert day is not None
    codes = [athlete.code for athlete in gym.athletes]
    past = log_of(gym.catalogue, codes, [*gym.rows, *further])
    everybody = log_of(gym.catalogue, codes, gym.rows).coaches
    log = replace(past, coaches=(*past.coaches, *(c for c in everybody if c not in past.coaches)))
    return picture(gym.catalogue, gym.athletes, log, gym.parameters, gym.rules, day)


def said_after(
    gym: RandomGym,
    row: int,
    further: Sequence[Try],
    day: int | None,
    age_floors: Mapping[int, float] | None = None,
) -> Readiness:
    """The engine's suggestion for one athlete at the end of ``day`` with these tries in the log."""
    return readiness(told_after(gym, further, day), age_floors)[row]
