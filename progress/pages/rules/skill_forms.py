"""What each skill asks for, as fields: its standard, and whether its tier asks for it."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from progress.models import Skill, SkillRule
from progress.usecases.change_skills import LEAST_STANDARD, MOST_STANDARD, Value, value_of

STANDARD, REQUIRED, SEEN = "standard", "required", "seen"
DEFAULT_STANDARD: float = Skill._meta.get_field("standard").default
OUT_OF_RANGE = "Give a standard from 5%% to 99%%."  # the form puts its own values in


def field_of(what: str, skill: Skill) -> str:
    """The name of a skill's field."""
    return f"{what}-{skill.pk}"


def percentage(chance: float) -> float | int:
    """A standard as the page writes it."""
    number = round(100 * chance, 2)
    return int(number) if number == int(number) else number


class SkillsForm(forms.Form):
    """Two fields for each skill, and unseen what the lead saw in them.

    A safety skill has no field for being asked for, because it always is. A skill that came into
    the catalogue after the page was opened is left alone.
    """

    def __init__(
        self,
        skills: Sequence[Skill],
        sent: Mapping[str, Any] | None = None,
        over: Mapping[str, Any] | None = None,
    ) -> None:
        """``over`` are values by field to show in the place of what the skills ask for."""
        super().__init__(sent, initial={**_shown(skills), **(over or {})})
        self.skills = [one for one in skills if sent is None or field_of(SEEN, one) in sent]
        for skill in self.skills:
            self.fields[field_of(SEEN, skill)] = forms.CharField(widget=forms.HiddenInput)
            self.fields[field_of(STANDARD, skill)] = _standard_field(skill)
            if not skill.gate:
                self.fields[field_of(REQUIRED, skill)] = _required_field(skill)

    def seen(self, skill: Skill) -> dict[SkillRule, Value]:
        """What the skill asked for when the lead opened the page; empty where that is garbled."""
        standard, _, required = self.cleaned_data.get(field_of(SEEN, skill), "").partition(" ")
        try:
            number = round(float(standard) / 100, 4)
        except ValueError:
            return {}
        return {SkillRule.STANDARD: number, SkillRule.REQUIRED: required == "yes"}

    def changes(self) -> dict[str, dict[SkillRule, Value]]:
        """What the lead wrote over what was there, by skill code."""
        found = {}
        for skill in self.skills:
            seen = self.seen(skill)
            now: dict[SkillRule, Value] = {}
            if (number := self.cleaned_data.get(field_of(STANDARD, skill))) is not None:
                now[SkillRule.STANDARD] = round(number / 100, 4)
            if not skill.gate:
                now[SkillRule.REQUIRED] = self.cleaned_data[field_of(REQUIRED, skill)]
            changed = {what: value for what, value in now.items() if value != seen.get(what)}
            if changed:
                found[skill.code] = changed
        return found

    def expected(self) -> dict[str, dict[SkillRule, Value]]:
        """What the lead saw of everything they changed, by skill code."""
        by_code = {skill.code: skill for skill in self.skills}
        return {
            code: {what: seen for what, seen in self.seen(by_code[code]).items() if what in values}
            for code, values in self.changes().items()
        }

    def typed(self) -> dict[str, Any]:
        """The changed fields as they were filled in, to be shown over what the skills ask for."""
        by_code = {skill.code: skill for skill in self.skills}
        found: dict[str, Any] = {}
        for code, values in self.changes().items():
            for what, value in values.items():
                shown = percentage(value) if what == SkillRule.STANDARD else value
                found[field_of(str(what), by_code[code])] = shown
        return found

    def refuse(self, problems: Mapping[str, str]) -> None:
        """Put each problem, by skill code, at the field it is about."""
        by_code = {skill.code: skill for skill in self.skills}
        changes = self.changes()
        for code, problem in problems.items():
            skill = by_code.get(code)
            what = REQUIRED if SkillRule.REQUIRED in changes.get(code, {}) else STANDARD
            self.add_error(field_of(what, skill) if skill else None, problem)


def _shown(skills: Sequence[Skill]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for skill in skills:
        standard = percentage(value_of(skill, SkillRule.STANDARD))
        found[field_of(STANDARD, skill)] = standard
        found[field_of(REQUIRED, skill)] = skill.required
        found[field_of(SEEN, skill)] = f"{standard} {'yes' if skill.required else 'no'}"
    return found


def _standard_field(skill: Skill) -> forms.Field:
    attrs = {"step": "any", "inputmode": "decimal", "aria-label": f"Standard of {skill}, in %"}
    return forms.FloatField(
        min_value=100 * LEAST_STANDARD,
        max_value=100 * MOST_STANDARD,
        widget=forms.NumberInput(attrs=attrs),
        error_messages={
            "required": "Write a number, or take the default.",
            "invalid": "Write a number, such as 80.",
            "min_value": OUT_OF_RANGE,
            "max_value": OUT_OF_RANGE,
        },
    )


def _required_field(skill: Skill) -> forms.Field:
    attrs = {"aria-label": f"{skill}: tier {skill.tier_id} asks for it"}
    return forms.BooleanField(required=False, widget=forms.CheckboxInput(attrs=attrs))
