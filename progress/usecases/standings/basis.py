"""What every athlete's standing rests on alike: engine, rules, calibration, catalogue, coaches."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any

from django.db.models import (
    Count,
    Exists,
    F,
    FloatField,
    OuterRef,
    QuerySet,
    Sum,
    Value,
    prefetch_related_objects,
)
from django.db.models.functions import Cast, Coalesce

from progress.engine.parameters import VERSION, Parameters
from progress.engine.rules import Rules
from progress.engine.terms import Catalogue
from progress.models import Attempt, RuleBook, Skill, SkillNeed, StaffMember, Variant
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import Learnt, calibrations_for, learnt_by
from progress.usecases.engine_inputs import end_of


@dataclass(frozen=True)
class Ground:
    """A digest of all that is not the athlete's own; it changes whenever an answer may change.

    ``skills`` by code in catalogue order, with ladder and tier loaded.
    """

    skills: dict[str, Skill]
    digest: str
    calibrated: bool


@dataclass(frozen=True)
class Basis:
    """All that is not the athlete's own, and its digest.

    ``learnt`` has an offset for each variant on a published floor, newer ones by their prior.
    """

    skills: dict[str, Skill]
    catalogue: Catalogue
    rules: Rules
    learnt: Learnt
    digest: str

    @property
    def parameters(self) -> Parameters:
        """What the filter runs on."""
        return self.learnt.parameters


def ground_of(*, today: date) -> Ground:
    """Look whether the ground is still the same as of ``today``: two queries.

    Rules and calibrations are kept for good, so their counts and highest keys stand for what they
    say. Skills are read; needs and variants stand as sums that one change alone always moves.
    """
    skills = {skill.code: skill for skill in Skill.objects.select_related("ladder", "tier")}
    counted = _counted(today)
    told = [
        (
            *(skill.pk, skill.code, skill.ladder.code, skill.tier_id, skill.required, skill.gate),
            *(skill.standard, skill.minimum_age, skill.tier.minimum_age),
        )
        for skill in skills.values()
    ]
    calibrated = any(name == "calibrations" and many for name, many, *_ in counted)
    parts = (VERSION, told, counted)
    return Ground(skills, sha256(repr(parts).encode()).hexdigest(), calibrated)


def basis_of(*, today: date, ground: Ground | None = None) -> Basis:
    """Read all of it as of ``today``: six queries, two more with variants newer than calibrated.

    ``ground``: what ``ground_of`` said just now, for a caller who asked it; two queries less.

    Where the gym was never calibrated, it is now, from the whole log.
    """
    ground = ground or ground_of(today=today)
    prefetch_related_objects(list(ground.skills.values()), "needs")
    catalogue, rules = as_catalogue(ground.skills.values()), RuleBook.in_force()
    learnt = learnt_by(catalogue=catalogue, today=today).knowing(
        _on_floors().values_list("code", flat=True).distinct()
    )
    # Taken before what it stands for was read: whatever changed in between asks again.
    digest = ground.digest if ground.calibrated else ground_of(today=today).digest
    return Basis(ground.skills, catalogue, rules, learnt, digest)


def _counted(today: date) -> list[Any]:
    """Rules, calibrations, needs, variants and coaches: how many, and three sums. One query."""
    parts = list(_parts(today))
    rows: list[Any] = list(parts[0].union(*parts[1:], all=True))
    # Sums may differ in the last digits by the order in which a database adds.
    return sorted((name, count, *(round(one, 6) for one in sums)) for name, count, *sums in rows)


def _parts(today: date) -> Iterator[QuerySet[Any, Any]]:
    key = F("pk")
    yield _part("rules", RuleBook.objects.order_by(), F("version"))
    yield _part("calibrations", calibrations_for(today).order_by(), key)
    pairs = (F("skill_id") * F("need_id"), F("skill_id") * key, F("need_id") * key)
    yield _part("needs", SkillNeed.objects.order_by(), *pairs)
    hard = Coalesce(F("difficulty"), Value(-99.0))
    yield _part("variants", _on_floors(), hard * key, F("step") * key, F("skill_id") * key)
    recorded = Attempt.objects.filter(coach=OuterRef("pk"), at__lt=end_of(today)).order_by()
    yield _part("coaches", StaffMember.objects.filter(Exists(recorded)).order_by())


def _part(name: str, rows: QuerySet[Any], *measures: Any) -> QuerySet[Any, Any]:
    """One row: the name, how many there are, and the sums of up to three measures."""
    nothing = Value(0.0, output_field=FloatField())
    sums = {
        f"sum_{number}": Coalesce(Sum(Cast(measure, FloatField())), nothing)
        for number, measure in enumerate((*measures, nothing, nothing, nothing)[:3])
    }
    named = rows.annotate(part=Value(name)).values("part")
    return named.annotate(many=Count("pk"), **sums).values_list("part", "many", *sums)


def _on_floors() -> QuerySet[Variant]:
    return Variant.objects.filter(station__setup__published=True).order_by()
