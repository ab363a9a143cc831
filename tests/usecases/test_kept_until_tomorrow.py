"""A long answer is worked out once a day, and again when what it rests on changed."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, RuleBook, Skill, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow
from tests import makers

DAY = timedelta(days=1)


class Asked:
    """Counts how often the answer was worked out."""

    def __init__(self) -> None:
        self.until: list[date] = []

    def __call__(self, until: date) -> list[date]:
        self.until.append(until)
        return list(self.until)


@pytest.fixture
def asked(db: None) -> Asked:
    return Asked()


def ask(asked: Asked, today: date, of: str = "") -> list[date]:
    return kept_until_tomorrow(question="how many", today=today, work_out=asked, of=of)


def test_it_knows_whole_days_only_and_is_worked_out_once_for_each(
    asked: Asked, today: date
) -> None:
    assert ask(asked, today) == ask(asked, today) == [today - DAY]
    assert ask(asked, today + DAY) == [today - DAY, today]


def test_answers_about_different_things_are_kept_apart(asked: Asked, today: date) -> None:
    assert len(ask(asked, today, of="one class")) == 1
    assert len(ask(asked, today, of="another")) == 2
    assert len(ask(asked, today, of="one class")) == 1


def test_an_answer_of_nothing_is_kept_too(asked: Asked, today: date) -> None:
    for _ in range(2):
        kept = kept_until_tomorrow(
            question="none", today=today, work_out=lambda day: asked(day)[9:]
        )
        assert kept == []
    assert len(asked.until) == 1


def test_an_attempt_of_today_changes_nothing_and_a_late_one_does(
    asked: Asked, today: date, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    ask(asked, today)
    makers.make_attempt(ada, small_catalogue["HANG-1"], at=today)
    assert len(ask(asked, today)) == 1
    makers.make_attempt(ada, small_catalogue["HANG-1"], at=today - 3 * DAY)
    assert len(ask(asked, today)) == 2


def test_new_rules_a_hold_and_a_sign_off_ask_again(
    asked: Asked, today: date, ada: Athlete, lead: StaffMember
) -> None:
    ask(asked, today)
    RuleBook.objects.create(version=7, values={})
    assert len(ask(asked, today)) == 2
    hold = makers.make_hold(ada, starts=today - DAY)
    assert len(ask(asked, today)) == 3
    hold.lifted = today
    hold.save()
    assert len(ask(asked, today)) == 4
    makers.make_sign_off(ada, lead)
    assert len(ask(asked, today)) == 5


def test_a_first_calibration_made_on_the_way_does_not_ask_again(
    asked: Asked, today: date, ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    makers.make_attempt(ada, small_catalogue["HANG-1"], at=today - 9 * DAY)

    def learn(until: date) -> list[date]:
        calibrate_gym(today=until)
        return asked(until)

    for _ in range(2):
        kept_until_tomorrow(question="how many", today=today, work_out=learn)
    assert len(asked.until) == 1


def test_asking_again_takes_six_questions_at_most(
    asked: Asked, today: date, django_assert_max_num_queries: pytest.FixtureRequest
) -> None:
    ask(asked, today)
    with django_assert_max_num_queries(6):  # type: ignore[operator]
        ask(asked, today)
