"""Strategies of hypothesis for whole gyms: catalogues, athletes, logs and floors."""

from dataclasses import dataclass

from hypothesis import settings
from hypothesis import strategies as some

from progress.engine.parameters import Parameters
from progress.engine.picture import Picture
from progress.engine.rules import HeightRule, Rules
from progress.engine.terms import Athlete, Catalogue, Loop, Skill, Station, Variant
from tests.engine.small_gyms import KIM, LEE, Try, picture_of, surer

RESULTS = ("clean", "clean", "clean", "assisted", "miss")  # mostly clean, so that skills are held
LADDERS = ("a", "b", "c")
FLAGS = (True, False)

# The same examples on every run, as many as the time for the whole suite allows.
thorough = settings(deadline=None, derandomize=True, max_examples=80, database=None)


@dataclass(frozen=True)
class RandomGym:
    """A gym as the engine takes it."""

    catalogue: Catalogue
    athletes: tuple[Athlete, ...]
    rows: tuple[Try, ...]
    rules: Rules
    parameters: Parameters

    @property
    def picture(self) -> Picture:
        """What is known on the day."""
        return picture_of(
            self.catalogue, self.athletes, self.rows, rules=self.rules, parameters=self.parameters
        )


@some.composite
def catalogues(draw: some.DrawFn) -> Catalogue:
    """Up to eight skills on three ladders and three tiers; each may need any before it."""
    skills: list[Skill] = []
    for number in range(draw(some.integers(1, 8))):
        needs = (
            draw(some.lists(some.sampled_from(skills), unique=True, max_size=2)) if skills else []
        )
        skills.append(
            Skill(
                code=f"S{number}",
                ladder=draw(some.sampled_from(LADDERS)),
                tier=draw(some.integers(1, 3)),
                required=draw(some.booleans()),
                gate=draw(some.booleans()),
                needs=tuple(need.code for need in needs),
                minimum_age=draw(some.sampled_from((None, None, 5.0, 8.0))),
            )
        )
    return Catalogue(tuple(draw(some.permutations(skills))))


@some.composite
def athletes(draw: some.DrawFn, most: int = 4) -> tuple[Athlete, ...]:
    """One to a few athletes in any tier, some held, some easing back, ages known or not."""
    return tuple(
        Athlete(
            code=f"A{number}",
            tier=draw(some.integers(1, 3)),
            age=draw(some.sampled_from((None, 4.0, 7.0, 10.0))),
            held=draw(some.integers(0, 5)) == 5,  # draws lean towards 0
            held_ladders=draw(some.frozensets(some.sampled_from(LADDERS), max_size=1)),
            easing_back=draw(some.booleans()),
        )
        for number in range(draw(some.integers(1, most)))
    )


@some.composite
def histories(
    draw: some.DrawFn, catalogue: Catalogue, people: tuple[Athlete, ...], most: int = 40
) -> tuple[Try, ...]:
    """Tries over the last hundred days, several of a kind at a time."""
    bouts = draw(
        some.lists(
            some.tuples(
                some.sampled_from(people),
                some.sampled_from(catalogue.skills),
                some.integers(0, 100),
                some.sampled_from((KIM, LEE, "")),
                some.lists(some.sampled_from(RESULTS), min_size=2, max_size=6),
            ),
            min_size=3,
            max_size=most // 4,
        )
    )
    return tuple(
        Try(athlete.code, skill.code, result, ago=day - 0.001 * number, coach=coach)
        for athlete, skill, day, coach, results in bouts
        for number, result in enumerate(results)
    )


@some.composite
def gyms(draw: some.DrawFn) -> RandomGym:
    """A gym with easy floors, so that skills come to be held, and random height rules."""
    catalogue, people = draw(catalogues()), draw(athletes())
    codes = [skill.code for skill in catalogue.skills] + ["GONE"]
    asked = some.lists(some.sampled_from(codes), min_size=1, max_size=2, unique=True).map(tuple)
    rules = Rules(
        secure_confidence=0.4,
        nearly_confidence=0.2,
        gate_clean_in_a_row=draw(some.integers(1, 3)),
        gate_days=1,
        clean_attempts=1,
        clean_days=1,
        height_rules=(HeightRule(0.6, draw(asked)), HeightRule(1.0, draw(asked))),
    )
    level = {tier: draw(some.floats(0, 5)) for tier in (1, 2, 3)}
    parameters = surer(catalogue, tier_level=level)
    return RandomGym(catalogue, people, draw(histories(catalogue, people)), rules, parameters)


@some.composite
def floors(draw: some.DrawFn, catalogue: Catalogue) -> tuple[Loop, ...]:
    """One or two loops of stations with variants of any height, age and place."""
    codes = [skill.code for skill in catalogue.skills]
    stations = []
    for number in range(draw(some.integers(1, 3))):
        variants = tuple(
            Variant(
                code=f"{number}{step:+d}",
                skill=draw(some.sampled_from(codes)),
                step=step,
                difficulty=draw(some.sampled_from((None, -1.0, 0.5))),
                height_m=draw(some.sampled_from((None, 0.4, 0.8, 1.2))),
                spotter=draw(some.booleans()),
                places=draw(some.sampled_from((None, 0, 1, 2))),
                minimum_age=draw(some.sampled_from((None, 6.0))),
                needs=tuple(draw(some.lists(some.sampled_from(codes), max_size=1))),
            )
            for step in range(-1, draw(some.integers(0, 2)))
        )
        stations.append(Station(str(number), variants))
    first = Loop("first", tuple(stations))
    return (first, Loop("second", (stations[-1],)))[: draw(some.integers(1, 2))]
