"""The limits as fields: one for each number, and a row for each band of ages."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from django import forms

from progress.engine.rules import Rules
from progress.pages.limits.items import ITEMS, RATIOS, Item
from progress.pages.shared.rule_forms import NumbersForm, WhyForm

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


class LimitsForm(WhyForm, NumbersForm):
    """Every limit but the bands."""

    items = ITEMS

    def field_of(self, item: Item) -> forms.Field:
        """A number, whole or not."""
        return _field(item)


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
