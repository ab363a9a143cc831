"""The small forms about one athlete: a note, a hold, a correction."""

import re
from typing import Any
from uuid import uuid4

from django import forms

from progress.models import HoldReason, Ladder
from progress.pages.shared.shapes import RESULTS
from progress.usecases.place_hold import LONGEST as LONGEST_REMARK
from progress.usecases.sheets.known import LONGEST_REASON
from progress.usecases.write_note import LONGEST as LONGEST_NOTE

TAKE_BACK = "take-back"
UID = re.compile(r"[0-9a-f]{32}\Z")


class NoteForm(forms.Form):
    """A few words for colleagues and, where the coach ticks it, for the family."""

    text = forms.CharField(
        label="Note",
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For staff, unless you tick the box. Never write down anything about health.",
        error_messages={"required": "Write a few words first."},
    )
    for_family = forms.BooleanField(
        label="Show this to the family",
        required=False,
        help_text="It stands on the family’s page until a newer one does or you take it back.",
    )


class HoldForm(forms.Form):
    """A hold: the reason is the button that sends it."""

    kind = forms.ChoiceField(
        choices=HoldReason.choices,
        widget=forms.HiddenInput,
        error_messages={
            "required": "Choose one of the reasons.",
            "invalid_choice": "Choose one of the reasons.",
        },
    )
    reason = forms.CharField(
        label="Remark (you may leave it out)",
        required=False,
        max_length=LONGEST_REMARK,
        help_text="Short and neutral. Never a diagnosis.",
    )
    ladders = forms.ModelMultipleChoiceField(
        label="Only these ladders (none ticked: everything)",
        queryset=Ladder.objects.all(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )


class CorrectionForm(forms.Form):
    """What a try really was, or that it is taken back; another day's try needs a reason."""

    result = forms.ChoiceField(
        choices=[
            *((result.value, mark.word) for result, mark in reversed(RESULTS.items())),
            (TAKE_BACK, "Take it back: it never happened"),
        ],
        widget=forms.RadioSelect,
        label="It was",
        error_messages={"required": "Choose what it was."},
    )
    reason = forms.CharField(
        label="Why?",
        required=False,
        max_length=LONGEST_REASON,
        help_text="A few words, kept with the correction.",
    )
    uid = forms.RegexField(UID, widget=forms.HiddenInput, initial=lambda: uuid4().hex)

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].required = needs_reason
        self.fields["reason"].error_messages["required"] = "Say why in a few words."
