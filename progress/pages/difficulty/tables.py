"""The tables of the map and of the moves: skills, children, changes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.safestring import SafeString, mark_safe

from progress.engine.placing import Placed
from progress.engine.terms import Decision
from progress.models import Athlete, Skill, SkillChange, SkillRule
from progress.pages.difficulty.words import between, enough_words, logits, saying, value_words
from progress.pages.shared.parts import athlete_link
from progress.pages.shared.tables import RuledTable
from progress.pages.shared.words import percent
from progress.usecases.retier import AthleteChange, from_writing, put_back
from progress.usecases.see_board import ORDER


@dataclass(frozen=True)
class SkillRow:
    """A skill as the table sorts and shows it; ``place`` is its place in the catalogue."""

    place: int
    skill: Skill
    placed: Placed
    name: str
    tier: int
    difficulty: float
    chance: float
    attempts: int
    athletes: int
    says: tuple[int, str]


def skill_rows(placed: Iterable[Placed], skills: Mapping[str, Skill]) -> list[SkillRow]:
    """What the engine says with the skills' names."""
    return [
        SkillRow(
            place=place,
            skill=skills[one.skill],
            placed=one,
            name=str(skills[one.skill]),
            tier=one.tier,
            difficulty=one.difficulty,
            chance=one.chance,
            attempts=one.attempts,
            athletes=one.athletes,
            says=(saying(one).order, saying(one).words),
        )
        for place, one in enumerate(placed)
    ]


class SkillTable(RuledTable):
    """Every skill with its difficulty and what the figures say of its tier."""

    caption = (
        "Difficulties are places on the map’s scale. Average child: how often one of the skill’s"
        f" tier would be clean. It takes {enough_words()} to say anything of a skill’s tier."
    )
    nobody = "There are no skills yet."

    name = tables.Column(verbose_name="Skill")
    tier = tables.Column(verbose_name="Tier")
    difficulty = tables.Column(verbose_name="Difficulty")
    between = tables.Column(
        verbose_name="90% sure between", accessor="placed", orderable=False, empty_values=()
    )
    chance = tables.Column(verbose_name="Average child")
    attempts = tables.Column(verbose_name="Tries")
    athletes = tables.Column(verbose_name="Children")
    says = tables.Column(verbose_name="The figures say")

    def render_name(self, record: SkillRow) -> SafeString:
        gate = ", safety skill" if record.skill.gate else ""
        return format_html(
            '{}<span class="under">{}{}</span>', record.name, record.skill.ladder, gate
        )

    def render_difficulty(self, value: float) -> str:
        return logits(value)

    def render_between(self, record: SkillRow) -> str:
        return between(record.placed)

    def render_chance(self, value: float) -> str:
        return percent(value)

    def render_says(self, record: SkillRow) -> SafeString:
        target = record.placed.points_to
        query = urlencode({"skill": record.skill.code, "tier": target or ""})
        return format_html(
            '{}<br><a class="try" href="{}?{}">Try another tier<span class="sr-only"> for {}</span>'
            "</a>",
            record.says[1],
            reverse("retier"),
            query,
            record.name,
        )


@dataclass(frozen=True)
class ChildRow:
    """A child for whom the tool would suggest something else."""

    athlete: Athlete
    name: str
    tier: int
    before: Decision
    after: Decision
    now: int
    then: int
    p_before: float
    p_after: float


def child_rows(changes: Iterable[AthleteChange]) -> list[ChildRow]:
    """The use case's changes with what sorting needs."""
    return [
        ChildRow(
            athlete=one.athlete,
            name=str(one.athlete),
            tier=one.change.tier,
            before=one.change.before,
            after=one.change.after,
            now=ORDER.index(one.change.before),
            then=ORDER.index(one.change.after),
            p_before=one.change.p_before,
            p_after=one.change.p_after,
        )
        for one in changes
    ]


class ChildTable(RuledTable):
    """Children by name, with what the tool suggests now and would suggest then."""

    caption = "Only children for whom the suggestion would be another."
    nobody = "For no child would the suggestion be another."

    name = tables.Column(verbose_name="Child")
    tier = tables.Column(verbose_name="Tier")
    now = tables.Column(verbose_name="Suggested now")
    then = tables.Column(verbose_name="Suggested then")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, order_by="name", prefix="c-", **kwargs)

    def render_name(self, record: ChildRow) -> SafeString:
        return athlete_link(record.athlete)

    def render_now(self, record: ChildRow) -> SafeString:
        return _decision(record.before, record.p_before)

    def render_then(self, record: ChildRow) -> SafeString:
        return _decision(record.after, record.p_after)


def _decision(decision: Decision, chance: float) -> SafeString:
    context = {"decision": decision, "p_ready": chance}
    return mark_safe(render_to_string("progress/difficulty/decision.html", context))


class HistoryTable(RuledTable):
    """Every change of a skill, the newest first."""

    caption = "Newest first, with the value before. Putting one back is a new change."
    nobody = "No skill has been changed on these pages yet."

    skill = tables.Column(verbose_name="Skill")
    before = tables.Column(verbose_name="Before")
    after = tables.Column(verbose_name="After")
    why = tables.Column(verbose_name="Why")
    changed_by = tables.Column(verbose_name="Who and when")
    back = tables.Column(verbose_name="Put back", accessor="pk")
    row_heading = "skill"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, orderable=False, prefix="h-", **kwargs)

    def render_before(self, record: SkillChange) -> str:
        return _in_words(record, record.before)

    def render_after(self, record: SkillChange) -> str:
        return _in_words(record, record.after)

    def render_changed_by(self, record: SkillChange) -> SafeString:
        at = timezone.localtime(record.changed_at)
        return format_html(
            '{}<span class="under"><time datetime="{}">{} {}</time></span>',
            record.changed_by,
            at.isoformat(),
            at.day,
            f"{at:%b %Y, %H:%M}",
        )

    def render_back(self, record: SkillChange) -> SafeString | str:
        if not put_back(record):
            return format_html('<span class="soft">{}</span>', "It is back already")
        return format_html(
            '<a href="{}?back={}">See what putting it back would change<span class="sr-only">: {}'
            "</span></a>",
            reverse("retier"),
            record.pk,
            record.skill,
        )


def _in_words(change: SkillChange, text: str) -> str:
    what = SkillRule(change.what)
    return value_words(what, from_writing(what, text)).capitalize()
