"""The check sheet as a plain form: what it takes without JavaScript, one try a cell and saving."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django import forms

from progress.engine.terms import Result
from progress.models import Athlete, Skill
from progress.pages.shared.shapes import RESULTS
from progress.usecases.record_checks import Entry
from progress.usecases.sheets.entries import Problem

UID = re.compile(r"[0-9a-f]{32}\Z")
CELL = re.compile(r"result-(\d+)-(\d+)\Z")
LEAVE_OUT = ""
Pair = tuple[Athlete, Skill]


def new_uid() -> str:
    """An id for one attempt, made with the page so that sending it twice stores it once."""
    return uuid4().hex


@dataclass(frozen=True)
class Marking:
    """What a cell's radios show: the names of its two inputs, what is marked, what is wrong."""

    name: str
    uid_name: str
    marked: str
    uid: str
    errors: Sequence[str]


class CheckSheet(forms.Form):
    """Results for these athletes and skills; a cell left out is no attempt.

    The names of the fields hold primary keys of rows chosen on the server, so a mark for an athlete
    or a skill that is not on the sheet is never stored, but it is never dropped unsaid either.
    """

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        pairs: Sequence[Pair] = (),
        refused: Sequence[str] = (),
    ) -> None:
        """``refused`` are sentences about marks that have no cell."""
        super().__init__(data)
        self.pairs, self.refused = tuple(pairs), tuple(refused)
        for athlete, skill in self.pairs:
            self.fields[_result_name(athlete, skill)] = forms.ChoiceField(
                choices=[(LEAVE_OUT, "Leave out"), *((r.value, RESULTS[r].word) for r in Result)],
                required=False,
                error_messages={"invalid_choice": "Choose one of the four."},
            )
            self.fields[_uid_name(athlete, skill)] = forms.RegexField(UID, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for an id beside every result: without it a second sending would count twice."""
        cleaned = super().clean() or self.cleaned_data
        for athlete, skill in self.pairs:
            name = _result_name(athlete, skill)
            if cleaned.get(name) and not cleaned.get(_uid_name(athlete, skill)):
                self.add_error(name, "This cell lost its number. Open the sheet afresh.")
        for sentence in self.refused:
            self.add_error(None, sentence)
        return cleaned

    def entries(self) -> list[Entry]:
        """What to store: one entry for each cell with a result."""
        return [
            Entry(
                uid=self.cleaned_data[_uid_name(athlete, skill)],
                athlete=athlete.code,
                skill=skill.code,
                result=self.cleaned_data[_result_name(athlete, skill)],
            )
            for athlete, skill in self.pairs
            if self.cleaned_data[_result_name(athlete, skill)]
        ]

    def add_problems(self, problems: Iterable[Problem]) -> None:
        """Put what the use case found beside the cell it is about."""
        name_of = {
            self.cleaned_data[_uid_name(athlete, skill)]: _result_name(athlete, skill)
            for athlete, skill in self.pairs
            if self.cleaned_data[_result_name(athlete, skill)]
        }
        for problem in problems:
            name = name_of.get(problem.uid) if problem.number else None
            self.add_error(name, f"{problem.what[:1].upper()}{problem.what[1:].rstrip('.')}.")

    def marking(self, athlete: Athlete, skill: Skill) -> Marking:
        """How to draw the cell's radios; a cell that was not sent gets a number of its own."""
        name, uid_name = _result_name(athlete, skill), _uid_name(athlete, skill)
        return Marking(
            name=name,
            uid_name=uid_name,
            marked=str(self.data.get(name, LEAVE_OUT)),
            uid=sent if UID.match(sent := str(self.data.get(uid_name, ""))) else new_uid(),
            errors=[str(error) for error in self.errors.get(name, [])],
        )


def sent_marks(data: Mapping[str, str]) -> list[tuple[int, int]]:
    """The (athlete key, skill key) of every cell that a result was sent for, in order."""
    cells = ((CELL.match(name), data[name]) for name in data)
    return [(int(cell[1]), int(cell[2])) for cell, value in cells if cell and value]


def _result_name(athlete: Athlete, skill: Skill) -> str:
    return f"result-{athlete.pk}-{skill.pk}"


def _uid_name(athlete: Athlete, skill: Skill) -> str:
    return f"uid-{athlete.pk}-{skill.pk}"
