"""The lead moves athletes up a tier: all of a sending, or none."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from progress.engine.terms import Decision
from progress.models import Athlete, SignOff, StaffMember
from progress.usecases.sign_offs.cases import Case, Cases, look_at
from progress.usecases.sign_offs.latest import latest_standing
from progress.usecases.sign_offs.refused import (
    EngineSaysOtherwise,
    MovedMeanwhile,
    SignOffRefused,
    although_problem,
    check_lead,
    one_line,
    sentence_problem,
)
from progress.usecases.sign_offs.snapshot import by_code, snapshots, unsaved
from progress.usecases.standings.changed import athletes_changed

MOST_AT_ONCE = 60


@dataclass(frozen=True)
class Seen:
    """What the lead saw of an athlete on the form: the tier, and what the engine said."""

    tier: int
    decision: Decision


@dataclass(frozen=True)
class _Words:
    """What the lead wrote, with single spaces, by athlete code."""

    sentence: dict[str, str]
    although: dict[str, str]


@transaction.atomic
def sign_off(
    *,
    athletes: Sequence[Athlete],
    seen: Mapping[str, Seen],
    sentence: str,
    lead: StaffMember,
    now: datetime,
    today: date,
    sentences: Mapping[str, str] | None = None,
    although: Mapping[str, str] | None = None,
    stays: Collection[str] = (),
) -> tuple[SignOff, ...]:
    """Move these athletes up a tier and keep why, with what the engine says at this moment.

    By athlete code: ``seen`` is what the lead saw, ``sentences`` go before the one ``sentence`` for
    all, ``although`` gives the reason asked for where the engine says building, ``stays`` are those
    who stay in their class. Nothing is stored where anything is wrong: raises SignOffRefused
    (``of`` names what no lead can wave through), MovedMeanwhile where somebody is in another tier
    than was seen, as after a double tap, and EngineSaysOtherwise.
    """
    check_lead(lead)
    chosen = _locked(athletes)
    _check_tiers(chosen, seen)
    cases = look_at(athletes=chosen, today=today)
    stopped = {case.athlete.code: case.obstacles for case in cases.all if case.obstacles}
    if stopped:
        raise SignOffRefused({}, stopped, by_code(chosen))
    _check_decisions(cases.all, seen)
    words = _checked_words(cases.all, sentence, sentences or {}, although or {})
    rows = _decisions(cases, words, frozenset(stays), lead, now, today)
    stored = SignOff.objects.bulk_create(rows)
    _move(cases.all)
    athletes_changed(athletes=[athlete.pk for athlete in chosen], today=today)
    return tuple(stored)


def _decisions(
    cases: Cases,
    words: _Words,
    stays: frozenset[str],
    lead: StaffMember,
    now: datetime,
    today: date,
) -> list[SignOff]:
    """What is to be stored, one decision an athlete."""
    return [
        unsaved(
            case,
            said,
            cases,
            lead,
            to_tier=case.next_tier,
            decided_at=now,
            sentence=words.sentence[case.athlete.code],
            although=words.although.get(case.athlete.code, ""),
            stays=case.athlete.code in stays,
        )
        for case, said in zip(cases.all, snapshots(cases, today), strict=True)
    ]


def _locked(athletes: Sequence[Athlete]) -> list[Athlete]:
    """These athletes as they are now, in the order given.

    Locked in one order, so that two leads wait for each other; so does whoever places a hold.
    """
    pks = list(dict.fromkeys(athlete.pk for athlete in athletes))
    if not pks:
        raise SignOffRefused({"": "Choose at least one athlete."})
    if len(pks) > MOST_AT_ONCE:
        raise SignOffRefused({"": f"Move up to {MOST_AT_ONCE} athletes at once, not {len(pks)}."})
    rows = Athlete.objects.select_for_update(of=("self",)).select_related("tier")
    found = {athlete.pk: athlete for athlete in rows.filter(pk__in=pks).order_by("pk")}
    if len(found) < len(pks):
        raise SignOffRefused({"": "Somebody chosen is no longer on record. Choose again."})
    return [found[pk] for pk in pks]


def _check_tiers(athletes: Sequence[Athlete], seen: Mapping[str, Seen]) -> None:
    moved = [a for a in athletes if a.code in seen and seen[a.code].tier != a.tier_id]
    if moved:
        standing = latest_standing(moved)
        raise MovedMeanwhile({athlete: standing.get(athlete.pk) for athlete in moved})


def _check_decisions(cases: Sequence[Case], seen: Mapping[str, Seen]) -> None:
    otherwise = {
        case.athlete.code: case.readiness.decision
        for case in cases
        if case.athlete.code not in seen
        or seen[case.athlete.code].decision is not case.readiness.decision
    }
    if otherwise:
        raise EngineSaysOtherwise(otherwise)


def _checked_words(
    cases: Sequence[Case], for_all: str, own: Mapping[str, str], although: Mapping[str, str]
) -> _Words:
    problems: dict[str, str] = {}
    words = _Words({}, {})
    for case in cases:
        code, mine = case.athlete.code, one_line(own.get(case.athlete.code, ""))
        words.sentence[code] = mine or one_line(for_all)
        problem = sentence_problem(words.sentence[code])
        if problem:
            problems[f"sentence:{code}" if mine else "sentence"] = problem
        if case.readiness.decision is Decision.BUILDING:
            words.although[code] = one_line(although.get(code, ""))
            problem = although_problem(words.although[code], words.sentence[code])
            if problem:
                problems[f"although:{code}"] = problem
    if problems:
        raise SignOffRefused(problems)
    return words


def _move(cases: Sequence[Case]) -> None:
    """Change the tiers, each only from the tier it was seen in."""
    steps: dict[tuple[int, int | None], list[int]] = defaultdict(list)
    for case in cases:
        steps[case.athlete.tier_id, case.readiness.next_tier].append(case.athlete.pk)
    for (before, after), pks in steps.items():
        in_it = Athlete.objects.filter(pk__in=pks, tier=before)
        if in_it.update(tier=after) != len(pks):
            raise MovedMeanwhile(dict.fromkeys(Athlete.objects.filter(pk__in=pks)))
