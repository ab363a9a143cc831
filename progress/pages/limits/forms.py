"""The limits as fields: one for each number, and a row for each band of ages."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from django import forms

from progress.engine.rules import Rules
from progress.pages.limits.items import ITEMS, RATIOS, Item
from progress.usecases.change_rules import LONGEST_WHY

MORE_BANDS = 2  # empty rows at the end, for new bands
NOT_A_NUMBER = "Write a number, such as 8."
NOT_WHOLE = "Write a whole number, such as 8."


def _field(item: Item) -> forms.Field:
    kind = forms.IntegerField if item.whole else forms.FloatField
    return kind(
        label=item.label,
        error_messages={
            "required": "Write a number, or take the default.",
            "invalid": NOT_WHOLE if item.whole else NOT_A_NUMBER,
        },
        widget=forms.NumberInput(
            attrs={"step": "1" if item.whole else "any", "inputmode": "decimal"}
        ),
    )


class WhyForm(forms.Form):
    """The sentence every version carries, and the version the lead was looking at."""

    why = forms.CharField(
        label="Why?",
        max_length=LONGEST_WHY,
        help_text="One sentence. It is kept with the version for good.",
        error_messages={"required": "Say in a sentence why, for whoever reads it next year."},
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    expected = forms.IntegerField(widget=forms.HiddenInput)


class LimitsForm(WhyForm):
    """Every limit but the bands, filled from ``rules``."""

    def __init__(
        self,
        sent: Mapping[str, Any] | None = None,
        *,
        rules: Rules,
        over: Mapping[str, Any] | None = None,
    ) -> None:
        """``over`` are values to show in the place of those of ``rules``."""
        shown = {item.name: item.shown(rules) for item in ITEMS}
        super().__init__(sent, initial={**shown, "expected": rules.version, **(over or {})})
        for item in ITEMS:
            self.fields[item.name] = _field(item)

    def changed_limits(self) -> dict[str, Any]:
        """What the lead wrote over what was there, as the rules keep it."""
        changed = set(self.changed_data)
        return {
            item.name: item.stored(self.cleaned_data[item.name])
            for item in ITEMS
            if item.name in changed and item.name in self.cleaned_data
        }


class BandForm(forms.Form):
    """One band of ages; empty rows are left out."""

    up_to_age = forms.IntegerField(
        label="Up to and including age",
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        error_messages={"invalid": NOT_WHOLE},
    )
    children_per_adult = forms.IntegerField(
        label="Children for one adult",
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
        error_messages={"invalid": NOT_WHOLE},
    )
    remove = forms.BooleanField(label="Remove", required=False)

    @property
    def is_new(self) -> bool:
        """Whether there was no band in this row."""
        return not self.initial


class BaseBands(forms.BaseFormSet):
    """The bands together."""

    def rows(self) -> list[dict[str, int]]:
        """The bands from the youngest up, as the rules keep them; half a row stays half a row."""
        found = []
        for row in self.cleaned_data:
            both = {name: row.get(name) for name in ("up_to_age", "children_per_adult")}
            band = {name: number for name, number in both.items() if number is not None}
            if band and not row.get("remove"):
                found.append(band)
        return sorted(found, key=lambda band: band.get("up_to_age", 0))


Bands = forms.formset_factory(BandForm, formset=BaseBands, extra=MORE_BANDS)


def bands_form(
    rules: Rules,
    sent: Mapping[str, Any] | None = None,
    rows: Sequence[Mapping[str, int]] | None = None,
) -> BaseBands:
    """The bands of ``rules``, what was sent, or ``rows``."""
    shown = list(rows if rows is not None else rules.as_json()[RATIOS])
    return cast(BaseBands, Bands(sent, initial=shown, prefix=RATIOS))
