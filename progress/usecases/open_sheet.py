"""A coach opens the check sheet of a class: who is here, which skills, what is known of each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from progress.engine.answers import Estimate, NextCheck, Suggestion
from progress.engine.rules import HeightRule
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
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.plans.setting import athletes_for
from progress.usecases.sheets.mornings import this_morning
from progress.usecases.sheets.suggested import Suggested

MOST_SKILLS = 6  # what a coach can watch in one class; more can be added by hand
NOTES_SHOWN = timedelta(days=60)
LOOKED_BACK = timedelta(days=366)


@dataclass(frozen=True)
class HeightLimit:
    """Feet above ``above_m`` metres ask for the skills named, held.

    ``more`` is set where the catalogue lacks one of them; then every safety skill up to the tier
    of the sheet's skill has to be held.
    """

    above_m: float
    needs: tuple[str, ...]
    more: bool


@dataclass(frozen=True)
class SheetColumn:
    """A skill on the sheet and why it is there; ``added`` by a coach rather than suggested.

    ``heights`` are the height rules that one of its variants on tonight's floor is high enough for.
    """

    skill: Skill
    why: tuple[str, ...]
    asked_for: int
    added: bool
    heights: tuple[HeightLimit, ...] = ()


@dataclass(frozen=True)
class LastTry:
    """What an attempt showed, and when."""

    result: str
    at: datetime


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
    last: LastTry | None
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

    The skills are those the engine asked for as the day began and those the floor practises most,
    and what coaches added or took off for this meeting. So today's tries, register and new holds
    move no column, and a sheet typed in from paper next week has the columns it was printed with.
    Today's tries at a skill that is not on the sheet keep the skill on it. Estimates are of now.
    """
    known = know_athletes(athletes=athletes_for(gym_class, today), today=today, gym_class=gym_class)
    suggested = Suggested.read(gym_class, this_morning(known, today, gym_class))
    meeting = Meeting.objects.filter(gym_class=gym_class, day=today).first()
    tries = _tries(known.athletes, today)
    columns = _columns(suggested, meeting, tries)
    away = _away(meeting)
    notes = _notes(known.athletes, today)
    on_sheet = {column.skill.pk for column in columns}
    cells = _Cells(known, suggested, tries, _last(known.athletes, columns, today))
    return Sheet(
        gym_class=gym_class,
        day=today,
        columns=columns,
        rows=tuple(
            SheetRow(
                athlete=athlete,
                present=athlete.pk not in away,
                holds=known.holds.in_force(athlete),
                notes=notes.get(athlete.pk, ()),
                cells=cells.of(row, [column.skill for column in columns]),
            )
            for row, athlete in enumerate(known.athletes)
        ),
        others=tuple(skill for skill in known.skills.values() if skill.pk not in on_sheet),
    )


Tries = Mapping[tuple[int, int], tuple[Attempt, ...]]  # by (athlete key, skill key), in order


def _tries(athletes: Sequence[Athlete], today: date) -> Tries:
    """Today's standing attempts."""
    found: dict[tuple[int, int], tuple[Attempt, ...]] = {}
    attempts = (
        Attempt.objects.standing()
        .of(athletes)
        .filter(at__gte=end_of(today - timedelta(days=1)), at__lt=end_of(today))
        .select_related("coach")
        .order_by("at", "pk")
    )
    for attempt in attempts:
        key = (attempt.athlete_id, attempt.skill_id)
        found[key] = (*found.get(key, ()), attempt)
    return found


def _last(
    athletes: Sequence[Athlete], columns: Sequence[SheetColumn], today: date
) -> dict[tuple[int, int], LastTry]:
    """The newest standing attempt before today, of the last year."""
    start = end_of(today - timedelta(days=1))
    rows = (
        Attempt.objects.standing()
        .of(athletes)
        .filter(skill__in=[column.skill for column in columns])
        .filter(at__gte=start - LOOKED_BACK, at__lt=start)
        .order_by("at", "pk")
        .values_list("athlete_id", "skill_id", "result", "at")
    )
    return {(athlete, skill): LastTry(result, at) for athlete, skill, result, at in rows}


def _columns(
    suggested: Suggested, meeting: Meeting | None, tries: Tries
) -> tuple[SheetColumn, ...]:
    """The skills on the sheet, most asked for first, then in catalogue order."""
    skills = suggested.morning.skills
    chosen = {c.skill_id: c.shown for c in _choices(meeting)}
    tried = {skill for _, skill in tries}
    wanted = [code for code in suggested.ranked() if chosen.get(skills[code].pk, True)]
    columns = []
    for code, skill in skills.items():
        added = bool(chosen.get(skill.pk)) or skill.pk in tried
        if added or code in wanted[:MOST_SKILLS]:
            asked = suggested.asked[code]
            columns.append(
                SheetColumn(
                    skill=skill,
                    why=_why(asked, suggested.practised[code]),
                    asked_for=asked,
                    added=added and code not in wanted[:MOST_SKILLS],
                    heights=tuple(_limit(r, skills) for r in suggested.height_rules(code)),
                )
            )
    return tuple(sorted(columns, key=lambda column: -column.asked_for))


def _limit(rule: HeightRule, skills: Mapping[str, Skill]) -> HeightLimit:
    named = tuple(skills[code].name for code in rule.needs if code in skills)
    return HeightLimit(rule.above_m, named, more=len(named) < len(rule.needs))


def _choices(meeting: Meeting | None) -> list[SheetSkill]:
    return list(SheetSkill.objects.filter(meeting=meeting)) if meeting else []


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


def _notes(athletes: Sequence[Athlete], today: date) -> dict[int, tuple[Note, ...]]:
    found: dict[int, tuple[Note, ...]] = {}
    since = end_of(today - NOTES_SHOWN)
    notes = Note.objects.standing().filter(
        athlete__in=[athlete.pk for athlete in athletes], written_at__gte=since
    )
    for note in notes.select_related("written_by"):
        found[note.athlete_id] = (*found.get(note.athlete_id, ()), note)
    return found


@dataclass(frozen=True)
class _Cells:
    """What the cells of a sheet are made of."""

    known: Known
    suggested: Suggested
    tries: Tries
    last: Mapping[tuple[int, int], LastTry]

    def of(self, row: int, skills: Sequence[Skill]) -> tuple[SheetCell, ...]:
        """One athlete's cells."""
        holds = self.known.holds.in_force(self.known.athletes[row])
        stops = [{ladder.pk for ladder in hold.ladders.all()} for hold in holds]
        held = [any(not stop or skill.ladder_id in stop for stop in stops) for skill in skills]
        return tuple(
            self._cell(row, skill, held_back=on_hold)
            for skill, on_hold in zip(skills, held, strict=True)
        )

    def _cell(self, row: int, skill: Skill, *, held_back: bool) -> SheetCell:
        seen, athlete = self.known.picture, self.known.athletes[row]
        column = seen.catalogue.position
        needs = sorted(skill.needs.all(), key=lambda need: need.code)
        key, pair = (athlete.pk, skill.pk), (athlete.code, skill.code)
        return SheetCell(
            skill=skill,
            estimate=seen.estimate(row, column[skill.code]),
            tries=self.tries.get(key, ()),
            last=self.last.get(key),
            missing=tuple(need.name for need in needs if not seen.held[row, column[need.code]]),
            held_back=held_back,
            # Suggested in the morning; whoever was put on hold since is asked for nothing.
            check=None if held_back else self.suggested.checks.get(pair),
            variant=None if held_back else self.suggested.plans.get(pair),
        )
