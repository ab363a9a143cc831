"""The verdict's words at both ends: a good card is said calmly, a bad one plainly."""

from datetime import date
from typing import Any

from progress.engine.report_card import Marks, ReportCard
from progress.engine.scores import CalibrationError, CurvePoint
from progress.pages.report_card.words import HEADLINES, Told, told
from progress.usecases.judge_card import Fit, Trust, Verdict
from progress.usecases.see_report_card import Judged

EIGHTY = CurvePoint(0.7, 0.8, 0.80, 0.78, 400, 0.75, 0.81)
FAR_OFF = CurvePoint(0.3, 0.4, 0.35, 0.60, 210, 0.54, 0.66)
ALL_BETTER = (("base_rate", True), ("running_rate", True), ("elo", True), ("logistic", True))


def told_of(trust: Trust, *, error: float = 0.012, said: float = 0.8, **verdict: Any) -> Told:
    gap = CalibrationError(error, 0.01, 0.015, 0.4)
    marks = Marks(2000, 60, said, 0.79, 0.4, 0.13, None, gap, (EIGHTY,))
    card = ReportCard(1, marks, {}, {}, (), {})
    judged = Judged(date(2026, 3, 1), date(2026, 1, 5), 3000, 2000, 60, 60, 0, card)
    return told(judged, Verdict(trust, usual=EIGHTY, **verdict))


class TestAGoodCard:
    def good(self) -> Told:
        return told_of(Trust.RELY, fit=Fit.AS_SAID, better=ALL_BETTER)

    def test_it_starts_with_the_plain_sentence(self) -> None:
        assert self.good().sentences == (
            "On this gym’s last 2,000 attempts, when it said about 80% it was 78%.",
            "Said and seen differ by 1.2 points on average, no more than luck makes of so many"
            " attempts (up to 1.5 points).",
        )

    def test_it_says_of_each_plainer_way_that_it_is_surely_better(self) -> None:
        answers = self.good().answers
        assert answers[0] == "Better than always guessing the skill’s own average: yes, surely."
        assert all(one.endswith("yes, surely.") for one in answers)
        assert len(answers) == 4

    def test_a_person_still_decides_and_nothing_is_called_safe(self) -> None:
        good = self.good()
        assert "A person still decides" in good.what_to_do
        assert "safe" not in " ".join([good.headline, *good.sentences, good.what_to_do]).lower()


class TestABadCard:
    def bad(self) -> Told:
        return told_of(
            Trust.DO_NOT,
            error=0.13,
            said=0.92,
            fit=Fit.OFF,
            worst=FAR_OFF,
            says_too_much=True,
            better=(("base_rate", False), *ALL_BETTER[1:]),
        )

    def test_the_headline_says_not_to_rely_on_it(self) -> None:
        assert self.bad().headline == "Do not rely on its numbers here"

    def test_the_sentences_say_how_far_off_it_is_and_which_way(self) -> None:
        said = " ".join(self.bad().sentences)
        assert "differ by 13.0 points on average, and luck makes 1.5 points at most" in said
        assert "its chances are off" in said
        assert "clean more often than they are: 92% on average, and it was 79%" in said
        assert "Furthest off: when it said about 35% it was 60%, in 210 attempts." in said

    def test_it_names_what_does_better(self) -> None:
        bad = self.bad()
        assert "A plainer way does better here: always guessing the skill’s own" in " ".join(
            bad.sentences
        )
        assert bad.answers[0].endswith(": no, surely worse.")

    def test_it_says_what_to_do(self) -> None:
        for part in ("coach’s eye", "Check more", "whoever looks after this site"):
            assert part in self.bad().what_to_do


class TestInBetween:
    def test_too_close_to_say_is_said(self) -> None:
        card = told_of(
            Trust.CARE, fit=Fit.AS_SAID, better=(*ALL_BETTER[:2], ("elo", None), ("logistic", None))
        )
        assert "It is not shown to be better than a chess-like rating" in card.sentences[-1]
        assert card.answers[2].endswith("too close to say.")
        assert "trust the coach’s eye" in card.what_to_do

    def test_a_small_gap_that_is_no_luck_is_not_hidden(self) -> None:
        card = told_of(Trust.RELY, error=0.026, fit=Fit.A_LITTLE_OFF, better=ALL_BETTER)
        assert "That is more than luck makes" in card.sentences[1]

    def test_saying_too_little_is_told_too(self) -> None:
        card = told_of(Trust.DO_NOT, fit=Fit.OFF, said=0.7, says_too_much=False)
        assert any("less often than they are: 70%" in one for one in card.sentences)

    def test_the_four_headlines_differ(self) -> None:
        assert len(set(HEADLINES.values())) == len(Trust)


class TestTooLittle:
    def told_with(self, learnt: int, judged: int, more: int) -> str:
        few = Judged(date(2026, 3, 1), None, learnt, judged, 2, 2, more, None)
        return told(few, Verdict(Trust.TOO_LITTLE)).sentences[0]

    def test_it_says_what_is_there_and_how_much_more_is_needed(self) -> None:
        said = self.told_with(700, 800, 1234)
        assert "There are 1,500 attempts on record so far." in said
        assert "About 1,234 more are needed" in said

    def test_one_and_none(self) -> None:
        assert self.told_with(0, 1, 499).startswith("There is 1 attempt on record")
        assert self.told_with(0, 0, 500).startswith("There are no attempts on record")
