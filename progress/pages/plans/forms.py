"""What the plan's small forms send."""

from typing import Any

from django import forms

from progress.models import Challenge
from progress.usecases.plans.choose_by_hand import LONGEST
from progress.usecases.plans.move_athlete import Move
from progress.usecases.plans.set_adults import MOST

REASONS = ("Asked for it", "Tired today", "With a friend", "Coach’s eye")
# What the button of a move may send beside codes: the engine's choice.
ENGINE = "engine"


class AdultsForm(forms.Form):
    """How many adults there are; an empty field leaves it to what is usual."""

    adults = forms.IntegerField(
        label="Adults on the floor",
        required=False,
        min_value=0,
        max_value=MOST,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    spotters = forms.IntegerField(
        label="Free to stand at stations of one loop",
        required=False,
        min_value=0,
        max_value=MOST,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, *args: Any, usual: tuple[int | None, int | None], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, number in zip(("adults", "spotters"), usual, strict=True):
            words = "not written down" if number is None else str(number)
            self.fields[name].help_text = f"As usual: {words}."


class ChallengeForm(forms.Form):
    """How bold practice should be; for the class where no athlete is named."""

    challenge = forms.ChoiceField(choices=Challenge)
    athlete = forms.CharField(required=False, max_length=40)


class MoveForm(forms.Form):
    """One tap: an athlete, a station or none for the loop, and where they go."""

    athlete = forms.CharField(max_length=40)
    station = forms.CharField(required=False, max_length=60)
    to = forms.CharField(required=False, max_length=80)

    def move(self) -> Move:
        """Where the athlete goes: ``engine``, or ``code:`` and a code that may be empty."""
        kind, _, code = self.cleaned_data["to"].partition(":")
        return Move(self.cleaned_data["station"], None if kind == ENGINE else code)


class AfterwardsForm(forms.Form):
    """A reason for the move just made, or undo it."""

    athlete = forms.CharField(max_length=40)
    station = forms.CharField(required=False, max_length=60)
    made = forms.IntegerField(required=False)
    earlier = forms.IntegerField(required=False)
    reason = forms.CharField(required=False, max_length=LONGEST)
    words = forms.CharField(required=False, max_length=LONGEST)
