"""What keeps an athlete from moving up whatever the lead writes: gates, holds, age, the top."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.models import Athlete, Ladder, SignOff, Skill, StaffMember, Standing, Tier
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.sign_offs.cases import Case, look_at
from progress.usecases.sign_offs.refused import SignOffRefused
from tests import makers
from tests.usecases.sign_offs.conftest import Moving, make_like_ada, seen_now

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def case_of(athlete: Athlete, today: date = makers.TODAY) -> Case:
    fresh = Athlete.objects.get(pk=athlete.pk)
    return look_at(athletes=[fresh], today=today).all[0]


def obstacles(athlete: Athlete, today: date = makers.TODAY) -> list[str]:
    return [one.what for one in case_of(athlete, today).obstacles]


def test_somebody_ready_has_none_and_the_case_says_what_the_tier_asks_for(ada: Athlete) -> None:
    case = case_of(ada)

    assert case.obstacles == ()
    assert [(one.skill.code, one.held) for one in case.asked] == [
        ("LAND-1", True),
        ("HANG-1", True),
    ]
    assert [one.skill.code for one in case.gates] == ["LAND-1"]
    assert case.asked[0].last == date(2026, 2, 23)
    assert case.next_tier is not None
    assert case.next_tier.number == 2


class TestGates:
    def test_a_gate_not_held_today_stops_and_says_what_it_asks_for(
        self, ada: Athlete, cy: Athlete
    ) -> None:
        [one] = case_of(cy).obstacles
        assert one.what == "Safety skill not held today: Land still on two feet."
        assert "5 clean in a row on 2 days with 2 coaches" in one.mend

    def test_a_skill_that_is_no_gate_stops_nobody(self, eve: Athlete) -> None:
        assert not case_of(eve).asked[1].held
        assert obstacles(eve) == []

    def test_a_gate_that_is_not_required_is_asked_for_all_the_same(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("FALL-1", ladder="falling", gate=True, required=False, name="Roll out")
        assert obstacles(ada) == ["Safety skill not held today: Roll out."]

    def test_a_gate_shown_too_long_ago_is_not_held(self, ada: Athlete) -> None:
        assert obstacles(ada, makers.TODAY + 20 * DAY) == []
        assert obstacles(ada, makers.TODAY + 60 * DAY) != []

    def test_the_answer_is_worked_out_now_and_never_taken_from_what_was_kept(
        self, cy: Athlete, ada: Athlete
    ) -> None:
        Standing.objects.update_or_create(
            athlete=cy,
            defaults={
                "on_day": makers.TODAY,
                "tier": 1,
                "next_tier": 2,
                "decision": "ready",
                "p_ready": 0.99,
            },
        )
        assert obstacles(cy)

    def test_a_gate_of_an_earlier_tier_that_slipped_lately_stops(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        tiers: dict[int, Tier],
        coach: StaffMember,
    ) -> None:
        makers.make_skill("TOP", ladder="landing", tier=3)
        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        before = obstacles(ada)
        makers.make_attempts(
            ada, small_catalogue["LAND-1"], ["miss"] * 6, days=[makers.TODAY - DAY], coaches=[coach]
        )

        assert "Safety skill not held today: Land from knee height." in before
        assert set(obstacles(ada)) - set(before) == {
            "Safety skill of an earlier tier slipped: Land still on two feet."
        }


class TestHolds:
    def test_a_hold_on_everything_stops_until_it_is_lifted(self, ada: Athlete) -> None:
        hold = makers.make_hold(ada, starts=date(2026, 2, 27))
        assert obstacles(ada) == ["Is on hold since 27 Feb 2026."]

        hold.lifted = makers.TODAY
        hold.save()
        assert obstacles(ada) == []

    def test_a_hold_from_tomorrow_stops_nobody_today(self, ada: Athlete) -> None:
        makers.make_hold(ada, starts=makers.TODAY + DAY)
        assert obstacles(ada) == []

    def test_a_hold_on_a_ladder_the_tier_asks_skills_of_stops(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_hold(ada, ladders=[small_catalogue["HANG-1"].ladder])
        assert obstacles(ada) == ["Is on hold on Hanging since 2 Mar 2026."]

    def test_a_hold_on_a_ladder_the_tier_asks_nothing_of_is_the_leads_to_weigh(
        self, ada: Athlete, small_catalogue: dict[str, Skill], move: Moving
    ) -> None:
        climbing: Ladder = makers.make_ladder("climbing")
        makers.make_skill("CLIMB-2", ladder=climbing, tier=2)
        makers.make_hold(ada, ladders=[climbing])

        assert obstacles(ada) == []
        assert len(case_of(ada).holds) == 1
        assert len(move(ada)) == 1


class TestAgeTopAndLeaving:
    @pytest.mark.parametrize(
        ("born", "stopped"),
        [(date(2021, 3, 3), True), (date(2021, 3, 2), False), (None, False)],
    )
    def test_the_next_tiers_youngest_age_is_reached_on_the_birthday(
        self, ada: Athlete, born: date | None, stopped: bool
    ) -> None:
        Athlete.objects.filter(pk=ada.pk).update(birth_date=born)
        expected = ["Is younger than 5, the youngest age for the next tier."] if stopped else []
        assert obstacles(ada) == expected
        if born is None:
            assert any("age unknown" in reason for reason in case_of(ada).readiness.reasons)

    def test_nobody_moves_up_from_the_top(self, ada: Athlete, tiers: dict[int, Tier]) -> None:
        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        assert "Is in the highest tier." in obstacles(ada)
        assert case_of(ada).next_tier is None

    @pytest.mark.parametrize(("days", "stopped"), [(-1, True), (0, True), (1, False)])
    def test_who_has_left_is_not_moved(self, ada: Athlete, days: int, stopped: bool) -> None:
        Athlete.objects.filter(pk=ada.pk).update(left=makers.TODAY + days * DAY)
        assert (obstacles(ada) == ["Has left the programme."]) is stopped


class TestNobodyWavesItThrough:
    def test_one_who_cannot_move_keeps_the_whole_sending_back_and_is_named_with_the_mend(
        self, ada: Athlete, cy: Athlete, move: Moving
    ) -> None:
        makers.make_hold(cy)

        with pytest.raises(SignOffRefused) as refused:
            move(ada, cy, although={"cy": "Whatever may be written here."})

        assert set(refused.value.of) == {"cy"}
        assert len(refused.value.of["cy"]) == 2
        assert "Cy: Is on hold since 2 Mar 2026. A hold means stop" in str(refused.value)
        assert set(Athlete.objects.values_list("tier", flat=True)) == {1}
        assert not SignOff.objects.exists()

    def test_a_hold_placed_after_the_form_was_opened_stops(
        self, ada: Athlete, move: Moving
    ) -> None:
        seen = seen_now([ada])
        makers.make_hold(ada)
        with pytest.raises(SignOffRefused, match="on hold"):
            move(ada, seen=seen)


def test_looking_at_many_asks_no_more_than_looking_at_one(
    ada: Athlete,
    small_catalogue: dict[str, Skill],
    coach: StaffMember,
    lead: StaffMember,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    many = [make_like_ada(f"kid-{n}", small_catalogue, coach, lead) for n in range(30)]
    for one in many[:5]:
        makers.make_hold(one)
    calibrate_gym(today=makers.TODAY)
    with django_assert_max_num_queries(10):
        assert len(look_at(athletes=many, today=makers.TODAY).all) == 30
