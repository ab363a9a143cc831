"""A coach opens the check sheet of a class: who is here, which skills, what is known of each."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from progress.engine.answers import Estimate, NextCheck, Suggestion
from progress.engine.terms import SkillState
from progress.models import (
    Athlete,
    Attempt,
    GymClass,
    Hold,
    Meeting,
    Note,
    RegisterEntry,
    SheetSkill,
    Skill,
)
from progress.usecases.engine_inputs import end_of
from progress.usecases.see_class import AthleteTonight, ClassTonight, see_class

MOST_SKILLS = 6  # what a coach can watch in one class; more can be added by hand
NOTES_SHOWN = timedelta(days=60)


@dataclass(frozen=True)
class SheetColumn:
    """A skill on the sheet and why it is there; ``added`` by a coach rather than suggested."""

    skill: Skill
    why: tuple[str, ...]
    asked_for: int
    added: bool


@dataclass(frozen=True)
class SheetCell:
    """One athlete at one skill.

    ``tries`` are today's standing attempts in order; ``last`` is the newest one before today.
    ``missing`` names skills that must be held first and are not: then the skill is not for this
    child yet. ``check`` is the engine's suggestion to look at exactly this, if there is one.
    """

    skill: Skill
    estimate: Estimate
    tries: tuple[Attempt, ...]
    last: Attempt | None
    missing: tuple[str, ...]
    held_back: bool
    check: NextCheck | None
    variant: Suggestion | None

    @property
    def gate_not_held(self) -> bool:
        """Whether this is a safety skill the athlete does not hold."""
        return self.skill.gate and not self.estimate.held


@dataclass(frozen=True)
class SheetRow:
    """One athlete on the sheet; ``cells`` in the order of the columns."""

    athlete: Athlete
    present: bool
    holds: tuple[Hold, ...]
    notes: tuple[Note, ...]
    cells: tuple[SheetCell, ...]


@dataclass(frozen=True)
class Sheet:
    """The check sheet of one class on one day. ``others`` are skills that could be added."""

    gym_class: GymClass
    day: date
    columns: tuple[SheetColumn, ...]
    rows: tuple[SheetRow, ...]
    others: tuple[Skill, ...]


def open_sheet(*, gym_class: GymClass, today: date) -> Sheet:
    """Put the sheet together. Nothing is stored by looking: the meeting is made on the first save.

    The skills are those the engine asks for tonight and those the floor practises most, and what
    coaches added or took off for this meeting. Today's tries at a skill that is not on the sheet
    keep the skill on it.
    """
    tonight = see_class(gym_class=gym_class, today=today)
    meeting = Meeting.objects.filter(gym_class=gym_class, day=today).first()
    tries = _Tries.read([each.athlete for each in tonight.athletes], today)
    columns = _columns(tonight, meeting, tries)
    away = _away(meeting)
    notes = _notes(tonight, today)
    return Sheet(
        gym_class=gym_class,
        day=today,
        columns=columns,
        rows=tuple(
            _row(each, tonight, columns, tries, away, notes.get(each.athlete.pk, ()))
            for each in tonight.athletes
        ),
        others=tuple(
            skill
            for skill in tonight.skills.values()
            if skill.pk not in {column.skill.pk for column in columns}
        ),
    )


@dataclass(frozen=True)
class _Tries:
    """Standing attempts of the athletes by (athlete key, skill key)."""

    today: Mapping[tuple[int, int], tuple[Attempt, ...]]
    before: Mapping[tuple[int, int], Attempt]

    @classmethod
    def read(cls, athletes: Sequence[Athlete], day: date) -> "_Tries":
        """One query: the attempts of the last year, oldest first."""
        found = (
            Attempt.objects.standing()
            .of(athletes)
            .filter(at__lt=end_of(day), at__gte=end_of(day - timedelta(days=366)))
            .select_related("coach")
            .order_by("at", "pk")
        )
        start = end_of(day - timedelta(days=1))
        today: dict[tuple[int, int], tuple[Attempt, ...]] = {}
        before: dict[tuple[int, int], Attempt] = {}
        for attempt in found:
            key = (attempt.athlete_id, attempt.skill_id)
            if attempt.at >= start:
                today[key] = (*today.get(key, ()), attempt)
            else:
                before[key] = attempt
        return cls(today, before)


def _columns(
    tonight: ClassTonight, meeting: Meeting | None, tries: _Tries
) -> tuple[SheetColumn, ...]:
    """The skills on the sheet, most asked for first, then in catalogue order."""
    asked = Counter(check.skill for check in tonight.checks)
    practised = Counter(
        variant_skill
        for each in tonight.athletes
        for variant_skill in _practised(each, tonight)
        if each.estimates[variant_skill].state is not SkillState.SECURE
    )
    chosen = {c.skill_id: c.shown for c in _choices(meeting)}
    tried = {skill for _, skill in tries.today}
    ranked = sorted(tonight.skills, key=lambda code: (-asked[code], -practised[code]))
    wanted = [code for code in ranked if asked[code] or practised[code]]
    suggested = [c for c in wanted if chosen.get(tonight.skills[c].pk, True)][:MOST_SKILLS]
    columns = []
    for code, skill in tonight.skills.items():
        added = bool(chosen.get(skill.pk)) or skill.pk in tried
        if added or code in suggested:
            why = _why(asked[code], practised[code])
            columns.append(SheetColumn(skill, why, asked[code], added and code not in suggested))
    return tuple(sorted(columns, key=lambda column: -column.asked_for))


def _choices(meeting: Meeting | None) -> list[SheetSkill]:
    return list(SheetSkill.objects.filter(meeting=meeting)) if meeting else []


def _practised(each: AthleteTonight, tonight: ClassTonight) -> set[str]:
    """Skills the floor practises with this athlete tonight."""
    skill_of = {
        variant.code: variant.skill.code
        for loop in tonight.loops
        for stop in loop.stops.all()
        for variant in stop.station.variants.all()
    }
    plans = (plan for plans in each.suggestions.values() for plan in plans)
    return {skill_of[plan.variant] for plan in plans if plan.variant}


def _why(asked: int, practised: int) -> tuple[str, ...]:
    why = []
    if asked:
        why.append(f"worth checking for {asked} tonight")
    if practised:
        why.append(f"on the floor for {practised}")
    return tuple(why)


def _away(meeting: Meeting | None) -> set[int]:
    """Athletes marked away; everybody else is taken to be here."""
    if meeting is None:
        return set()
    away = RegisterEntry.objects.filter(meeting=meeting, present=False)
    return set(away.values_list("athlete_id", flat=True))


def _notes(tonight: ClassTonight, today: date) -> dict[int, tuple[Note, ...]]:
    found: dict[int, tuple[Note, ...]] = {}
    athletes = [each.athlete.pk for each in tonight.athletes]
    since = end_of(today - NOTES_SHOWN)
    notes = Note.objects.standing().filter(athlete__in=athletes, written_at__gte=since)
    for note in notes.select_related("written_by"):
        found[note.athlete_id] = (*found.get(note.athlete_id, ()), note)
    return found


def _row(
    each: AthleteTonight,
    tonight: ClassTonight,
    columns: Sequence[SheetColumn],
    tries: _Tries,
    away: set[int],
    notes: tuple[Note, ...],
) -> SheetRow:
    return SheetRow(
        athlete=each.athlete,
        present=each.athlete.pk not in away,
        holds=each.holds,
        notes=notes,
        cells=tuple(_cell(each, tonight, column.skill, tries) for column in columns),
    )


def _cell(each: AthleteTonight, tonight: ClassTonight, skill: Skill, tries: _Tries) -> SheetCell:
    key = (each.athlete.pk, skill.pk)
    needs = sorted(skill.needs.all(), key=lambda need: need.code)
    missing = [need.name for need in needs if not each.estimates[need.code].held]
    stops = [{ladder.pk for ladder in hold.ladders.all()} for hold in each.holds]
    return SheetCell(
        skill=skill,
        estimate=each.estimates[skill.code],
        tries=tries.today.get(key, ()),
        last=tries.before.get(key),
        missing=tuple(missing),
        held_back=any(not ladders or skill.ladder_id in ladders for ladders in stops),
        check=next((check for check in each.checks if check.skill == skill.code), None),
        variant=_variant_for(each, tonight, skill),
    )


def _variant_for(each: AthleteTonight, tonight: ClassTonight, skill: Skill) -> Suggestion | None:
    """The variant of tonight's floor this athlete would practise the skill on."""
    practises = {
        variant.code
        for loop in tonight.loops
        for stop in loop.stops.all()
        for variant in stop.station.variants.all()
        if variant.skill_id == skill.pk
    }
    plans = (plan for plans in each.suggestions.values() for plan in plans)
    return next((plan for plan in plans if plan.variant in practises), None)
