"""What a lead asks to move, as the address or the form says it, and the sentence why."""

from dataclasses import dataclass

from django import forms
from django.http import QueryDict

from progress.models import SkillChange, SkillRule
from progress.pages.shared.rule_forms import WhyForm
from progress.usecases.change_skills import SkillValues, Value
from progress.usecases.retier import MOST_MOVES, put_back, skill_history

LEAST_ROWS, SPARE_ROWS = 3, 2


@dataclass(frozen=True)
class Row:
    """One line of the form: a skill's code and a tier, as they were sent."""

    number: int
    skill: str
    tier: str


@dataclass(frozen=True)
class Asked:
    """The changes asked for. ``back``: the change of the history that they put back."""

    changes: SkillValues
    rows: tuple[Row, ...]
    problems: tuple[str, ...] = ()
    back: SkillChange | None = None

    @property
    def filled(self) -> tuple[Row, ...]:
        """The lines with something to move."""
        return tuple(row for row in self.rows if row.skill and row.tier)


def asked_for(sent: QueryDict) -> Asked:
    """Read pairs of ``skill`` and ``tier``, or ``back``; lines left empty are left out."""
    if "back" in sent:
        return _back(sent.get("back", ""))
    pairs = list(zip(sent.getlist("skill"), sent.getlist("tier"), strict=False))
    told = [(skill, tier) for skill, tier in pairs if skill or tier][: MOST_MOVES + 1]
    rows = _rows(told)
    changes: dict[str, dict[SkillRule, Value]] = {}
    problems = []
    for skill, tier in told:
        if not skill and tier:
            problems.append("Choose the skill that should go there, or leave the tier empty.")
        elif skill in changes:
            problems.append("The same skill stands there twice: leave one of them empty.")
        elif tier.isascii() and tier.isdigit() and len(tier) < 5:
            changes[skill] = {SkillRule.TIER: int(tier)}
        elif tier:
            problems.append("Choose a tier from the list.")
    if "look" in sent and not changes and not problems:
        problems.append("Choose a skill and a tier first.")
    return Asked(changes, rows, tuple(problems))


def _rows(told: list[tuple[str, str]]) -> tuple[Row, ...]:
    shown = min(max(LEAST_ROWS, len(told) + SPARE_ROWS), MOST_MOVES)
    padded = (told + [("", "")] * shown)[:shown]
    return tuple(Row(number + 1, skill, tier) for number, (skill, tier) in enumerate(padded))


def _back(number: str) -> Asked:
    rows = _rows([])
    known = number.isascii() and number.isdigit() and len(number) < 10
    change = skill_history().filter(pk=int(number)).first() if known else None
    if change is None:
        return Asked({}, rows, ("There is no such change to put back.",))
    changes = put_back(change)
    if not changes:
        return Asked({}, rows, ("That is how it is now, so nothing would change.",))
    return Asked(changes, rows, back=change)


class MoveForm(WhyForm):
    """The sentence why, and the catalogue the lead was looking at."""

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
