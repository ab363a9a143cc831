"""The rules as fields: one for each number, and a row for each height."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, cast

from django import forms

from progress.engine.rules import Rules
from progress.models import Skill
from progress.pages.rules.items import HEIGHTS, ITEMS, Item, Unit
from progress.pages.shared.rule_forms import NumbersForm

HIGHEST = 10  # metres; more is a slip of the finger, and would switch a rule off unseen
MORE_HEIGHTS = 1  # empty rows at the end
NOT_A_NUMBER = "Write a number, such as 70."
NOT_WHOLE = "Write a whole number, such as 5."


def _field(item: Item) -> forms.Field:
    whole = item.unit is not Unit.PERCENT
    kind = forms.IntegerField if whole else forms.FloatField
    return kind(
        label=item.label,
        error_messages={
            "required": "Write a number, or take the default.",
            "invalid": NOT_WHOLE if whole else NOT_A_NUMBER,
        },
        widget=forms.NumberInput(
            attrs={
                "step": "1" if whole else "any",
                "inputmode": "numeric" if whole else "decimal",
                "aria-describedby": f"about-{item.name}",
            }
        ),
    )


class RulesForm(NumbersForm):
    """Every number of this page."""

    items = ITEMS

    def field_of(self, item: Item) -> forms.Field:
        """A number in the unit of the item."""
        return _field(item)


class HeightForm(forms.Form):
    """One height and the skills asked for above it; empty rows are left out."""

    above_m = forms.FloatField(
        label="Feet above, in metres",
        required=False,
        min_value=0,
        max_value=HIGHEST,
        widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
        error_messages={
            "invalid": "Write a number, such as 0.6.",
            "min_value": "Give metres, 0 or more.",
            "max_value": f"Give metres, up to {HIGHEST}.",
        },
    )
    needs = forms.MultipleChoiceField(
        label="ask for",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "%(value)s is not a skill of the catalogue."},
    )
    remove = forms.BooleanField(label="Remove this height", required=False)

    def __init__(self, *args: Any, choices: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.MultipleChoiceField, self.fields["needs"]).choices = choices

    @property
    def is_new(self) -> bool:
        """Whether there was no height in this row."""
        return not self.initial


class BaseHeights(forms.BaseFormSet):
    """The heights together."""

    def rows(self) -> list[dict[str, Any]]:
        """The heights from the lowest up, as the rules keep them; half a row stays half a row.

        Ticks have no order, so skills that were there before stay in the order they had.
        """
        found = []
        for form, row in zip(self.forms, self.cleaned_data, strict=True):
            above, needs = row.get("above_m"), list(row.get("needs") or [])
            before = list(form.initial.get("needs", ()))
            needs = before if set(before) == set(needs) else needs
            if not row.get("remove") and (above is not None or needs):
                whole = {"above_m": above, "needs": needs}
                found.append({name: given for name, given in whole.items() if given is not None})
        return sorted(found, key=lambda row: row.get("above_m", 0))


Heights = forms.formset_factory(HeightForm, formset=BaseHeights, extra=MORE_HEIGHTS)


def heights_form(
    rules: Rules,
    skills: Iterable[Skill],
    sent: Mapping[str, Any] | None = None,
    rows: Sequence[Mapping[str, Any]] | None = None,
) -> BaseHeights:
    """The heights of ``rules``, what was sent, or ``rows``; safety skills may be asked for."""
    shown = list(rows if rows is not None else height_rows(rules))
    named = {code for row in (*shown, *height_rows(rules)) for code in row.get("needs", ())}
    kwargs = {"choices": _choices(skills, named)}
    return cast(BaseHeights, Heights(sent, initial=shown, prefix=HEIGHTS, form_kwargs=kwargs))


def height_rows(rules: Rules) -> list[dict[str, Any]]:
    """The heights as the form and the rules' own JSON give them."""
    return [
        {"above_m": metres(one.above_m), "needs": list(one.needs)} for one in rules.height_rules
    ]


def metres(height: float) -> float | int:
    """A height as the page writes it: ``1``, not ``1.0``."""
    return int(height) if height == int(height) else height


def _choices(skills: Iterable[Skill], named: set[str]) -> list[tuple[str, str]]:
    """Safety skills, and what a height asks for already, even where no such skill is left."""
    known = {skill.code: skill for skill in skills}
    found = [(s.code, f"{s.name} ({s.code})") for s in known.values() if s.gate or s.code in named]
    gone = sorted(named - set(known))
    return found + [(code, f"{code}: not in the catalogue") for code in gone]
