"""A guardian downloads everything the gym keeps about their child, and of nobody else."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from progress.models import (
    Athlete,
    Attempt,
    Consent,
    Guardian,
    HoldReason,
    Note,
    PlanChoice,
    RegisterEntry,
    ResultChoice,
)
from progress.usecases.families.display_name import shown_name
from progress.usecases.know_athletes import know_athletes

AT_ONCE = 2000  # rows of the log read from the database in one go

Row = dict[str, object]


@dataclass(frozen=True)
class ChildExport:
    """``tables`` are small and read; ``attempts`` is read row by row while it is written out.

    ``keys`` says of each table what its columns mean.
    """

    made_on: date
    tables: Mapping[str, list[Row]]
    attempts: Iterator[Row]
    keys: Mapping[str, Mapping[str, str]]


# The columns in their order, and what each means. Days are YYYY-MM-DD, moments ISO 8601.
KEYS: dict[str, dict[str, str]] = {
    "child": {
        "code": "the gym's short code for the child",
        "name": "name as the gym has it",
        "shown_as": "name shown on paper and in mail",
        "birth_date": "day of birth, or the first of its month",
        "tier": "the child's group now",
        "joined": "first day in the programme",
        "left": "last day, empty while in the programme",
    },
    "classes": {"class": "name", "since": "first day", "until": "last day, empty while in it"},
    "attempts": {
        "id": "the try's own id",
        "at": "moment of the try, in the gym's time zone",
        "skill": "skill code",
        "skill_name": "skill in words",
        "variant": "code of the station variant, empty where there was none",
        "result": "miss, assisted or clean",
        "result_in_words": "the same as a coach says it",
        "counts": "no where it was corrected or taken back",
        "corrects": "id of the try this one corrects",
        "taken_back": "yes where the correction takes the try back",
    },
    "estimates": {
        "skill": "skill code",
        "skill_name": "skill in words",
        "ladder": "kind of movement",
        "tier": "group the skill belongs to",
        "chance": "estimated chance that the next try is clean, 0 to 1",
        "low": "lower end of the 90% range of that chance",
        "high": "upper end of it",
        "attempts": "tries that count",
        "last": "day of the last try",
        "state": "secure, nearly, building, stale or unchecked",
    },
    "register": {"day": "day of the class", "class": "name", "here": "yes or no"},
    "holds": {
        "starts": "first day of a rest from the course",
        "lifted": "first day back, empty while it goes on",
        "reason": "neutral word for it",
    },
    "notes": {"at": "when it was written", "text": "note for the family"},
    "sign_offs": {
        "at": "when the programme lead decided",
        "from_tier": "group before",
        "to_tier": "group after",
        "sentence": "the lead's reason",
        "although": "the lead's reason for moving up although the tool said not yet, else empty",
        "undone_at": "when the decision was undone, empty while it stands",
    },
    "plan_choices": {
        "day": "day of the class",
        "class": "name",
        "loop": "loop chosen by a coach",
        "station": "station chosen by a coach",
        "variant": "variant chosen there, empty: left out",
    },
    "consents": {
        "kind": "what was asked",
        "text_version": "version of the text that was read",
        "given_at": "when yes was said",
        "withdrawn_at": "when it was taken back, empty while it stands",
        "by": "you, or another guardian",
    },
    "rights": {"who": "you, or another guardian", "may_see": "may see this child's page"},
    "erasure_requests": {
        "asked_at": "when erasing was asked for",
        "answered_at": "when the lead answered",
        "answer": "the lead's sentence, to whoever asked",
        "by": "you, another guardian, or the gym",
    },
}
NEUTRAL = {HoldReason.ABSENCE: "Time away", HoldReason.WISH: "Family's or child's wish"}
REST = "A rest from the course"


def export_child(*, athlete: Athlete, guardian: Guardian, today: date) -> ChildExport:
    """Everything kept about ``athlete`` as this guardian may have it.

    Other guardians appear without name or address, other children not at all; what staff write to
    each other stays out. The caller has checked that the guardian may see the child.
    """
    tables = {
        "child": [_child(athlete)],
        "classes": _classes(athlete),
        "estimates": _estimates(athlete, today),
        "register": _register(athlete),
        "holds": _holds(athlete),
        "notes": _notes(athlete),
        "sign_offs": _sign_offs(athlete),
        "plan_choices": _plan_choices(athlete),
        "consents": _consents(athlete, guardian),
        "rights": _rights(athlete, guardian),
        "erasure_requests": _requests(athlete, guardian),
    }
    return ChildExport(made_on=today, tables=tables, attempts=_attempts(athlete), keys=KEYS)


def _child(athlete: Athlete) -> Row:
    return {
        "code": athlete.code,
        "name": athlete.name,
        "shown_as": shown_name(athlete),
        "birth_date": athlete.birth_date,
        "tier": str(athlete.tier),
        "joined": athlete.joined,
        "left": athlete.left,
    }


def _classes(athlete: Athlete) -> list[Row]:
    rows = athlete.enrolments.select_related("gym_class").order_by("since", "pk")
    return [{"class": str(e.gym_class), "since": e.since, "until": e.until} for e in rows]


def _attempts(athlete: Athlete) -> Iterator[Row]:
    """The whole log, corrected tries too, oldest first. The words are those of now's language."""
    words = {choice.value: _(str(choice.label)) for choice in ResultChoice}
    rows = (
        Attempt.objects.filter(athlete=athlete)
        .order_by("at", "pk")
        .values_list(
            *("uid", "at", "skill__code", "skill__name", "variant__code", "result"),
            *("superseded_by__uid", "supersedes__uid", "taken_back"),
        )
    )
    return _attempt_rows(rows.iterator(chunk_size=AT_ONCE), words)


def _attempt_rows(rows: Iterator[tuple], words: Mapping[str, str]) -> Iterator[Row]:
    for uid, at, skill, name, variant, result, corrected_by, corrects, taken_back in rows:
        yield {
            "id": uid,
            "at": _moment(at),
            "skill": skill,
            "skill_name": name,
            "variant": variant,
            "result": result,
            "result_in_words": words[result],
            "counts": corrected_by is None and not taken_back,
            "corrects": corrects,
            "taken_back": taken_back,
        }


def _estimates(athlete: Athlete, today: date) -> list[Row]:
    known = know_athletes(athletes=[athlete], today=today)
    rows: list[Row] = []
    for code, estimate in known.estimates(0).items():
        skill = known.skills[code]
        rows.append(
            {
                "skill": code,
                "skill_name": skill.name,
                "ladder": str(skill.ladder),
                "tier": str(skill.tier),
                "chance": round(estimate.chance, 4),
                "low": round(estimate.low, 4),
                "high": round(estimate.high, 4),
                "attempts": estimate.attempts,
                "last": None if estimate.last is None else date.fromordinal(int(estimate.last)),
                "state": estimate.state.value,
            }
        )
    return rows


def _register(athlete: Athlete) -> list[Row]:
    entries = RegisterEntry.objects.filter(athlete=athlete).order_by("meeting__day", "pk")
    rows = entries.values_list("meeting__day", "meeting__gym_class__name", "present")
    return [{"day": day, "class": name, "here": here} for day, name, here in rows]


def _holds(athlete: Athlete) -> list[Row]:
    rows = athlete.holds.order_by("starts", "pk").values_list("starts", "lifted", "kind")
    return [
        {"starts": starts, "lifted": lifted, "reason": NEUTRAL.get(HoldReason(kind), REST)}
        for starts, lifted, kind in rows
    ]


def _notes(athlete: Athlete) -> list[Row]:
    notes = Note.objects.standing().filter(athlete=athlete, for_family=True)
    return [{"at": _moment(n.written_at), "text": n.text} for n in notes.order_by("written_at")]


def _sign_offs(athlete: Athlete) -> list[Row]:
    rows = athlete.sign_offs.select_related("from_tier", "to_tier").order_by("decided_at")
    return [
        {
            "at": _moment(row.decided_at),
            "from_tier": str(row.from_tier),
            "to_tier": str(row.to_tier),
            "sentence": row.sentence,
            "although": row.although,
            "undone_at": _moment(row.undone_at),
        }
        for row in rows
    ]


def _plan_choices(athlete: Athlete) -> list[Row]:
    rows = PlanChoice.objects.filter(athlete=athlete).order_by("day", "pk")
    names = ("day", "gym_class__name", "loop__name", "station__name", "variant__code")
    return [
        dict(zip(KEYS["plan_choices"], row, strict=True))
        for row in rows.standing().values_list(*names)
    ]


def _consents(athlete: Athlete, guardian: Guardian) -> list[Row]:
    return [
        {
            "kind": row.kind,
            "text_version": row.text_version,
            "given_at": _moment(row.given_at),
            "withdrawn_at": _moment(row.withdrawn_at),
            "by": _who(row.guardian_id, guardian),
        }
        for row in Consent.objects.filter(athlete=athlete).order_by("given_at", "pk")
    ]


def _rights(athlete: Athlete, guardian: Guardian) -> list[Row]:
    rows = athlete.guardianships.order_by("pk").values_list("guardian_id", "may_see")
    return [{"who": _who(pk, guardian), "may_see": may_see} for pk, may_see in rows]


def _requests(athlete: Athlete, guardian: Guardian) -> list[Row]:
    return [
        {
            "asked_at": _moment(row.asked_at),
            "answered_at": _moment(row.answered_at),
            "answer": row.answer if row.asked_by_id == guardian.pk else "",
            "by": "the gym" if row.asked_by_id is None else _who(row.asked_by_id, guardian),
        }
        for row in athlete.erasure_requests.order_by("asked_at", "pk")
    ]


def _who(number: int, guardian: Guardian) -> str:
    return "you" if number == guardian.pk else "another guardian"


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else timezone.localtime(moment).isoformat(timespec="seconds")
