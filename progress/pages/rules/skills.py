"""What skills ask for: the lead reads it by ladder, tries other values, sees who would change."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import django_tables2 as tables
from django.contrib import messages
from django.forms import BoundField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import SafeString
from django.views.decorators.http import require_POST

from progress.models import Ladder, Skill, SkillChange, SkillRule, StaffMember
from progress.pages.rules.previews import preview_context
from progress.pages.rules.skill_forms import (
    DEFAULT_STANDARD,
    REQUIRED,
    SEEN,
    STANDARD,
    SkillsForm,
    field_of,
    percentage,
)
from progress.pages.rules.views import kept, why_typed
from progress.pages.shared.access import lead_only
from progress.pages.shared.rule_forms import WhyForm
from progress.pages.shared.tables import RuledTable
from progress.usecases.change_skills import (
    SkillsConflict,
    SkillsRefused,
    SkillValues,
    change_skills,
    in_words,
    refuse_skills,
    value_of,
)
from progress.usecases.preview_rules import preview_skills

MOST_CHANGES = 30


@dataclass(frozen=True)
class Row:
    """A skill with its fields; ``required`` is None for a safety skill."""

    skill: Skill
    tier: int
    standard: BoundField
    required: BoundField | None
    seen: BoundField

    @property
    def own(self) -> bool:
        """Whether the programme set a standard of its own."""
        return bool(self.skill.standard != DEFAULT_STANDARD)

    @property
    def touched(self) -> bool:
        """Whether something else stands in a field than the skill asks for now, or is wrong."""
        if self.standard.errors or (self.required is not None and self.required.errors):
            return True
        other = str(self.standard.value()) != str(percentage(self.skill.standard))
        asked = self.skill.required if self.required is None else bool(self.required.value())
        return other or asked != self.skill.required


class SkillTable(RuledTable):
    """The skills of one ladder."""

    name = tables.TemplateColumn(
        template_name="progress/rules/skill_name.html", verbose_name="Skill"
    )
    tier = tables.Column(verbose_name="Tier")
    standard = tables.TemplateColumn(
        template_name="progress/rules/skill_standard.html", verbose_name="Standard"
    )
    required = tables.TemplateColumn(
        template_name="progress/rules/skill_required.html",
        verbose_name="Asked for",
        empty_values=(),
    )

    class Meta:
        orderable = False


@dataclass(frozen=True)
class Part:
    """One ladder on the page, folded unless there is something to see."""

    ladder: Ladder
    rows: tuple[Row, ...]

    @property
    def table(self) -> SkillTable:
        """Its skills with their fields."""
        return SkillTable(self.rows, caption=f"Skills of the ladder {self.ladder}")

    @property
    def opened(self) -> bool:
        """Whether a standard of its own, a changed field or a problem is in it."""
        return any(row.own or row.touched for row in self.rows)

    @property
    def asked(self) -> int:
        """How many of its skills a tier asks for."""
        return sum(row.skill.required or row.skill.gate for row in self.rows)


@lead_only
def rules_skills(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Every skill by ladder. What is sent here comes back to be written on."""
    form = _form(request.POST if request.method == "POST" else None)
    status = 422 if form.is_bound and not form.is_valid() else 200
    return _show(request, form, status)


@lead_only
@require_POST
def rules_skills_preview(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Who would change with the values sent; stores nothing."""
    form = _form(request.POST)
    if not form.is_valid():
        return _show(request, form, 422)
    return _preview(request, form, why_typed(request))


@lead_only
@require_POST
def rules_skills_save(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Store the values sent, for the reason given."""
    form, why = _form(request.POST), WhyForm(request.POST)
    if not form.is_valid():
        return _show(request, form, 422)
    if not why.is_valid():
        return _preview(request, form, why, 422)
    try:
        stored = change_skills(
            changes=form.changes(),
            why=why.cleaned_data["why"],
            lead=staff,
            now=timezone.now(),
            expected=form.expected(),
        )
    except SkillsConflict as conflict:
        return _conflict(request, form, conflict)
    except SkillsRefused as refused:
        form.refuse(refused.problems)
        return _show(request, form, 422)
    skills = len({change.skill_id for change in stored})
    told = "1 skill asks" if skills == 1 else f"{skills} skills ask"
    messages.success(request, f"{told} for something else from now on.")
    return redirect("rules_skills")


def _form(sent: Any = None, over: Mapping[str, Any] | None = None) -> SkillsForm:
    return SkillsForm(list(Skill.objects.select_related("ladder")), sent, over)


def _preview(
    request: HttpRequest, form: SkillsForm, why: WhyForm, status: int = 200
) -> HttpResponse:
    changes = form.changes()
    try:
        refuse_skills(changes=changes, expected=form.expected())
    except SkillsConflict as conflict:
        return _conflict(request, form, conflict)
    except SkillsRefused as refused:
        form.refuse(refused.problems)
        return _show(request, form, 422)
    skills = {skill.code: skill for skill in form.skills}
    preview = preview_skills(changes=changes, today=timezone.localdate())
    context = {
        **preview_context(preview, list(_weaker(changes, skills))),
        "differences": list(_differences(changes, skills)),
        "of_skills": True,
        "action": "rules_skills_save",
        "kept": kept(request.POST),
        "why": why,
    }
    return render(request, "progress/rules/preview.html", context, status=status)


def _weaker(changes: SkillValues, skills: Mapping[str, Skill]) -> Iterable[str]:
    """Safety skills that would ask for less."""
    for code, values in changes.items():
        skill = skills[code]
        if skill.gate and values.get(SkillRule.STANDARD, skill.standard) < skill.standard:
            yield f"{skill}: standard {in_words(SkillRule.STANDARD, values[SkillRule.STANDARD])}"


def _differences(changes: SkillValues, skills: Mapping[str, Skill]) -> Iterable[str]:
    for code, values in changes.items():
        for what, value in values.items():
            was = in_words(what, value_of(skills[code], what))
            yield f"{skills[code]}: {_said(what)} {was} → {in_words(what, value)}"


def _said(what: str) -> str:
    words = {SkillRule.TIER: "tier", SkillRule.STANDARD: "standard"}
    return words.get(SkillRule(what), "asked for by its tier:")


def _conflict(request: HttpRequest, form: SkillsForm, conflict: SkillsConflict) -> HttpResponse:
    """The form again: what this lead typed over what the skills ask for by now."""
    names = {skill.code: str(skill) for skill in form.skills}
    theirs = [f"{names.get(code, code)}: {told}" for code, told in conflict.problems.items()]
    messages.error(request, str(conflict))
    return _show(request, _form(over=form.typed()), 409, theirs)


def _show(
    request: HttpRequest, form: SkillsForm, status: int = 200, theirs: Iterable[str] = ()
) -> HttpResponse:
    rows = [_row(form, skill) for skill in form.skills]
    by_ladder = groupby(rows, key=lambda row: row.skill.ladder)
    ladders = [Part(ladder, tuple(some)) for ladder, some in by_ladder]
    changes = SkillChange.objects.select_related("skill", "changed_by")[:MOST_CHANGES]
    context = {
        "form": form,
        "why": request.POST.get("why", ""),
        "ladders": ladders,
        "default": percentage(DEFAULT_STANDARD),
        "own": [row for row in rows if row.own],
        "theirs": list(theirs),
        "changes": [(one, _in_a_line(one)) for one in changes],
    }
    return render(request, "progress/rules/skills.html", context, status=status)


def _row(form: SkillsForm, skill: Skill) -> Row:
    asked = None if skill.gate else form[field_of(REQUIRED, skill)]
    standard, seen = form[field_of(STANDARD, skill)], form[field_of(SEEN, skill)]
    return Row(skill, skill.tier_id, standard, asked, seen)


def _in_a_line(change: SkillChange) -> SafeString | str:
    was, now = in_words(change.what, change.before), in_words(change.what, change.after)
    return f"{change.skill}: {_said(change.what)} {was} → {now}"
