"""The records as rows of the four files, always in the same order."""

from collections.abc import Iterable, Iterator
from itertools import groupby
from operator import itemgetter
from typing import Any

from progress.models import Athlete, Attempt, Enrolment, LookFor, Setup, Skill, SkillNeed
from progress.usecases.folders.dates import venue_zone
from progress.usecases.folders.plans import SetupPlan, plan_of, stored_setups
from progress.usecases.folders.texts import joined, pieces_of, tidied

Line = list[Any]


def skill_lines() -> Iterator[Line]:
    """One line a skill, ladder by ladder."""
    needs = gathered(SkillNeed.objects.values_list("skill_id", "need__code"))
    look_fors = gathered(LookFor.objects.order_by("order").values_list("skill_id", "text"))
    skills = list(Skill.objects.select_related("ladder"))
    skills.sort(key=lambda each: (each.ladder.order, each.ladder.code, each.tier_id, each.code))
    for skill in skills:
        yield [
            skill.code,
            skill.ladder.code,
            skill.tier_id,
            tidied(skill.name) or skill.code,
            skill.required,
            skill.gate,
            " ".join(sorted(needs.get(skill.pk, ()))),
            skill.standard,
            several(look_fors.get(skill.pk, ())),
            skill.caution,
        ]


def athlete_lines() -> Iterator[Line]:
    """One line an athlete, by code, with the classes the athlete has an open place in."""
    open_places = Enrolment.objects.filter(until__isnull=True).order_by()
    classes = gathered(open_places.values_list("athlete_id", "gym_class__code").distinct())
    for athlete in sorted(Athlete.objects.all(), key=lambda each: each.code):
        yield [
            athlete.code,
            athlete.tier_id,
            athlete.name,
            athlete.birth_date,
            several(sorted(classes.get(athlete.pk, ()))),
            athlete.joined,
        ]


def attempt_lines(variants: set[str], left_out: set[str]) -> Iterator[Line]:
    """One line a standing attempt, by time and then id.

    ``variants`` are the codes that floor.csv holds; others could not be found again, so they are
    noted in ``left_out`` instead of written.
    """
    zone = venue_zone()
    rows = (
        Attempt.objects.standing()
        .order_by("at")
        .values_list(
            "at",
            "uid",
            "athlete__code",
            "skill__code",
            "result",
            "coach__code",
            "variant__code",
            "note",
        )
        .iterator(chunk_size=5_000)
    )
    for at, together in groupby(rows, key=itemgetter(0)):
        moment = at.astimezone(zone).isoformat()
        # Databases disagree on the order of letters; sorting the few rows of one moment here
        # gives the same file from each of them.
        for _, uid, athlete, skill, result, coach, variant, note in sorted(together, key=by_uid):
            lost = variant is not None and variant not in variants
            if lost:
                left_out.add(variant)
            yield [athlete, skill, moment, result, coach, None if lost else variant, uid, note]


def by_uid(row: tuple[Any, ...]) -> str:
    """The id of an attempt's row."""
    return str(row[1])


def floors_to_save() -> list[SetupPlan]:
    """The floors floor.csv holds: the undated one first, then week by week.

    Published ones, and drafts of a week that attempts were made on all the same.
    """
    drafts = Setup.objects.filter(published=False, week__isnull=False)
    used = drafts.filter(stations__variants__attempts__isnull=False).values_list("week", flat=True)
    setups = [*stored_setups(), *stored_setups(used.distinct())]
    plans = [plan_of(setup) for setup in setups]
    return sorted(plans, key=lambda plan: (plan.week is not None, plan.week and str(plan.week)))


def floor_lines(plans: Iterable[SetupPlan]) -> Iterator[Line]:
    """One line a variant in each loop that passes its station."""
    for plan in plans:
        stations = {station.code: station for station in plan.stations}
        for loop in plan.loops:
            for position, station in loop.stops:
                for variant in stations[station].variants:
                    yield [
                        loop.code,
                        station,
                        variant.code,
                        variant.step,
                        variant.skill,
                        plan.week,
                        loop.area,
                        position,
                        variant.difficulty,
                        variant.height_m,
                        variant.spotter,
                        variant.lanes,
                        variant.seconds,
                        variant.change,
                        variant.caution,
                    ]


def gathered(pairs: Iterable[tuple[int, str]]) -> dict[int, list[str]]:
    """Texts by the key they belong to."""
    by_key: dict[int, list[str]] = {}
    for key, text in pairs:
        by_key.setdefault(key, []).append(text)
    return by_key


def several(texts: Iterable[str]) -> str:
    """Several texts in one cell, in the form that reading and writing again does not change."""
    return joined(list(pieces_of(joined([tidied(text) for text in texts]))))
