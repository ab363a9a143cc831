"""What the lead may narrow the board by; every choice stands in the address of the page."""

from collections.abc import Iterator
from typing import Any

import django_filters
from django import forms
from django.forms import BoundField
from django.http import QueryDict

from progress.models import Skill
from progress.pages.move_up.tables import tier_words
from progress.usecases.see_board import (
    SAYINGS,
    Board,
    Rows,
    at_least,
    at_most,
    held_back_by,
    in_class,
    named,
    never_checked,
    not_checked_for,
    on_hold,
)

YES, NO, NEVER = "yes", "no", "never"
WEEKS = (4, 8)
OLDEST = 99


class YearsFilter(django_filters.Filter):
    """A whole number of years."""

    field_class = forms.IntegerField


class BoardFilter(django_filters.FilterSet):
    """Everything but the decision, which has links of its own with the numbers they lead to.

    What makes no sense is left out of account; a field says so where it was typed.
    """

    words = django_filters.CharFilter(label="Name or code", method="by_words", max_length=100)
    tier = django_filters.ChoiceFilter(label="Tier", field_name="tier", empty_label="Any tier")
    gym_class = django_filters.ChoiceFilter(
        label="Class", method="by_class", empty_label="Any class"
    )
    skill = django_filters.ChoiceFilter(
        label="Held back by", method="by_skill", empty_label="Any skill"
    )
    hold = django_filters.ChoiceFilter(
        label="On hold",
        method="by_hold",
        empty_label="On hold or not",
        choices=((YES, "On hold"), (NO, "Not on hold")),
    )
    unchecked = django_filters.ChoiceFilter(
        label="Not checked for",
        method="by_check",
        empty_label="Any time",
        choices=(*((str(n), f"{n} weeks or longer") for n in WEEKS), (NEVER, "Never checked")),
    )
    age_from = YearsFilter(label="Age from", method="by_youngest", min_value=0, max_value=OLDEST)
    age_to = YearsFilter(label="Age to", method="by_oldest", min_value=0, max_value=OLDEST)

    def __init__(self, data: QueryDict, *, board: Board) -> None:
        super().__init__(data, queryset=board.athletes)
        self.today = board.today
        fields = self.form.fields
        fields["words"].widget = forms.TextInput(attrs={"type": "search"})
        fields["tier"].choices = [(tier.number, tier_words(tier)) for tier in board.tiers]
        fields["gym_class"].choices = [(one.code, one.name) for one in board.classes]
        fields["skill"].choices = _by_tier(board)

    def by_words(self, athletes: Rows, _: str, words: str) -> Rows:
        return named(athletes, words)

    def by_class(self, athletes: Rows, _: str, code: str) -> Rows:
        return in_class(athletes, code, self.today)

    def by_skill(self, athletes: Rows, _: str, code: str) -> Rows:
        return held_back_by(athletes, code)

    def by_hold(self, athletes: Rows, _: str, answer: str) -> Rows:
        return on_hold(athletes, answer == YES, self.today)

    def by_check(self, athletes: Rows, _: str, answer: str) -> Rows:
        if answer == NEVER:
            return never_checked(athletes)
        return not_checked_for(athletes, int(answer), self.today)

    def by_youngest(self, athletes: Rows, _: str, years: int) -> Rows:
        return at_least(athletes, years, self.today)

    def by_oldest(self, athletes: Rows, _: str, years: int) -> Rows:
        return at_most(athletes, years, self.today)

    @property
    def in_force(self) -> list[str]:
        """The names of the fields that narrow the board now."""
        if not self.form.is_bound:
            return []
        given = self.form.cleaned_data if self.form.is_valid() else self.form.data
        return [name for name in self.form.fields if given.get(name) not in (None, "")]

    @property
    def folded(self) -> Iterator[BoundField]:
        """The fields of the folding part: all but the name."""
        return (field for field in self.form if field.name != "words")

    @property
    def folded_in_force(self) -> int:
        """How many fields of the folding part narrow the board now."""
        return len([name for name in self.in_force if name != "words"])


def _by_tier(board: Board) -> list[tuple[Any, Any]]:
    """The skills that can hold anybody back, under the names of their tiers."""
    groups: dict[str, list[tuple[str, str]]] = {tier_words(tier): [] for tier in board.tiers}
    for skill in board.skills.values():
        if _can_hold_back(skill):
            groups.setdefault(tier_words(skill.tier), []).append((skill.code, skill.name))
    return [(name, skills) for name, skills in groups.items() if skills]


def _can_hold_back(skill: Skill) -> bool:
    return skill.required or skill.gate


def chosen_saying(data: QueryDict) -> str | None:
    """The decision asked for; anything unknown means everybody."""
    asked = data.get("decision", "")
    return asked if asked in SAYINGS else None
