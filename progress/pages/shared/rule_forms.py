"""Forms that change rules: numbers filled from the version in force, and the sentence why."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Protocol

from django import forms

from progress.engine.rules import Rules
from progress.usecases.why_sentence import LONGEST_WHY, NO_WHY


class RuleItem(Protocol):
    """One rule as a page shows it: in the unit a person uses, and back as the rules keep it."""

    @property
    def name(self) -> str:
        """The rule's name in ``Rules``."""

    def shown(self, rules: Rules) -> Any:
        """What stands in the field."""

    def stored(self, value: Any) -> Any:
        """What the rules keep."""


class WhyForm(forms.Form):
    """The sentence that every change carries."""

    why = forms.CharField(
        label="Why?",
        max_length=LONGEST_WHY,
        help_text="One sentence. It is kept with the change for good.",
        error_messages={"required": NO_WHY},
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class NumbersForm(forms.Form):
    """A field for each of ``items``, filled from ``rules``, and the version the lead looks at."""

    items: ClassVar[Sequence[RuleItem]] = ()

    expected = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(
        self,
        sent: Mapping[str, Any] | None = None,
        *,
        rules: Rules,
        over: Mapping[str, Any] | None = None,
    ) -> None:
        """``over`` are values to show in the place of those of ``rules``."""
        shown = {item.name: item.shown(rules) for item in self.items}
        super().__init__(sent, initial={**shown, "expected": rules.version, **(over or {})})
        for item in self.items:
            self.fields[item.name] = self.field_of(item)

    def field_of(self, item: Any) -> forms.Field:
        """The field of one of ``items``."""
        raise NotImplementedError

    def changed_values(self) -> dict[str, Any]:
        """What the lead wrote over what was there, as the rules keep it."""
        changed = set(self.changed_data)
        return {
            item.name: item.stored(self.cleaned_data[item.name])
            for item in self.items
            if item.name in changed and item.name in self.cleaned_data
        }
