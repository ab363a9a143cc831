"""After an older backup was put back: erase again whoever had been erased since."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Min
from django.utils import timezone

from progress.models import Athlete
from progress.usecases.families.erasure import erase, new_pseudonym
from progress.usecases.families.erasures_kept import Erased, digests_of_code, kept_erasures


@dataclass(frozen=True)
class Reapplied:
    """``listed`` children are on the list; ``again`` were erased now.

    ``left_alone`` are codes that are on the list while nothing of the child is older than the
    erasure: most likely a new child was given the code of an erased one.
    """

    listed: int
    again: int
    left_alone: tuple[str, ...]


def reapply_erasures(*, now: datetime) -> Reapplied:
    """Go through the list; running it twice changes nothing more."""
    listed = {line.digest: line for line in kept_erasures()}
    again, left_alone = 0, []
    for athlete in Athlete.objects.filter(erased_at__isnull=True).order_by("code"):
        lines = [listed[one] for one in digests_of_code(athlete.code) if one in listed]
        if not lines:
            continue
        if not _known_before(athlete, lines[0].day):
            left_alone.append(athlete.code)
            continue
        erase(athlete=athlete, pseudonym=_free_pseudonym(lines[0]), now=now)
        again += 1
    return Reapplied(len(listed), again, tuple(left_alone))


def _known_before(athlete: Athlete, day: date) -> bool:
    """Whether anything of this child is as old as the erasure."""
    first_try = athlete.attempts.aggregate(first=Min("at"))["first"]
    first_class = athlete.enrolments.aggregate(first=Min("since"))["first"]
    known = [athlete.joined, first_class, first_try and timezone.localdate(first_try)]
    return any(one is not None and one <= day for one in known)


def _free_pseudonym(line: Erased) -> str:
    """The pseudonym of the first time, so that both copies of the log agree."""
    taken = Athlete.objects.filter(code=line.pseudonym).exists()
    return new_pseudonym() if taken else line.pseudonym
