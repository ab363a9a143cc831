"""A guardian's private link: made, opened, run out, revoked; only a digest is kept."""

from datetime import timedelta

import pytest

from progress.models import Athlete, FamilyLink, Guardian, StaffMember
from progress.usecases.families.links import (
    LASTS,
    LinkRefused,
    link_in_force,
    make_link,
    open_link,
    revoke_links,
)
from progress.usecases.families.secrets_kept import digest_of, new_code, new_token
from tests import makers

NOW = makers.moment(hour=12)
DAY = timedelta(days=1)


@pytest.fixture
def parent(ada: Athlete) -> Guardian:
    return makers.make_guardian([ada], with_user=False)


@pytest.fixture
def token(parent: Guardian, coach: StaffMember) -> str:
    return make_link(guardian=parent, staff=coach, now=NOW).token


class TestSecrets:
    def test_are_never_the_same_and_hard_to_guess(self) -> None:
        made = {new_token() for _ in range(200)}
        assert len(made) == 200
        assert all(len(one.replace("-", "")) * 5 >= 128 for one in made)
        assert len({new_code() for _ in range(200)}) > 190

    def test_may_be_typed_in_any_way(self) -> None:
        token = new_token()
        for typed in (token.upper(), token.replace("-", " "), f"  {token}\n"):
            assert digest_of(typed) == digest_of(token)
        assert digest_of("O1l0") == digest_of("0110")

    def test_are_not_kept(self, token: str, parent: Guardian) -> None:
        row = FamilyLink.objects.values().get()
        plain = token.replace("-", "")
        assert not [value for value in row.values() if plain in str(value).replace("-", "")]


class TestOpening:
    def test_the_link_opens_its_guardians_page_again_and_again(
        self, token: str, parent: Guardian
    ) -> None:
        for day in (0, 30, 89):
            link = open_link(token=token, now=NOW + day * DAY)
            assert link is not None
            assert link.guardian == parent
        assert FamilyLink.objects.get().opened_at == NOW + 89 * DAY

    @pytest.mark.parametrize("wrong", ["", "nonsense", "x" * 10_000, "0" * 26, "é🙂"])
    def test_another_secret_opens_nothing(self, token: str, wrong: str) -> None:
        assert open_link(token=wrong, now=NOW) is None

    def test_a_tampered_one_opens_nothing(self, token: str) -> None:
        other = "a" if token[0] != "a" else "b"
        assert open_link(token=other + token[1:], now=NOW) is None
        assert open_link(token=token[:-1], now=NOW) is None

    def test_it_runs_out(self, token: str) -> None:
        assert open_link(token=token, now=NOW + LASTS) is None

    def test_an_opened_page_lasts_as_long_as_the_link(self, token: str) -> None:
        number = FamilyLink.objects.get().pk
        assert link_in_force(number=number, now=NOW + DAY) is not None
        assert link_in_force(number=number, now=NOW + LASTS) is None
        assert link_in_force(number=number + 1, now=NOW) is None


class TestRevoking:
    def test_it_closes_all_of_one_guardian_at_once_and_nobody_elses(
        self, token: str, parent: Guardian, coach: StaffMember, bo: Athlete
    ) -> None:
        other = makers.make_guardian([bo], with_user=False)
        theirs = make_link(guardian=other, staff=coach, now=NOW).token
        again = make_link(guardian=parent, staff=coach, now=NOW).token
        assert revoke_links(guardian=parent, staff=coach, now=NOW + DAY) == 2
        for closed in (token, again):
            assert open_link(token=closed, now=NOW + DAY) is None
        assert open_link(token=theirs, now=NOW + DAY) is not None

    def test_a_new_link_works_after_it(
        self, token: str, parent: Guardian, coach: StaffMember
    ) -> None:
        revoke_links(guardian=parent, staff=coach, now=NOW)
        fresh = make_link(guardian=parent, staff=coach, now=NOW + DAY).token
        assert open_link(token=fresh, now=NOW + DAY) is not None


class TestWhoMayMakeOne:
    def test_nobody_who_has_left(self, parent: Guardian, coach: StaffMember) -> None:
        coach.active = False
        with pytest.raises(LinkRefused, match="staff"):
            make_link(guardian=parent, staff=coach, now=NOW)
        with pytest.raises(LinkRefused, match="staff"):
            revoke_links(guardian=parent, staff=coach, now=NOW)

    def test_none_is_made_that_would_open_nothing(
        self, parent: Guardian, coach: StaffMember
    ) -> None:
        parent.guardianships.update(may_see=False)
        with pytest.raises(LinkRefused, match="open nothing"):
            make_link(guardian=parent, staff=coach, now=NOW)
        assert not FamilyLink.objects.exists()
