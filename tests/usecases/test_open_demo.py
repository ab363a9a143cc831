"""Trying the tool out: made once, kept afterwards, and never among real children."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client
from django.urls import reverse
from pytest_django.plugin import DjangoDbBlocker

from progress.models import Athlete, Attempt, Calibration, GymClass, Role, Skill, StaffMember
from progress.usecases.make_gym import GymNotEmpty
from progress.usecases.open_demo import PASSWORD, Demo, class_tonight, open_demo
from tests import makers

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)  # a Wednesday
ROLES = ("coach", "lead", "desk", "parent")


@pytest.fixture(scope="class")
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Demo]:
    """The demo as opened for the first time, there until the last test of a class is done.

    The engine keeps to its priors: what it learns has tests of its own and takes its time.
    """
    with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock(), transaction.atomic():
        patch.setattr("progress.engine.calibration.FEWEST_ATTEMPTS", 10**9)
        yield open_demo(seed=5, today=TODAY)
        transaction.set_rollback(True)


def signed_in(username: str) -> Client:
    client = Client()
    client.force_login(User.objects.get(username=username))
    return client


class TestTheMadeUpGym:
    def test_there_is_a_gym_calibrated_and_a_class_tonight(self, demo: Demo) -> None:
        assert demo.gym.made
        assert demo.gym.athletes == Athlete.objects.count() == 120
        assert demo.calibration == Calibration.objects.get()
        assert demo.calibration.attempts > 10_000
        assert demo.tonight is not None
        assert demo.tonight.gym_class.weekday == TODAY.weekday()
        assert not demo.tonight.gym_class.small_area
        assert len(demo.tonight.athletes) > 10
        assert demo.tonight.loops

    def test_each_role_has_an_account_that_its_password_opens(self, demo: Demo) -> None:
        assert [sign_in.username for sign_in in demo.sign_ins] == list(ROLES)
        for sign_in in demo.sign_ins:
            assert User.objects.get(username=sign_in.username).check_password(sign_in.password)
        assert [sign_in.who.partition(", ")[2] for sign_in in demo.sign_ins] == [
            "coach",
            "programme lead",
            "front desk",
            "parent",
        ]

    def test_staff_accounts_belong_to_staff_of_that_role(self, demo: Demo) -> None:
        found = StaffMember.objects.exclude(user=None).values_list("user__username", "role")
        assert sorted(found) == [("coach", "coach"), ("desk", "desk"), ("lead", "lead")]

    def test_the_coach_coaches_tonights_class(self, demo: Demo) -> None:
        assert demo.tonight is not None
        coach = StaffMember.objects.get(user__username="coach")
        assert coach in demo.tonight.gym_class.coaches.all()

    def test_the_parent_has_a_child_in_tonights_class_and_may_see_it(self, demo: Demo) -> None:
        assert demo.tonight is not None
        user = User.objects.get(username="parent")
        mine = set(Athlete.objects.visible_to(user))

        assert mine
        assert mine & {row.athlete for row in demo.tonight.athletes}

    def test_the_lead_may_open_the_admin_and_change_every_record(self, demo: Demo) -> None:
        lead = User.objects.get(username="lead")
        assert not lead.is_superuser
        for what in ("athlete", "skill", "hold", "rulebook", "signoff", "staffmember"):
            assert lead.has_perm(f"progress.change_{what}")
        client = signed_in("lead")
        for page in ("index", "progress_athlete_changelist", "progress_hold_add"):
            assert client.get(reverse(f"admin:{page}")).status_code == 200

    @pytest.mark.parametrize("username", ["coach", "desk", "parent"])
    def test_nobody_else_may(self, demo: Demo, username: str) -> None:
        assert signed_in(username).get(reverse("admin:index")).status_code == 302
        assert not User.objects.get(username=username).get_all_permissions()

    # The second time

    def test_what_people_changed_is_kept(self, demo: Demo) -> None:
        Athlete.objects.filter(code="A001").update(name="Somebody Else")
        GymClass.objects.filter(code="hall-1").update(name="Our Wednesday")
        skill = Skill.objects.get(code="LAND-1")
        makers.make_attempt(Athlete.objects.get(code="A002"), skill, at=TODAY)
        attempts = Attempt.objects.count()

        again = open_demo(seed=99, today=TODAY)

        assert not again.gym.made
        assert again.gym.attempts == Attempt.objects.count() == attempts
        assert Athlete.objects.get(code="A001").name == "Somebody Else"
        assert again.tonight is not None
        assert again.tonight.gym_class.name == "Our Wednesday"

    def test_accounts_and_their_passwords_are_kept(self, demo: Demo) -> None:
        coach = User.objects.get(username="coach")
        coach.set_password("our own long secret")
        coach.save()
        lead = User.objects.get(username="lead")
        lead.is_staff = False
        lead.save()
        before = sorted(User.objects.values_list("pk", "username", "password"))

        again = open_demo(seed=5, today=TODAY)

        assert again.sign_ins == demo.sign_ins
        assert sorted(User.objects.values_list("pk", "username", "password")) == before
        assert not User.objects.get(username="lead").is_staff

    @pytest.mark.parametrize("days", range(1, 8))
    def test_on_another_day_the_same_people_keep_their_accounts(
        self, demo: Demo, days: int
    ) -> None:
        """Another class meets then, with other coaches and children."""
        again = open_demo(seed=5, today=TODAY + timedelta(days=days))

        assert again.sign_ins == demo.sign_ins
        assert User.objects.count() == 4

    def test_somebodys_own_account_is_neither_taken_nor_given_rights(self, demo: Demo) -> None:
        """Real staff may work here already: only children and floors stand in the way."""
        User.objects.filter(username__in=ROLES).delete()
        own = makers.make_account("lead")
        anna = makers.make_staff("anna", role=Role.LEAD, user=own)

        again = open_demo(seed=5, today=TODAY)

        assert [sign_in.username for sign_in in again.sign_ins] == ["coach", "desk", "parent"]
        own.refresh_from_db()
        anna.refresh_from_db()
        assert (own.is_staff, anna.user, own.check_password(PASSWORD)) == (False, own, False)


class TestWhereItIsRefused:
    @pytest.mark.parametrize("maker", [makers.make_athlete, makers.make_class, makers.make_setup])
    def test_a_gym_with_records_of_its_own_gets_no_accounts_with_public_passwords(
        self, maker: Callable[[], object]
    ) -> None:
        maker()
        with pytest.raises(GymNotEmpty):
            open_demo(seed=5, today=TODAY)
        assert not User.objects.exists()
        assert not StaffMember.objects.exists()


class TestWhichClassIsShown:
    @pytest.mark.parametrize(
        ("day", "shown"), [(0, "mon"), (1, "thu"), (2, "thu"), (3, "thu"), (4, "mon"), (6, "mon")]
    )
    def test_the_hall_class_that_meets_today_or_next(self, day: int, shown: str) -> None:
        for code, weekday in (("mon", 0), ("thu", 3)):
            makers.make_class(code, weekday=weekday)
        makers.make_class("small", weekday=1, small_area=True)
        makers.make_class("any-day", weekday=None)

        found = class_tonight(makers.TODAY + timedelta(days=day))
        assert found is not None
        assert found.code == shown

    def test_the_youngest_where_there_is_no_other(self) -> None:
        small = makers.make_class(weekday=1, small_area=True)
        assert class_tonight(makers.TODAY) == small

    def test_none_where_there_is_no_class(self) -> None:
        assert class_tonight(makers.TODAY) is None
