"""The skill catalogue: ladders, tiers, skills with their look-fors and needs."""

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q

from progress.engine import terms

# Needs are written as codes separated by spaces, so a code has none.
one_word = RegexValidator(r"^\S+$", "A code has no spaces in it.")


class Ladder(models.Model):
    """A movement family whose skills grow harder."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("order", "code")

    def __str__(self) -> str:
        return self.name


class Tier(models.Model):
    """An ordered programme level."""

    number = models.PositiveSmallIntegerField(unique=True, validators=[MinValueValidator(1)])
    name = models.CharField(max_length=120)
    minimum_age = models.FloatField(
        null=True, blank=True, help_text="Youngest age in years to move up into this tier."
    )

    class Meta:
        ordering = ("number",)
        constraints = (
            models.CheckConstraint(condition=Q(number__gte=1), name="tier_counts_from_one"),
        )

    def __str__(self) -> str:
        return self.name


class SkillQuerySet(models.QuerySet["Skill"]):
    """Reads of skills."""

    def with_needs(self) -> "SkillQuerySet":
        """Skills in catalogue order with ladder, tier and needs loaded: two queries."""
        return self.select_related("ladder", "tier").prefetch_related("needs")

    def as_catalogue(self) -> terms.Catalogue:
        """The whole catalogue in the engine's words: two queries."""
        return as_catalogue(self.with_needs())


def as_catalogue(skills: "Iterable[Skill]") -> terms.Catalogue:
    """These skills (with needs loaded, all skills they need among them) in the engine's words."""
    return terms.Catalogue(tuple(skill.as_term() for skill in skills))


class Skill(models.Model):
    """Something observable that an athlete can do."""

    code = models.CharField(max_length=40, unique=True, validators=[one_word])
    name = models.CharField(max_length=200)
    ladder = models.ForeignKey(Ladder, on_delete=models.PROTECT, related_name="skills")
    tier = models.ForeignKey(
        Tier, on_delete=models.PROTECT, to_field="number", related_name="skills"
    )
    required = models.BooleanField(default=True, help_text="Asked for before leaving the tier.")
    gate = models.BooleanField(default=False, help_text="Safety skill: never waived.")
    standard = models.FloatField(
        default=0.80,
        validators=[MinValueValidator(0.05), MaxValueValidator(0.99)],
        help_text="Chance of a clean attempt that counts as mastered.",
    )
    minimum_age = models.FloatField(null=True, blank=True, help_text="Years.")
    caution = models.TextField(blank=True)
    needs = models.ManyToManyField(
        "self", symmetrical=False, through="SkillNeed", related_name="needed_by", blank=True
    )

    objects = SkillQuerySet.as_manager()

    class Meta:
        ordering = ("ladder__order", "ladder__code", "tier", "code")
        constraints = (
            models.CheckConstraint(
                condition=Q(standard__gt=0, standard__lt=1), name="skill_standard_is_a_chance"
            ),
        )

    def __str__(self) -> str:
        return self.name

    def as_term(self) -> terms.Skill:
        """This skill in the engine's words; needs must be prefetched to stay at no query."""
        return terms.Skill(
            code=self.code,
            ladder=self.ladder.code,
            tier=self.tier_id,
            name=self.name,
            required=self.required,
            gate=self.gate,
            needs=tuple(sorted(need.code for need in self.needs.all())),
            standard=self.standard,
            minimum_age=self.minimum_age,
        )


class LookFor(models.Model):
    """One thing a coach watches for: seen or not seen."""

    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="look_fors")
    order = models.PositiveSmallIntegerField(default=0)
    text = models.CharField(max_length=200)

    class Meta:
        ordering = ("skill", "order")
        constraints = (models.UniqueConstraint(fields=("skill", "order"), name="look_for_order"),)

    def __str__(self) -> str:
        return self.text


class SkillNeed(models.Model):
    """``skill`` may be started only by an athlete who holds ``need``."""

    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="need_links")
    need = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="needed_by_links")

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("skill", "need"), name="need_named_once"),
            models.CheckConstraint(condition=~Q(skill=F("need")), name="skill_needs_not_itself"),
        )

    def __str__(self) -> str:
        return f"{self.skill} needs {self.need}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Check for a circle on every way in, not only in forms."""
        self.clean()
        super().save(*args, **kwargs)

    def clean(self) -> None:
        """Refuse a need that closes a circle."""
        if self.skill_id is None or self.need_id is None:
            return  # A skill not stored yet closes no circle, and a missing need is told elsewhere.
        links = SkillNeed.objects.exclude(pk=self.pk).values_list("skill__code", "need__code")
        # The stored codes, because a form may rename the skill at the same time.
        codes = dict(
            Skill.objects.filter(pk__in=(self.skill_id, self.need_id)).values_list("pk", "code")
        )
        try:
            refuse_cycle([*links, (codes[self.skill_id], codes[self.need_id])])
        except terms.NeedsCycle as error:
            raise ValidationError({"need": str(error)}) from None


def refuse_cycle(links: Iterable[tuple[str, str]]) -> None:
    """Raise NeedsCycle if (skill, need) ``links`` hold a circle. Bulk writers call this first."""
    graph: dict[str, set[str]] = {}
    for skill, need in links:
        graph.setdefault(skill, set()).add(need)
    terms.refuse_cycle(graph)
