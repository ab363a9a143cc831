"""What must hold of every gym, tried on random ones."""

from collections import Counter
from dataclasses import fields, replace

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as some

from progress.engine.answers import Suggestion
from progress.engine.class_plan import plan_class
from progress.engine.loop_plan import Limits, suggest
from progress.engine.next_checks import next_checks
from progress.engine.picture import Picture
from progress.engine.readiness import readiness
from progress.engine.terms import Athlete, Decision, Loop, Variant
from tests.engine.random_gyms import RandomGym, floors, gyms, thorough
from tests.engine.small_gyms import CLEAN, Try, log_of

JUST_NOW = -0.2  # days ago: after every other try of the day


class TestOneMoreCleanTry:
    @thorough
    @given(gym=gyms(), data=some.data())
    def test_it_lowers_no_chance_of_that_athlete(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        """At any skill, up to 1e-6: moment matching could in principle lower far ones."""
        skill = data.draw(some.sampled_from(gym.catalogue.skills))
        now = Try(gym.athletes[0].code, skill.code, CLEAN, ago=JUST_NOW)
        after = replace(gym, rows=(*gym.rows, now)).picture
        assert np.all(after.chance[0] >= gym.picture.chance[0] - 1e-6)

    @thorough
    @given(gym=gyms(), data=some.data())
    def test_some_days_ago_it_lowers_none_by_more_than_a_thousandth(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        """A try in a long break also cuts the break short: less fading, more growth.

        That holds for the growth assumed before a log. Where no growth was learnt a hard skill's
        chance may fall by 0.003, and where decline was (0.003 logits a day), by 0.012. A child
        with no try at all is left out: nothing fades where nothing is known.
        """
        skill = data.draw(some.sampled_from(gym.catalogue.skills))
        name = gym.athletes[0].code
        days = [one.ago for one in gym.rows if one.athlete == name]
        assume(days)
        ago = data.draw(some.floats(0, 1)) * max(min(days, default=0.0) - 0.01, 0.0)
        after = replace(gym, rows=(*gym.rows, Try(name, skill.code, CLEAN, ago=ago))).picture
        assert np.all(after.chance[0] >= gym.picture.chance[0] - 0.001)

    @thorough
    @given(gym=gyms(), data=some.data())
    def test_it_undoes_no_evidence_and_nothing_held(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        skill = data.draw(some.sampled_from(gym.catalogue.skills))
        coach = data.draw(some.sampled_from(("kim", "lee")))
        rows = (*gym.rows, *(Try("other", skill.code, coach=name) for name in ("kim", "lee")))
        people = (*gym.athletes, Athlete("other", 1))
        before = replace(gym, athletes=people, rows=rows)
        now = Try(gym.athletes[0].code, skill.code, CLEAN, ago=JUST_NOW, coach=coach)
        after = replace(before, rows=(*rows, now)).picture
        assert np.all(after.evidence.floor[0] >= before.picture.evidence.floor[0])
        assert np.all(after.held[0] >= before.picture.held[0])


class TestAthletesLeaveEachOtherAlone:
    @thorough
    @given(gym=gyms(), data=some.data())
    def test_a_try_of_one_changes_no_estimate_of_another(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        """With the parameters fixed, as between two calibrations."""
        people = (*gym.athletes, Athlete("other", 2))
        skill = data.draw(some.sampled_from(gym.catalogue.skills))
        result = data.draw(some.sampled_from(("miss", "assisted", "clean")))
        two_coaches = tuple(Try("other", skill.code, coach=name, ago=3) for name in ("kim", "lee"))
        before = replace(gym, athletes=people, rows=(*gym.rows, *two_coaches))
        after = replace(before, rows=(*before.rows, Try("other", skill.code, result)))
        told, then = before.picture, after.picture
        mine = slice(len(gym.athletes))
        for name in ("state", "held"):
            assert np.array_equal(getattr(told, name)[mine], getattr(then, name)[mine])
        for name in ("chance", "confidence", "p_ready"):
            # The last bits may differ: sums over more rows are added up in another order.
            assert np.allclose(getattr(told, name)[mine], getattr(then, name)[mine], atol=1e-12)


def forbidden(told: Picture, athlete: Athlete, variant: Variant) -> list[str]:
    """Rules broken by sending this athlete to this variant, told from what is held alone."""
    skills, row = told.catalogue.skills, told.place[athlete.code]
    held = {skill.code for place, skill in enumerate(skills) if told.held[row, place]}
    skill = told.catalogue.skill(variant.skill)
    broken = []
    if athlete.held or skill.ladder in athlete.held_ladders:
        broken.append("hold")
    ages = [age for age in (skill.minimum_age, variant.minimum_age) if age is not None]
    if athlete.age is not None and ages and athlete.age < max(ages):
        broken.append("age")
    if not {*skill.needs, *variant.needs} <= held:
        broken.append("needs")
    for rule in told.rules.height_rules:
        if (variant.height_m or 0.0) > rule.above_m:
            known = {code for code in rule.needs if code in told.catalogue.position}
            gates = {s.code for s in skills if s.gate and s.tier <= skill.tier}
            asked = known if known == set(rule.needs) else known | gates
            if not asked or not asked <= held:
                broken.append("height")
    return broken


def check_plan(
    told: Picture, loops: tuple[Loop, ...], said: tuple[Suggestion, ...], limits: Limits
) -> None:
    variants = {(s.code, v.code): v for loop in loops for s in loop.stations for v in s.variants}
    used: Counter[tuple[str, str, str]] = Counter()
    watched: dict[str, set[str]] = {}
    for one in said:
        assert one.why
        if one.variant is None:
            assert one.chance is None
            continue
        variant = variants[one.station, one.variant]
        assert forbidden(told, told.athletes[told.place[one.athlete]], variant) == []
        used[one.loop, one.station, one.variant] += 1
        if variant.spotter:
            watched.setdefault(one.loop, set()).add(one.station)
    for (_, station, code), count in used.items():
        places = variants[station, code].places
        assert not limits.count_places or places is None or count <= places
    if limits.spotters is not None:
        assert all(len(stations) <= limits.spotters for stations in watched.values())


class TestSuggestions:
    @thorough
    @given(gym=gyms(), data=some.data(), spotters=some.sampled_from((None, 0, 1)))
    def test_none_breaks_a_need_a_gate_a_height_rule_an_age_a_hold_or_a_limit(
        self, gym: RandomGym, data: some.DataObject, spotters: int | None
    ) -> None:
        told, loops = gym.picture, data.draw(floors(gym.catalogue))
        limits = Limits(spotters=spotters)
        check_plan(told, loops, suggest(told, range(len(gym.athletes)), loops, limits), limits)

    @thorough
    @given(gym=gyms(), data=some.data())
    def test_who_is_sent_nowhere_could_not_have_been_sent(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        told, loops = gym.picture, data.draw(floors(gym.catalogue))
        freely = Limits(count_places=False)
        stations = {(loop.code, s.code): s for loop in loops for s in loop.stations}
        for one in suggest(told, range(len(gym.athletes)), loops, freely):
            variants = stations[one.loop, one.station].variants
            athlete = told.athletes[told.place[one.athlete]]
            fitting = [v.code for v in variants if not forbidden(told, athlete, v)]
            assert (one.variant in fitting) if fitting else (one.variant is None)

    @thorough
    @given(gym=gyms(), data=some.data())
    def test_a_class_plan_breaks_nothing_either_and_keeps_groups_even(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        told, loops = gym.picture, data.draw(floors(gym.catalogue))
        plan = plan_class(told, range(len(gym.athletes)), loops, Limits())
        for loop in loops:
            rows = [row for row, code in plan.starts.items() if code == loop.code]
            names = {told.athletes[row].code for row in rows}
            group = tuple(one for one in plan.suggestions if one.athlete in names)
            check_plan(told, loops, group, Limits())
        sizes = Counter(plan.starts.values())
        assert not sizes or max(sizes.values()) - min(sizes[loop.code] for loop in loops) <= 1
        assert {told.athletes[row].held for row in plan.starts} <= {False}


class TestChecks:
    @thorough
    @given(gym=gyms())
    def test_none_breaks_a_need_an_age_or_a_hold_and_each_is_suggested_once(
        self, gym: RandomGym
    ) -> None:
        told = gym.picture
        said = next_checks(told, range(len(gym.athletes)))
        for check in said:
            athlete = told.athletes[told.place[check.athlete]]
            assert forbidden(told, athlete, Variant("floor", check.skill)) == []
            assert np.isfinite(check.gain)
        assert len({(check.athlete, check.skill) for check in said}) == len(said)
        assert max(Counter(c.athlete for c in said).values(), default=0) <= 3


class TestReadiness:
    @thorough
    @given(gym=gyms())
    def test_ready_has_every_gate_secure_every_floor_met_and_no_hold(self, gym: RandomGym) -> None:
        told = gym.picture
        for said in readiness(told):
            assert 0.0 <= said.p_ready <= 1.0
            assert said.reasons
            row = told.place[said.athlete]
            athlete = told.athletes[row]
            if said.decision is Decision.READY:
                assert not athlete.held
                assert not athlete.held_ladders
                for column, skill in enumerate(gym.catalogue.skills):
                    if skill.tier == athlete.tier and skill.gate:
                        assert told.secure[row, column]
                    if skill.tier == athlete.tier and skill.required:
                        assert told.evidence.floor[row, column]


class TestOrder:
    @thorough
    @given(gym=gyms(), data=some.data())
    def test_shuffled_rows_give_the_same_log_picture_and_readiness(
        self, gym: RandomGym, data: some.DataObject
    ) -> None:
        other = replace(gym, rows=tuple(data.draw(some.permutations(gym.rows))))
        names = [athlete.code for athlete in gym.athletes]
        logs = [log_of(gym.catalogue, names, one.rows) for one in (gym, other)]
        for field in fields(logs[0]):
            first, second = (getattr(log, field.name) for log in logs)
            assert np.array_equal(first, second)
        told = gym.picture, other.picture
        for name in ("mean", "variance", "chance", "state", "held", "p_ready"):
            assert np.array_equal(getattr(told[0], name), getattr(told[1], name))
        assert readiness(told[0]) == readiness(told[1])
        rows = range(len(gym.athletes))
        assert next_checks(told[0], rows) == next_checks(told[1], rows)


def test_the_random_gyms_are_worth_trying() -> None:
    """They must hold skills, miss needs and break heights often enough to prove anything."""
    found: Counter[str] = Counter()

    @thorough
    @given(gym=gyms(), data=some.data())
    def look(gym: RandomGym, data: some.DataObject) -> None:
        told = gym.picture
        found["held"] += int(told.held.any())
        for loop in data.draw(floors(gym.catalogue)):
            variants = [v for station in loop.stations for v in station.variants]
            for athlete in gym.athletes:
                for variant in variants:
                    found.update(set(forbidden(told, athlete, variant)) or {"fits"})

    look()
    print(dict(found))
    assert min(found[word] for word in ("held", "fits", "hold", "age", "needs", "height")) > 10
