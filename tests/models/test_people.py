"""People: who may see which athlete, and how old an athlete is."""

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import AnonymousUser
from django.db.models import ProtectedError

from progress.models import Athlete, Guardian, Guardianship, Role, StaffMember, Tier
from tests import makers
from tests.models.conftest import Refusal


def seen_by(person: StaffMember | Guardian) -> set[str]:
    """Codes of the athletes this person may see, asked of the database afresh."""
    account = type(person).objects.get(pk=person.pk).user
    assert account is not None
    found = [athlete.code for athlete in Athlete.objects.all().visible_to(account)]
    assert len(found) == len(set(found)), "an athlete is listed twice"
    return set(found)


class TestWhoMaySeeWhom:
    @pytest.fixture(autouse=True)
    def three_children(self, ada: Athlete, bo: Athlete, cy: Athlete) -> None:
        """Ada and Bo, and Cy of another family."""

    def test_coaches_and_leads_see_everyone(self, coach: StaffMember, lead: StaffMember) -> None:
        assert seen_by(coach) == seen_by(lead) == {"ada", "bo", "cy"}

    def test_the_desk_sees_nobodys_skills(self, desk: StaffMember) -> None:
        assert seen_by(desk) == set()

    def test_a_guardian_sees_their_own_child(self, guardian: Guardian, outsider: Guardian) -> None:
        assert seen_by(guardian) == {"ada"}
        assert seen_by(outsider) == {"cy"}

    def test_a_guardian_of_two_sees_both_once(self, ada: Athlete, bo: Athlete) -> None:
        first = makers.make_guardian([ada, bo])
        makers.make_guardian([ada, bo])
        assert seen_by(first) == {"ada", "bo"}

    def test_ending_one_guardianship_ends_that_view_alone(self, ada: Athlete, bo: Athlete) -> None:
        both, other = makers.make_guardian([ada, bo]), makers.make_guardian([ada])
        Guardianship.objects.filter(guardian=both, athlete=ada).update(may_see=False)
        assert seen_by(both) == {"bo"}
        assert seen_by(other) == {"ada"}

    def test_a_guardian_whose_rights_all_ended_sees_nobody(self, ada: Athlete) -> None:
        assert seen_by(makers.make_guardian([ada], may_see=False)) == set()

    def test_staff_who_left_see_nobody(self, coach: StaffMember, lead: StaffMember) -> None:
        StaffMember.objects.update(active=False)
        assert seen_by(coach) == seen_by(lead) == set()

    def test_a_closed_account_sees_nobody(self, coach: StaffMember, guardian: Guardian) -> None:
        for person in (coach, guardian):
            assert person.user is not None
            person.user.is_active = False
            person.user.save()
        assert seen_by(coach) == seen_by(guardian) == set()

    def test_a_desk_parent_sees_their_own_child(self, desk: StaffMember, bo: Athlete) -> None:
        makers.make_guardian([bo], with_user=False, user=desk.user)
        assert seen_by(desk) == {"bo"}

    def test_a_coach_who_left_still_sees_their_own_child(
        self, coach: StaffMember, bo: Athlete
    ) -> None:
        makers.make_guardian([bo], with_user=False, user=coach.user)
        assert seen_by(coach) == {"ada", "bo", "cy"}
        StaffMember.objects.update(active=False)
        assert seen_by(coach) == {"bo"}

    def test_nobody_is_seen_without_signing_in(self) -> None:
        assert not Athlete.objects.all().visible_to(AnonymousUser()).exists()

    def test_an_account_that_is_nobodys_sees_nobody(self) -> None:
        """Looking after the site is no reason to see children."""
        account = makers.make_account(is_superuser=True, is_staff=True)
        assert not Athlete.objects.all().visible_to(account).exists()

    def test_a_narrower_question_stays_narrow(self, coach: StaffMember) -> None:
        assert coach.user is not None
        found = Athlete.objects.filter(code="bo").visible_to(coach.user)
        assert [athlete.code for athlete in found] == ["bo"]


class TestAge:
    @pytest.mark.parametrize(
        ("born", "years"),
        [
            (date(2021, 3, 2), 5),
            (date(2020, 3, 2), 6),
            (date(2013, 3, 2), 13),
            (date(2026, 3, 2), 0),
        ],
    )
    def test_a_child_is_a_year_older_on_the_birthday(
        self, born: date, years: int, today: date
    ) -> None:
        athlete = Athlete(birth_date=born)
        assert athlete.age_on(today) == years
        assert years - 0.01 < athlete.age_on(today - timedelta(days=1)) < years

    def test_it_grows_every_day(self) -> None:
        athlete = Athlete(birth_date=date(2020, 2, 29))
        days = [date(2023, 1, 1) + timedelta(days=number) for number in range(800)]
        ages = [athlete.age_on(day) for day in days]
        assert ages == sorted(set(ages))

    def test_born_on_a_leap_day_it_is_the_first_of_march(self) -> None:
        athlete = Athlete(birth_date=date(2020, 2, 29))
        assert athlete.age_on(date(2025, 2, 28)) < 5
        assert athlete.age_on(date(2025, 3, 1)) == 5

    def test_it_is_unknown_without_a_birth_date(self, today: date) -> None:
        assert Athlete().age_on(today) is None


class TestWhatTheDatabaseRefuses:
    def test_an_athletes_code_is_used_once(self, cy: Athlete, refused: Refusal) -> None:
        with refused(Athlete, "code"):
            Athlete.objects.bulk_create([Athlete(code="cy", tier=cy.tier)])

    def test_nobody_leaves_before_joining(self, tiers: dict[int, Tier], refused: Refusal) -> None:
        with refused(Athlete, "athlete_leaves_after_joining"):
            Athlete.objects.bulk_create(
                [
                    Athlete(
                        code="dan",
                        tier=tiers[1],
                        joined=date(2026, 3, 2),
                        left=date(2026, 3, 1),
                    )
                ]
            )

    def test_a_staff_role_is_known(self, refused: Refusal) -> None:
        with refused(StaffMember, "staff_role_is_known"):
            StaffMember.objects.bulk_create([StaffMember(code="x", name="X", role="owner")])

    def test_a_staff_code_is_used_once(self, coach: StaffMember, refused: Refusal) -> None:
        with refused(StaffMember, "code"):
            StaffMember.objects.bulk_create([StaffMember(code="kim", name="Another Kim")])

    def test_an_account_is_one_member_of_staff(self, coach: StaffMember, refused: Refusal) -> None:
        with refused(StaffMember, "user"):
            StaffMember.objects.bulk_create([StaffMember(code="kim2", name="K", user=coach.user)])

    def test_an_account_is_one_guardian(self, outsider: Guardian, refused: Refusal) -> None:
        with refused(Guardian, "user"):
            Guardian.objects.bulk_create([Guardian(name="Twice", user=outsider.user)])

    def test_a_guardianship_is_written_once(
        self, outsider: Guardian, cy: Athlete, refused: Refusal
    ) -> None:
        with refused(Guardianship, "guardianship_once"):
            Guardianship.objects.bulk_create([Guardianship(guardian=outsider, athlete=cy)])

    def test_a_tier_with_athletes_cannot_be_deleted(self, cy: Athlete) -> None:
        with pytest.raises(ProtectedError):
            cy.tier.delete()


class TestLeaving:
    def test_an_athlete_who_left_is_not_current(self, cy: Athlete, today: date) -> None:
        makers.make_athlete("gone", left=today)
        assert list(Athlete.objects.all().current()) == [cy]

    def test_a_deleted_account_leaves_the_person(self, coach: StaffMember) -> None:
        assert coach.user is not None
        coach.user.delete()
        coach.refresh_from_db()
        assert coach.user is None


def test_records_read_plainly(cy: Athlete, outsider: Guardian) -> None:
    assert str(cy) == "Cy"
    assert str(Athlete(code="A-17")) == "A-17"
    assert str(outsider.guardianships.get()) == "Guardian of Cy for Cy"
    assert str(StaffMember(name="Kim", role=Role.LEAD)) == "Kim"
