"""Holds, sign-offs, rule books and calibrations."""

from datetime import date, timedelta

import pytest

from progress.engine.rules import HeightRule, Rules
from progress.models import Athlete, Calibration, Hold, RuleBook, SignOff, StaffMember, Tier
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


class TestRuleBooks:
    def test_a_new_gym_has_the_defaults(self, db: None) -> None:
        assert RuleBook.in_force() == Rules()

    def test_the_highest_version_is_in_force(self, db: None) -> None:
        for version, ready_at in ((3, 0.8), (2, 0.7)):
            values = Rules(ready_at=ready_at).as_json()
            RuleBook.objects.create(version=version, values=values)
        assert RuleBook.in_force() == Rules(version=3, ready_at=0.8)

    def test_values_come_back_from_the_database_as_they_went_in(self, db: None) -> None:
        rules = Rules(version=2, height_rules=(HeightRule(0.5, ("LAND-1", "LAND-2")),))
        RuleBook.objects.create(version=2, values=rules.as_json())
        assert RuleBook.in_force() == rules

    def test_an_older_book_takes_defaults_for_rules_made_since(self, db: None) -> None:
        RuleBook.objects.create(version=2, values={"ready_at": 0.9, "a_rule_since_dropped": 1})
        assert RuleBook.in_force() == Rules(version=2, ready_at=0.9)

    def test_values_the_engine_could_not_use_are_refused(self) -> None:
        with pytest.raises(ValueError, match="building_at must be below ready_at"):
            RuleBook(version=2, values={"building_at": 0.9}).clean()

    def test_a_version_is_used_once(self, refused: Refusal) -> None:
        RuleBook.objects.create(version=1, values={})
        with refused(RuleBook, "version"):
            RuleBook.objects.bulk_create([RuleBook(version=1, values={})])


class TestCalibrations:
    def test_the_same_rows_are_calibrated_once(self, today: date, refused: Refusal) -> None:
        same = {"cutoff": today, "engine_version": "1", "fingerprint": "f" * 64, "attempts": 9}
        Calibration.objects.create(**same, values={})
        with refused(Calibration, "calibrated_once"):
            Calibration.objects.bulk_create([Calibration(**same, values={"b": [0.1]})])

    def test_the_newest_comes_first(self, db: None, today: date) -> None:
        for age, print_ in ((1, "b"), (9, "a"), (1, "c")):
            Calibration.objects.create(
                cutoff=today - age * DAY,
                engine_version="1",
                fingerprint=print_,
                attempts=5,
                values={},
            )
        assert [one.fingerprint for one in Calibration.objects.all()] == ["c", "b", "a"]


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
