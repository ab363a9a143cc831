"""Holds and sign-offs."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, Hold, SignOff, StaffMember, Tier
from tests import makers
from tests.models.conftest import Refusal

DAY = timedelta(days=1)


@pytest.fixture
def sign_off(cy: Athlete, lead: StaffMember, tiers: dict[int, Tier]) -> SignOff:
    """Not stored yet: Cy from tier 1 to tier 2."""
    return SignOff(
        athlete=cy,
        from_tier=tiers[1],
        to_tier=tiers[2],
        decided_by=lead,
        sentence="Lands and hangs as it should be.",
        engine_said={"decision": "ready", "p_ready": 0.81},
        engine_version="1",
        rules_version=1,
    )


class TestHolds:
    def test_one_is_in_force_from_its_first_day_until_the_day_back(
        self, cy: Athlete, today: date
    ) -> None:
        makers.make_hold(cy, starts=today, lifted=today + 7 * DAY)
        days = (today - DAY, today, today + 6 * DAY, today + 7 * DAY)
        assert [Hold.objects.on(day).exists() for day in days] == [False, True, True, False]

    def test_the_day_to_ask_again_lifts_nothing(self, cy: Athlete, today: date) -> None:
        hold = makers.make_hold(cy, starts=today - 30 * DAY, review=today - 2 * DAY)
        assert list(Hold.objects.on(today)) == [hold]
        assert list(Hold.objects.on(today + 999 * DAY)) == [hold]

    def test_one_lifted_the_day_it_was_set_never_was(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy, starts=today, lifted=today)
        assert not Hold.objects.on(today).exists()

    def test_one_cannot_be_lifted_before_it_starts(
        self, cy: Athlete, today: date, refused: Refusal
    ) -> None:
        with refused(Hold, "hold_lifted_after_start"):
            Hold.objects.bulk_create(
                [Hold(athlete=cy, starts=today, lifted=today - DAY, kind="wish")]
            )

    def test_its_kind_is_one_of_the_neutral_ones(
        self, cy: Athlete, today: date, refused: Refusal
    ) -> None:
        with refused(Hold, "hold_kind_is_known"):
            Hold.objects.bulk_create([Hold(athlete=cy, starts=today, kind="ankle")])


class TestSignOffs:
    def test_one_keeps_what_the_engine_said(self, sign_off: SignOff) -> None:
        sign_off.save()
        stored = SignOff.objects.get()
        assert stored.snapshot() == {"decision": "ready", "p_ready": 0.81}
        stored.snapshot()["decision"] = "building"
        assert stored.snapshot()["decision"] == "ready"

    def test_one_names_two_tiers(self, sign_off: SignOff, refused: Refusal) -> None:
        sign_off.to_tier = sign_off.from_tier
        with refused(SignOff, "sign_off_changes_tier"):
            SignOff.objects.bulk_create([sign_off])

    def test_one_says_why(self, sign_off: SignOff, refused: Refusal) -> None:
        sign_off.sentence = ""
        with refused(SignOff, "sign_off_says_why"):
            SignOff.objects.bulk_create([sign_off])

    def test_one_reads_plainly(self, sign_off: SignOff) -> None:
        assert str(sign_off) == "Cy: tier 1 to 2"

    def test_one_is_undone_by_somebody_at_some_time(
        self, sign_off: SignOff, lead: StaffMember, refused: Refusal
    ) -> None:
        sign_off.undone_by = lead
        with refused(SignOff, "sign_off_undone_by_somebody"):
            SignOff.objects.bulk_create([sign_off])

    def test_one_undone_no_longer_stands_and_is_no_last_move(
        self, sign_off: SignOff, cy: Athlete, lead: StaffMember
    ) -> None:
        sign_off.save()
        assert list(SignOff.objects.standing()) == [sign_off]
        assert Athlete.objects.with_last_move().get(pk=cy.pk).last_move == sign_off.pk
        sign_off.undone_by, sign_off.undone_at = lead, sign_off.decided_at
        sign_off.save()
        assert not SignOff.objects.standing().exists()
        assert Athlete.objects.with_last_move().get(pk=cy.pk).last_move is None
