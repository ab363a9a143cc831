"""The check sheet as a form: one cell for each athlete and chosen skill."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django import forms

from progress.engine.terms import Result
from progress.models import Athlete, Skill
from progress.pages.shared.shapes import RESULTS
from progress.usecases.record_checks import Entry

UID = re.compile(r"[0-9a-f]{32}\Z")
LEAVE_OUT = ""


def new_uid() -> str:
    """An id for one attempt, made with the page so that sending it twice stores it once."""
    return uuid4().hex


@dataclass(frozen=True)
class Cell:
    """One athlete at one skill, with the bound fields to draw."""

    skill: Skill
    result: forms.BoundField
    uid: forms.BoundField


@dataclass(frozen=True)
class Row:
    """One athlete's cells."""

    athlete: Athlete
    cells: tuple[Cell, ...]


class CheckSheet(forms.Form):
    """Results for these athletes and skills; a cell left out is no attempt.

    The names of the fields hold primary keys of rows chosen on the server, so a form sent for an
    athlete or a skill that is not on the sheet is never stored, but it is never dropped unsaid.
    """

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        athletes: Iterable[Athlete],
        skills: Sequence[Skill],
    ) -> None:
        super().__init__(data)
        self.athletes, self.skills = tuple(athletes), tuple(skills)
        for athlete, skill in self._pairs():
            self.fields[_result_name(athlete, skill)] = forms.ChoiceField(
                choices=[(LEAVE_OUT, "Leave out"), *_choices()],
                required=False,
                label=f"{athlete}, {skill}",
                error_messages={"invalid_choice": "Choose one of the four."},
            )
            self.fields[_uid_name(athlete, skill)] = forms.RegexField(
                UID, required=False, initial=new_uid, widget=forms.HiddenInput
            )

    def _pairs(self) -> Iterator[tuple[Athlete, Skill]]:
        return ((athlete, skill) for athlete in self.athletes for skill in self.skills)

    def rows(self) -> list[Row]:
        """The sheet as it is drawn: a row an athlete, a cell a skill."""
        return [
            Row(athlete, tuple(self._cell(athlete, skill) for skill in self.skills))
            for athlete in self.athletes
        ]

    def _cell(self, athlete: Athlete, skill: Skill) -> Cell:
        return Cell(skill, self[_result_name(athlete, skill)], self[_uid_name(athlete, skill)])

    def clean(self) -> dict[str, Any]:
        """Ask for an id beside every result: without it a second sending would count twice."""
        cleaned = super().clean() or self.cleaned_data
        for athlete, skill in self._pairs():
            name = _result_name(athlete, skill)
            if cleaned.get(name) and not cleaned.get(_uid_name(athlete, skill)):
                self.add_error(name, "This cell lost its number. Open the sheet afresh.")
        if self._marks_off_the_sheet():
            self.add_error(
                None,
                "Some marks were for somebody who is no longer in this class, or for a skill that "
                "is no longer on the sheet. They are not below. Save again to store the rest.",
            )
        return cleaned

    def _marks_off_the_sheet(self) -> bool:
        marks = (name for name in self.data if name.startswith("result-") and self.data[name])
        return any(name not in self.fields for name in marks)

    def entries(self) -> list[Entry]:
        """What to store: one entry for each cell with a result."""
        return [
            Entry(
                uid=self.cleaned_data[_uid_name(athlete, skill)],
                athlete=athlete.code,
                skill=skill.code,
                result=self.cleaned_data[_result_name(athlete, skill)],
            )
            for athlete, skill in self._pairs()
            if self.cleaned_data[_result_name(athlete, skill)]
        ]


def _choices() -> list[tuple[str, str]]:
    return [(result.value, RESULTS[result].word) for result in Result]


def _result_name(athlete: Athlete, skill: Skill) -> str:
    return f"result-{athlete.pk}-{skill.pk}"


def _uid_name(athlete: Athlete, skill: Skill) -> str:
    return f"uid-{athlete.pk}-{skill.pk}"
