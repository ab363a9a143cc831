"""How coaches mark, in words that help and do not judge."""

from dataclasses import dataclass

from progress.usecases.compare_double_checks import FEWEST_PAIRS, Agreement
from progress.usecases.see_coaches import LEAST_TRIES, OTHERS_GIVE, CoachSeen, PairSeen

NO_MATTER = 0.02  # a share of tries that nobody could notice
A_LITTLE = 0.10
WIDE = 0.15  # an interval from which nobody can tell anything yet


def whole(share: float) -> int:
    """A share as a whole percentage."""
    return round(100 * share)


def verdict(coach: CoachSeen) -> str:
    """How this coach marks against the others, as far as anybody can tell."""
    if coach.gives is None or coach.low is None or coach.high is None:
        if coach.tries < LEAST_TRIES:
            return "Too few tries to say"
        return "No other coach with enough tries to compare with"
    if coach.low <= OTHERS_GIVE <= coach.high:
        wide = coach.high - coach.low > WIDE
        return "Cannot tell yet" if wide else "Marks about as others do"
    apart = abs(coach.gives - OTHERS_GIVE)
    if apart < NO_MATTER:
        return "Marks about as others do"
    way = "stricter" if coach.gives < OTHERS_GIVE else "more generous"
    return f"A little {way}" if apart < A_LITTLE else f"Clearly {way}"


def figures(coach: CoachSeen) -> str:
    """The same in numbers, on the everyday example."""
    if coach.gives is None or coach.low is None or coach.high is None:
        if coach.tries < LEAST_TRIES:
            return f"{coach.tries} so far; it takes about {LEAST_TRIES}."
        return ""
    return (
        f"Where others give {whole(OTHERS_GIVE)}% clean, {coach.name} gives {whole(coach.gives)}% "
        f"(90% sure: {whole(coach.low)} to {whole(coach.high)})."
    )


def pair_sentence(pair: PairSeen) -> str:
    """What is known of two coaches."""
    if pair.other_gives is None:
        return "One of them has too few tries so far, so nobody can tell how they compare."
    if abs(pair.other_gives - OTHERS_GIVE) < NO_MATTER:
        return "They may well mark alike, but nobody can be sure yet."
    return (
        f"By the best guess, where {pair.one} gives {whole(OTHERS_GIVE)}% clean, "
        f"{pair.other} gives {whole(pair.other_gives)}%."
    )


@dataclass(frozen=True)
class Read:
    """The agreement of double checks in sentences; empty with too few of them."""

    same: str
    beyond: str
    against: str


def read_agreement(agreement: Agreement) -> Read | None:
    """How far coaches agree and what to make of it; None where that cannot be said."""
    found = agreement.found
    if found is None:
        return None
    same = (
        f"{found.same} of {found.pairs} times both wrote the same result: "
        f"{whole(found.same / found.pairs)}% "
        f"(90% sure: {whole(found.same_low)} to {whole(found.same_high)})."
    )
    beyond = (
        f"Beyond what chance would give, agreement is {found.value:.2f} "
        f"(90% sure: {found.low:.2f} to {found.high:.2f})."
    )
    return Read(same, beyond, _against(agreement, found.low, found.high))


def _against(agreement: Agreement, low: float, high: float) -> str:
    if agreement.alike is None:
        return ""
    expected = f"Coaches who judge exactly alike would come to about {agreement.alike:.2f} here"
    if high < agreement.alike:
        return f"{expected}, which is more: it is worth talking about what counts as clean."
    if low > agreement.alike:
        return f"{expected}. You are above it; perhaps coaches saw each other’s marks."
    return f"{expected}. What was seen fits that."


def too_few(agreement: Agreement) -> str:
    """Why there is nothing to say of agreement yet."""
    if agreement.pairs == 0:
        return "There is no double check yet."
    if agreement.pairs < FEWEST_PAIRS:
        number = "1 double check" if agreement.pairs == 1 else f"{agreement.pairs} double checks"
        return f"There {'is' if agreement.pairs == 1 else 'are'} {number} so far."
    return "All double checks have the same result, so they cannot tell coaches apart."
