"""The verdict in plain sentences. A good card is said calmly, a bad one plainly."""

from dataclasses import dataclass

from progress.engine.report_card import Marks, ReportCard
from progress.pages.shared.words import percent
from progress.usecases.judge_card import Fit, Trust, Verdict
from progress.usecases.see_report_card import Judged

HEADLINES = {
    Trust.TOO_LITTLE: "Too little to say yet",
    Trust.RELY: "Its numbers hold here",
    Trust.CARE: "Of some use, but not proven",
    Trust.DO_NOT: "Do not rely on its numbers here",
}
WHAT_TO_DO = {
    Trust.TOO_LITTLE: "Until then trust the coach’s eye, and take its numbers as a first guess.",
    Trust.RELY: (
        "Go on as you are. A person still decides. Look here again after a change of skills,"
        " rules or coaches."
    ),
    Trust.CARE: (
        "Where the tool and a coach differ, trust the coach’s eye. More checks will settle which"
        " is better."
    ),
    Trust.DO_NOT: (
        "Trust the coach’s eye. Check more before a child moves up. Tell whoever looks after this"
        " site what this page says."
    ),
}
YARDSTICKS = {
    "base_rate": "always guessing the skill’s own average",
    "running_rate": "guessing the child’s own average at the skill",
    "elo": "a chess-like rating of children and skills",
    "logistic": "a plain formula on counts of clean and other tries",
}
ANSWERS = {True: "yes, surely", None: "too close to say", False: "no, surely worse"}
FITS = {
    Fit.AS_SAID: "as said",
    Fit.A_LITTLE_OFF: "a little off",
    Fit.OFF: "off",
}


@dataclass(frozen=True)
class Told:
    """The verdict as the page shows it."""

    headline: str
    sentences: tuple[str, ...]
    answers: tuple[str, ...]
    what_to_do: str


def told(judged: Judged, verdict: Verdict) -> Told:
    """The headline, the sentences with the numbers, an answer a yardstick, and what to do."""
    if judged.card is None or verdict.trust is Trust.TOO_LITTLE:
        sentences: tuple[str, ...] = (too_little_sentence(judged),)
    else:
        sentences = tuple(_sentences(judged.card, verdict))
    return Told(
        headline=HEADLINES[verdict.trust],
        sentences=sentences,
        answers=tuple(f"Better than {YARDSTICKS[n]}: {ANSWERS[b]}." for n, b in verdict.better),
        what_to_do=WHAT_TO_DO[verdict.trust],
    )


def too_little_sentence(judged: Judged) -> str:
    """How much more it takes."""
    total = judged.learnt_from + judged.judged
    there = f"There are {total:,} attempts" if total != 1 else "There is 1 attempt"
    return (
        f"{there if total else 'There are no attempts'} on record so far. About"
        f" {judged.more_needed:,} more are needed, on several days: some to learn from, and some"
        " later ones to hold against what was said of them."
    )


def _sentences(card: ReportCard, verdict: Verdict) -> list[str]:
    marks, usual = card.overall, verdict.usual
    found = []
    if usual is not None:
        found.append(
            f"On this gym’s last {marks.attempts:,} attempts, when it said about"
            f" {percent(usual.said)} it was {percent(usual.seen)}."
        )
    found.append(fit_sentence(marks, verdict.fit))
    if verdict.says_too_much is not None:
        more = "more often than they are" if verdict.says_too_much else "less often than they are"
        found.append(
            f"It says that children are clean {more}: {percent(marks.said)} on average, and it was"
            f" {percent(marks.seen)}."
        )
    if verdict.worst is not None:
        point = verdict.worst
        found.append(
            f"Furthest off: when it said about {percent(point.said)} it was"
            f" {percent(point.seen)}, in {point.attempts:,} attempts."
        )
    return [*found, *_beaten(verdict)]


def fit_sentence(marks: Marks, fit: Fit | None) -> str:
    """The gap between said and seen beside what luck alone makes."""
    if marks.calibration is None or fit is None:
        return ""
    gap = f"Said and seen differ by {points(marks.calibration.error)} on average"
    luck = points(marks.calibration.luck_high)
    return {
        Fit.AS_SAID: f"{gap}, no more than luck makes of so many attempts (up to {luck}).",
        Fit.A_LITTLE_OFF: (
            f"{gap}. That is more than luck makes (up to {luck}), but small over all."
        ),
        Fit.OFF: f"{gap}, and luck makes {luck} at most: its chances are off.",
    }[fit]


def _beaten(verdict: Verdict) -> list[str]:
    if verdict.beaten_by:
        names = " and ".join(YARDSTICKS[name] for name in verdict.beaten_by)
        return [f"A plainer way does better here: {names}."]
    if verdict.too_close_to:
        names = " or ".join(YARDSTICKS[name] for name in verdict.too_close_to)
        return [f"It is not shown to be better than {names}."]
    return []


def points(share: float) -> str:
    """``1.6 points``: a difference of two percentages."""
    return f"{100 * share:.1f} points"
