"""Tries typed in from paper: each cell takes a short code, one letter a try."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from progress.engine.terms import Result
from progress.models import Athlete, GymClass, Skill
from progress.pages.checks.forms import UID, Pair, SheetForm, new_uid
from progress.usecases.record_checks import APART, Entry

LETTERS = {"c": Result.CLEAN, "h": Result.ASSISTED, "n": Result.MISS}
MOST_TRIES = 10
NOON = time(12)


class CodeField(forms.CharField):
    """``cch`` as three results; capitals, spaces and commas do no harm."""

    def to_python(self, value: Any) -> Any:
        """The results in order, or an error that names the letter that means nothing."""
        letters = "".join(str(value or "").lower().replace(",", " ").split())
        unknown = next((letter for letter in letters if letter not in LETTERS), None)
        if unknown is not None:
            raise forms.ValidationError(f"“{unknown}” means nothing here: use c, h or n.")
        if len(letters) > MOST_TRIES:
            raise forms.ValidationError(f"At most {MOST_TRIES} tries; this has {len(letters)}.")
        return tuple(LETTERS[letter] for letter in letters)


@dataclass(frozen=True)
class TypedCell:
    """A text field, or none where a hold covers the skill."""

    skill: Skill
    name: str
    uid_name: str
    text: str
    uid: str
    errors: Sequence[str]


class TypedSheet(SheetForm):
    """A code for each athlete and skill."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, pairs: Iterable[Pair]) -> None:
        super().__init__(data)
        self.pairs = tuple(pairs)
        for athlete, skill in self.pairs:
            self.fields[_name(athlete, skill)] = CodeField(required=False)
            self.fields[_uid_name(athlete, skill)] = forms.RegexField(UID, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for a number beside every code, and for a code at all."""
        cleaned = super().clean() or self.cleaned_data
        for athlete, skill in self.pairs:
            name = _name(athlete, skill)
            if cleaned.get(name) and not cleaned.get(_uid_name(athlete, skill)):
                self.add_error(name, "This cell lost its number. Open the page afresh.")
        names = {_name(athlete, skill) for athlete, skill in self.pairs}
        sent = {name for name in self.data if name.startswith("try-") and self.data[name].strip()}
        if sent - names:
            self.add_error(
                None,
                "Some tries were for somebody on hold or no longer in this class, or for a skill "
                "not on this page. They are not below. Save again to store the rest.",
            )
        elif not sent:
            self.add_error(None, "Nothing is typed yet.")
        return cleaned

    def entries(self, gym_class: GymClass, day: date) -> list[Entry]:
        """One entry a letter, in the order typed; ids follow from the cell's own number."""
        typed = [
            (athlete, skill, place, result)
            for athlete, skill in self.pairs
            for place, result in enumerate(self.cleaned_data[_name(athlete, skill)])
        ]
        began = _time_of(gym_class, day)
        return [
            Entry(
                uid=_nth(self.cleaned_data[_uid_name(athlete, skill)], place),
                athlete=athlete.code,
                skill=skill.code,
                result=result.value,
                at=None if began is None else began + APART * number,
            )
            for number, (athlete, skill, place, result) in enumerate(typed)
        ]

    def names_by_uid(self) -> dict[str, str]:
        """The field of each entry; those of one cell share it."""
        return {
            _nth(self.cleaned_data[_uid_name(athlete, skill)], place): _name(athlete, skill)
            for athlete, skill in self.pairs
            for place in range(len(self.cleaned_data[_name(athlete, skill)]))
        }

    def cell(self, athlete: Athlete, skill: Skill) -> TypedCell:
        """How to draw one cell."""
        name, uid_name = _name(athlete, skill), _uid_name(athlete, skill)
        return TypedCell(
            skill=skill,
            name=name,
            uid_name=uid_name,
            text=str(self.data.get(name, "")),
            uid=sent if UID.match(sent := str(self.data.get(uid_name, ""))) else new_uid(),
            errors=[str(error) for error in self.errors.get(name, [])],
        )


def _nth(uid: str, place: int) -> str:
    """The id of a cell's next try: the cell's own number counted on, so a resend finds it again."""
    return f"{(int(uid, 16) + place) % 16**32:032x}"


def _time_of(gym_class: GymClass, day: date) -> datetime | None:
    """The end of the class on an earlier day; None today, when the moment of saving counts."""
    if day == timezone.localdate():
        return None
    began = timezone.make_aware(datetime.combine(day, gym_class.starts_at or NOON))
    return began + timedelta(minutes=gym_class.minutes)


def _name(athlete: Athlete, skill: Skill) -> str:
    return f"try-{athlete.pk}-{skill.pk}"


def _uid_name(athlete: Athlete, skill: Skill) -> str:
    return f"uid-{athlete.pk}-{skill.pk}"
