"""The lead's board: every current athlete with the answer stored about them."""

from datetime import date, timedelta

import pytest

from progress.engine.terms import Decision
from progress.models import Athlete, GymClass, Skill, Standing
from progress.usecases import see_board as asked
from progress.usecases.know_athletes import know_athletes
from progress.usecases.standings.keep_up import Freshness
from tests import makers
from tests.makers_of_standings import make_standing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("small_catalogue")]

DAY, TODAY = timedelta(days=1), makers.TODAY


@pytest.fixture
def as_stored(monkeypatch: pytest.MonkeyPatch) -> None:
    """The answers that a test stores are shown as they are."""
    monkeypatch.setattr(asked, "bring_up_to_date", lambda **_: Freshness(0, TODAY))


def codes(athletes: asked.Rows) -> list[str]:
    return [athlete.code for athlete in athletes]


def found(athletes: asked.Rows) -> set[str]:
    return set(codes(athletes))


def rows() -> asked.Rows:
    return asked.see_board(today=TODAY).athletes


class TestWhatIsOnIt:
    def test_everybody_in_the_programme_is_on_it_with_the_answer_every_page_gives(
        self, ada: Athlete, bo: Athlete, cy: Athlete
    ) -> None:
        for code, left in (("gone", TODAY), ("leaving", TODAY + DAY)):
            makers.make_athlete(code, left=left)

        board = asked.see_board(today=TODAY)

        assert board.freshness == Freshness(0, TODAY, worked_out=4)
        answers = {athlete.code: asked.readiness_of(athlete) for athlete in board.athletes}
        assert set(answers) == {"ada", "bo", "cy", "leaving"}
        for said in know_athletes(athletes=[ada, bo, cy], today=TODAY).readiness:
            stored = answers[said.athlete]
            assert stored is not None
            assert (stored.decision, stored.reasons) == (said.decision, said.reasons)
            assert stored.holding_back == said.holding_back
            assert stored.p_ready == pytest.approx(said.p_ready)

    def test_where_too_many_wait_nothing_is_worked_out_and_all_are_shown(
        self, ada: Athlete, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(asked, "WORKED_OUT_AT_ONCE", 0)

        board = asked.see_board(today=TODAY)

        assert board.freshness == Freshness(1, None)
        assert [athlete.says for athlete in board.athletes] == [asked.UNKNOWN]
        assert asked.readiness_of(board.athletes[0]) is None

    @pytest.mark.usefixtures("as_stored")
    def test_an_answer_for_a_tier_the_athlete_has_left_is_no_answer(self, cy: Athlete) -> None:
        makers.make_skill("TOP-3", tier=3)
        make_standing(cy, "ready")
        Athlete.objects.update(tier=2)

        assert asked.readiness_of(rows()[0]) is None
        assert found(rows().filter(says=asked.UNKNOWN)) == {"cy"}

    @pytest.mark.usefixtures("as_stored")
    def test_nobody_moves_up_from_the_top_tier(self) -> None:
        make_standing(makers.make_athlete("top", tier=2), "ready", holding_back=["LAND-2"])

        answer = asked.readiness_of(rows()[0])
        assert answer is not None
        assert (answer.next_tier, answer.holding_back) == (None, ())
        assert asked.counts_by_saying(rows())["ready"] == 0
        assert asked.counts_by_saying(rows())[asked.TOP] == 1
        assert not asked.held_back_by(rows(), "LAND-2")

    @pytest.mark.usefixtures("as_stored")
    @pytest.mark.parametrize(
        ("values", "old"),
        [({}, False), ({"on_day": TODAY - DAY}, True), ({"changes": 1}, True)],
    )
    def test_an_answer_is_old_after_its_day_and_after_a_change(
        self, cy: Athlete, values: dict[str, object], old: bool
    ) -> None:
        make_standing(cy, **values)

        assert asked.is_old(rows()[0], TODAY) is old

    def test_an_empty_gym_has_an_empty_board(self) -> None:
        assert not rows()
        assert set(asked.counts_by_saying(rows()).values()) == {0}

    @pytest.mark.parametrize("all_at_once", [True, False])
    def test_classes_and_holds_of_today_stand_beside_the_answers(
        self, monday_class: GymClass, ada: Athlete, cy: Athlete, all_at_once: bool
    ) -> None:
        makers.enrol(ada, makers.make_class("friday", name="Friday class", weekday=4))
        makers.enrol(ada, makers.make_class("old"), until=TODAY - DAY)
        makers.enrol(ada, makers.make_class("new"), since=TODAY + DAY)
        makers.make_hold(cy, starts=TODAY - DAY)
        makers.make_hold(cy, starts=TODAY + DAY)
        makers.make_hold(ada, starts=TODAY - DAY, lifted=TODAY)

        read = asked.all_with_classes_and_holds if all_at_once else asked.with_classes_and_holds
        beside = {athlete.code: athlete for athlete in read(rows(), TODAY)}

        assert asked.class_names(beside["ada"]) == "Monday class, Friday class"
        assert asked.class_names(beside["cy"]) == ""
        assert [hold.starts for hold in asked.holds_in_force(beside["cy"])] == [TODAY - DAY]
        assert asked.holds_in_force(beside["ada"]) == ()


@pytest.mark.usefixtures("as_stored")
class TestNarrowing:
    def test_each_word_is_looked_for_in_name_and_code(self) -> None:
        makers.make_athlete("k-7", name="Kit Rowan")
        makers.make_athlete("k-8", name="Kit Elder")

        assert found(asked.named(rows(), "kit")) == {"k-7", "k-8"}
        assert found(asked.named(rows(), "ROWAN kit")) == {"k-7"}
        assert found(asked.named(rows(), "kit k-8")) == {"k-8"}
        assert not asked.named(rows(), "kit nobody")

    @pytest.mark.parametrize("code", ["HANG-1", "É-1", 'A"B', "50%_up", "back\\slash"])
    def test_held_back_by_finds_exactly_that_skill(self, code: str) -> None:
        makers.make_athlete("none")
        cast = {"this": ["X", code], "longer": [code + "0"], "shorter": [code[:-1]], "free": []}
        cast["other-case"] = [code.swapcase()]
        for name, holding_back in cast.items():
            make_standing(makers.make_athlete(name), holding_back=holding_back)

        assert found(asked.held_back_by(rows(), code)) == {"this"}

    def test_a_hold_counts_while_it_is_in_force(self, ada: Athlete, bo: Athlete) -> None:
        makers.make_hold(ada, starts=TODAY)
        makers.make_hold(bo, starts=TODAY - DAY, lifted=TODAY)

        assert found(asked.on_hold(rows(), True, TODAY)) == {"ada"}
        assert found(asked.on_hold(rows(), False, TODAY)) == {"bo"}

    def test_in_class_means_today(self, monday_class: GymClass, cy: Athlete) -> None:
        makers.enrol(cy, monday_class, until=TODAY - DAY)

        assert found(asked.in_class(rows(), "monday", TODAY)) == {"ada", "bo"}

    def test_not_checked_for_some_weeks_includes_those_never_checked(self) -> None:
        days = {"lately": 27, "just": 28, "long": 100}
        for code, ago in days.items():
            make_standing(makers.make_athlete(code), last_checked=TODAY - ago * DAY)
        make_standing(makers.make_athlete("never"), last_checked=None)
        makers.make_athlete("unknown")  # may have been checked: nothing was worked out yet

        assert found(asked.not_checked_for(rows(), 4, TODAY)) == {"just", "long", "never"}
        assert found(asked.never_checked(rows())) == {"never"}

    @pytest.mark.parametrize(
        ("born", "today"),
        [
            (date(2018, 3, 2), date(2026, 3, 2)),
            (date(2018, 3, 3), date(2026, 3, 2)),
            (date(2020, 2, 29), date(2027, 2, 28)),
            (date(2020, 2, 29), date(2027, 3, 1)),
            (date(2021, 3, 1), date(2028, 2, 29)),
            (date(2021, 2, 28), date(2028, 2, 29)),
        ],
    )
    def test_age_is_counted_as_everywhere(self, cy: Athlete, born: date, today: date) -> None:
        Athlete.objects.update(birth_date=born)
        whole_years = Athlete.objects.get()
        age = int(whole_years.age_on(today) or 0)

        for years in (age - 1, age, age + 1):
            assert bool(asked.at_least(rows(), years, today)) is (age >= years)
            assert bool(asked.at_most(rows(), years, today)) is (age <= years)

    def test_an_unknown_age_is_within_no_bounds(self, cy: Athlete) -> None:
        Athlete.objects.update(birth_date=None)

        assert not asked.at_least(rows(), 0, TODAY)
        assert not asked.at_most(rows(), 99, TODAY)


@pytest.mark.usefixtures("as_stored")
class TestSorting:
    def test_by_readiness_those_to_act_on_come_first_and_the_top_tier_last(self) -> None:
        for decision, chance in (
            *((one.value, 0.2) for one in reversed(asked.ORDER)),
            (Decision.READY.value, 0.9),
        ):
            make_standing(makers.make_athlete(f"{decision}-{chance}"), decision, p_ready=chance)
        make_standing(makers.make_athlete("top", tier=2), "ready", p_ready=0.99)
        makers.make_athlete("waiting")

        order = ["ready-0.9", *(f"{one.value}-0.2" for one in asked.ORDER), "waiting", "top"]
        assert codes(asked.by_readiness(rows())) == order
        assert codes(asked.by_readiness(rows(), backwards=True)) == order[::-1]

    def test_who_is_equally_ready_stands_by_name(self) -> None:
        """To the percent that is shown; the digits behind it are no reason to come first."""
        for code, name, chance in (("a", "zoe", 0.801), ("b", "Yan", 0.799), ("c", "Zoe", 0.803)):
            make_standing(makers.make_athlete(code, name=name), p_ready=chance)

        assert codes(asked.by_readiness(rows())) == ["b", "a", "c"]
        assert codes(asked.by_name(rows(), backwards=True)) == ["a", "c", "b"]

    def test_last_checked_counts_the_days_and_never_is_longest(self) -> None:
        for code, last in (("new", TODAY), ("old", TODAY - 9 * DAY), ("never", None)):
            make_standing(makers.make_athlete(code), last_checked=last)

        assert codes(asked.by_last_check(rows())) == ["new", "old", "never"]
        assert codes(asked.by_last_check(rows(), backwards=True)) == ["never", "old", "new"]

    def test_an_unknown_age_comes_last_either_way(self) -> None:
        for code, born in (("old", 2012), ("young", 2020)):
            makers.make_athlete(code, birth_date=date(born, 1, 1))
        makers.make_athlete("unknown", birth_date=None)

        def by_age(backwards: bool) -> list[str]:
            return codes(asked.by_field(rows(), "birth_date", backwards, low_first=False))

        assert by_age(False) == ["young", "old", "unknown"]
        assert by_age(True) == ["old", "young", "unknown"]

    def test_by_class_goes_by_the_first_of_the_week(self, monday_class: GymClass) -> None:
        friday = makers.make_class("friday", name="A Friday class", weekday=4)
        in_one, in_two = makers.make_athlete("one"), makers.make_athlete("two")
        for athlete, gym_class in ((in_one, friday), (in_two, friday), (in_two, monday_class)):
            makers.enrol(athlete, gym_class)
        makers.make_athlete("outside")

        forwards = codes(asked.by_class(rows(), False, TODAY))
        assert forwards == ["one", "ada", "bo", "two", "outside"]


def test_standings_of_those_who_left_are_not_shown(small_catalogue: dict[str, Skill]) -> None:
    make_standing(makers.make_athlete("gone", left=TODAY), "ready")

    assert Standing.objects.count() == 1
    assert not rows()
