"""A coach compares what a floor practises with what the children who use it need next."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from progress.engine.station_answers import CoverRow, Proposal
from progress.engine.station_choice import cover, propose
from progress.engine.station_demand import Demand, LibraryStation, Need
from progress.engine.stops import barred
from progress.models import Area, GymClass, Loop, Setup, Skill, Station
from progress.usecases.coverage.describe_floor import Choice, FloorFacts, describe_floor
from progress.usecases.coverage.gather_needs import children_of, needs_of, on_hold
from progress.usecases.know_athletes import Known, know_athletes


@dataclass(frozen=True)
class SkillNeeded:
    """A skill that holds children back: how many, how many this floor serves, and where.

    ``stations`` stand on this floor in an area where such a child trains and practise the skill;
    ``barred`` counts by reason the children who get to one and may not be sent there yet.
    ``designs`` are stations of the library, not on this floor, that practise it.
    """

    skill: Skill
    needing: int
    served: int
    weight: float
    stations: tuple[str, ...]
    barred: Mapping[str, int]
    designs: tuple[str, ...]


@dataclass(frozen=True)
class SwapOnFloor:
    """A proposed swap with its records; ``places`` are (loop, place in it) of what would go.

    ``alone``: the limits hold with this swap made and the later ones not.
    """

    area: Area
    out: Station
    into: Station
    places: tuple[tuple[Loop, int], ...]
    alone: bool
    why: str


@dataclass(frozen=True)
class Coverage:
    """A floor against the needs of the classes that use it.

    ``classes`` could use it, ``chosen`` are compared. ``rows`` by ladder code and tier, ladders in
    the catalogue's order; ``skills`` most children first. ``children`` were looked at, of whom
    ``held`` are on hold and left out. ``proposal`` is None where no station stands.
    """

    setup: Setup
    classes: tuple[GymClass, ...]
    chosen: tuple[GymClass, ...]
    children: int
    held: int
    rows: tuple[CoverRow, ...]
    skills: tuple[SkillNeeded, ...]
    catalogue: Mapping[str, Skill]
    stations: tuple[Station, ...]
    fixed: frozenset[int]
    without_space: tuple[str, ...]
    library_size: int
    proposal: Proposal | None
    swaps: tuple[SwapOnFloor, ...]


def see_coverage(
    *,
    setup: Setup,
    today: date,
    classes: Collection[str] | None = None,
    changes: int = 1,
    fixed: Collection[int] = (),
) -> Coverage:
    """Compare a setup with what holds children back today; propose up to ``changes`` swaps.

    ``classes`` are codes; None takes every class of the week that uses the floor's areas.
    ``fixed`` are keys of stations that stay. The number of queries does not grow with the gym.
    """
    facts = describe_floor(setup)
    kinds = facts.areas_by_kind()
    usable = _classes_that_use(kinds)
    chosen = tuple(one for one in usable if classes is None or one.code in classes)
    children = children_of(chosen, today)
    known = know_athletes(athletes=children.athletes, today=today)
    needs = needs_of(known, children.small, kinds)
    fits = Fits(known, facts)
    floor = facts.as_floor(fixed)
    demand = Demand.asking(needs, floor.library, fits.fits, _names(known))
    proposal = propose(demand, floor, changes) if floor.standing else None
    return Coverage(
        setup=setup,
        classes=usable,
        chosen=chosen,
        children=len(children.athletes),
        held=len(on_hold(known)),
        rows=_rows(demand, facts, known, fixed),
        skills=_skills(needs, facts, known, fits),
        catalogue=known.skills,
        stations=_standing(facts),
        fixed=frozenset(fixed),
        without_space=facts.without_space,
        library_size=facts.library_size,
        proposal=proposal,
        swaps=_swaps(proposal, facts) if proposal else (),
    )


def _classes_that_use(kinds: Collection[bool]) -> tuple[GymClass, ...]:
    """Classes of the week that train in such areas; True is the small area."""
    week = GymClass.objects.order_by(F("weekday").asc(nulls_last=True), "starts_at", "name")
    return tuple(one for one in week if one.small_area in kinds)


def _names(known: Known) -> dict[str, str]:
    return {code: skill.name for code, skill in known.skills.items()}


class Fits:
    """Whether a station has a variant that practises a skill and that nothing bars."""

    def __init__(self, known: Known, facts: FloorFacts) -> None:
        self.known, self.facts = known, facts
        self.row_of = {athlete.code: row for row, athlete in enumerate(known.athletes)}

    def fits(self, need: Need, station: LibraryStation) -> bool:
        """The engine's question."""
        return self.why_not(need, self.facts.choices[station.code]) == ""

    def why_not(self, need: Need, choice: Choice) -> str | None:
        """Empty where a variant fits, the first variant's reason where all are barred.

        None where the station does not practise the skill.
        """
        row, first = self.row_of[need.athlete], None
        for variant in choice.variants:
            if variant.skill == need.skill:
                reason = barred(self.known.picture, row, variant)
                if not reason:
                    return ""
                first = first or reason
        return first


def _rows(
    demand: Demand, facts: FloorFacts, known: Known, fixed: Collection[int]
) -> tuple[CoverRow, ...]:
    place_of = {code: (s.ladder.code, s.tier_id) for code, s in known.skills.items()}
    order = {s.ladder.code: number for number, s in enumerate(known.skills.values())}
    rows = cover(demand, facts.as_floor(fixed), place_of)
    return tuple(sorted(rows, key=lambda row: (order[row.ladder], row.tier)))


def _skills(
    needs: tuple[Need, ...], facts: FloorFacts, known: Known, fits: Fits
) -> tuple[SkillNeeded, ...]:
    by_skill: dict[str, list[Need]] = {}
    for need in needs:
        by_skill.setdefault(need.skill, []).append(need)
    found = [_skill(known.skills[code], mine, facts, fits) for code, mine in by_skill.items()]
    return tuple(sorted(found, key=lambda one: (-one.needing, -one.weight, one.skill.code)))


def _skill(skill: Skill, needs: list[Need], facts: FloorFacts, fits: Fits) -> SkillNeeded:
    served = 0
    where: dict[str, None] = {}
    reasons: dict[str, int] = {}
    for need in needs:
        answers = []
        for area, code in facts.standing:
            answer = fits.why_not(need, facts.choices[code]) if need.trains_in(area) else None
            if answer is not None:
                where[facts.choices[code].station.name] = None
                answers.append(answer)
        if "" in answers:
            served += 1
        elif answers:
            reasons[answers[0]] = reasons.get(answers[0], 0) + 1
    most_first = dict(sorted(reasons.items(), key=lambda one: (-one[1], one[0])))
    weight = sum(need.weight for need in needs)
    designs = {
        choice.station.name: None
        for choice in facts.choices.values()
        if not choice.standing and any(one.skill == skill.code for one in choice.variants)
    }
    return SkillNeeded(skill, len(needs), served, weight, tuple(where), most_first, tuple(designs))


def _standing(facts: FloorFacts) -> tuple[Station, ...]:
    """Each station that stands, once, in the order of the floor."""
    return tuple({c: facts.choices[c].station for _, c in facts.standing}.values())


def _swaps(proposal: Proposal, facts: FloorFacts) -> tuple[SwapOnFloor, ...]:
    return tuple(
        SwapOnFloor(
            area=facts.areas[swap.area],
            out=facts.choices[swap.out].station,
            into=facts.choices[swap.into].copied_from,
            places=facts.loops_of(facts.choices[swap.out].station, swap.area),
            alone=swap.alone,
            why=swap.why,
        )
        for swap in proposal.swaps
    )
