"""The check sheet as a plain form: what it takes without JavaScript, one try a cell and saving."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
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
LOST_NUMBER = "This sheet lost its number. Look at your marks below and save again."
Pair = tuple[Athlete, Skill]


def new_uid() -> str:
    """An id for one attempt, made with the page so that sending it twice stores it once."""
    return uuid4().hex


@dataclass(frozen=True)
class Marking:
    """How a cell is marked: the name of its input, what is marked, what is wrong.

    ``short`` asks for a list in place of radios, where all skills are in view at once.
    """

    name: str
    marked: str
    errors: Sequence[str]
    short: bool


class SheetForm(forms.Form):
    """What both ways of filling a sheet in share: a problem goes beside the cell it is about."""

    def names_by_uid(self) -> Mapping[str, str]:
        """The field that each entry of this form came from."""
        raise NotImplementedError

    def add_problems(self, problems: Iterable[Problem]) -> None:
        """Put what the use case found beside its cell, or above the form."""
        name_of = self.names_by_uid()
        for problem in problems:
            name = name_of.get(problem.uid) if problem.number else None
            self.add_error(name, f"{problem.what[:1].upper()}{problem.what[1:].rstrip('.')}.")


class CheckSheet(SheetForm):
    """Results for these athletes and skills; a cell left out is no attempt.

    A sheet has one ``number`` of its own, made with the page, from which the id of each try
    follows: sending the same page twice stores each try once. The names of the fields hold primary
    keys of rows chosen on the server, so a mark for an athlete or a skill that is not on the sheet
    is never stored, but it is never dropped unsaid either.
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
        self.fields["number"] = forms.RegexField(UID, required=False)
        for athlete, skill in self.pairs:
            self.fields[_result_name(athlete, skill)] = forms.ChoiceField(
                choices=[(LEAVE_OUT, "Leave out"), *((r.value, RESULTS[r].word) for r in Result)],
                required=False,
                error_messages={"invalid_choice": "Choose one of the four."},
            )

    def clean(self) -> dict[str, Any]:
        """Ask for the number with every result: without it a second sending would count twice."""
        cleaned = super().clean() or self.cleaned_data
        if self.pairs and not cleaned.get("number"):
            self.add_error(None, LOST_NUMBER)
        for sentence in self.refused:
            self.add_error(None, sentence)
        return cleaned

    def entries(self) -> list[Entry]:
        """What to store: one entry for each cell with a result."""
        return [
            Entry(
                uid=self._uid(athlete, skill),
                athlete=athlete.code,
                skill=skill.code,
                result=self.cleaned_data[_result_name(athlete, skill)],
            )
            for athlete, skill in self.pairs
            if self.cleaned_data[_result_name(athlete, skill)]
        ]

    def names_by_uid(self) -> dict[str, str]:
        """The radios of each entry."""
        return {
            self._uid(athlete, skill): _result_name(athlete, skill)
            for athlete, skill in self.pairs
            if self.cleaned_data[_result_name(athlete, skill)]
        }

    @cached_property
    def sheet_number(self) -> str:
        """The number that was sent, or a new one."""
        sent = str(self.data.get("number", ""))
        return sent if UID.match(sent) else new_uid()

    def marking(self, athlete: Athlete, skill: Skill, *, short: bool) -> Marking:
        """How to draw the cell."""
        name = _result_name(athlete, skill)
        return Marking(
            name=name,
            marked=str(self.data.get(name, LEAVE_OUT)),
            errors=[str(error) for error in self.errors.get(name, [])],
            short=short,
        )

    def _uid(self, athlete: Athlete, skill: Skill) -> str:
        """The id of the cell's try: the same whenever the same page is sent."""
        cell = f"{self.cleaned_data['number']} {athlete.pk} {skill.pk}"
        return blake2b(cell.encode(), digest_size=16).hexdigest()


def sent_marks(data: Mapping[str, str]) -> list[tuple[int, int]]:
    """The (athlete key, skill key) of every cell that a result was sent for, in order."""
    cells = ((CELL.match(name), data[name]) for name in data)
    return [(int(cell[1]), int(cell[2])) for cell, value in cells if cell and value]


def _result_name(athlete: Athlete, skill: Skill) -> str:
    return f"result-{athlete.pk}-{skill.pk}"
