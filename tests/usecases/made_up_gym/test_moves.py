"""The made-up moves up: decisions that the log, the registers and the tiers of today bear out."""

from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise

import pytest
from django.utils import timezone

from progress.models import Athlete, GymClass, RegisterEntry, Role, SignOff
from progress.usecases.load_catalogue import starter_catalogue
from progress.usecases.made_up_gym.plan import GymPlan, plan_gym
from progress.usecases.made_up_gym.scenario import made_up_scenario

DEMO_SEED = 2026


@pytest.mark.django_db
@pytest.mark.usefixtures("gym")
class TestStored:
    def test_a_believable_share_of_children_moved_up_in_every_term(self, today: date) -> None:
        moved = SignOff.objects.standing().values("athlete").distinct().count()
        assert 25 <= moved <= 50
        weeks_ago = [(today - one.decided_at.date()).days / 7 for one in SignOff.objects.all()]
        for term in ((0, 12), (14, 26), (29, 41)):
            assert any(term[0] < weeks < term[1] for weeks in weeks_ago)
        assert min(weeks_ago) < 5

    def test_moves_lead_tier_by_tier_to_the_one_the_child_is_in_today(self) -> None:
        chains = defaultdict(list)
        for one in SignOff.objects.standing().order_by("decided_at"):
            chains[one.athlete_id].append((one.from_tier_id, one.to_tier_id))
        assert any(len(chain) == 2 for chain in chains.values())
        for athlete in Athlete.objects.filter(pk__in=chains):
            chain = chains[athlete.pk]
            assert chain[-1][1] == athlete.tier_id
            assert all(up == low + 1 for low, up in chain)
            assert all(first[1] == second[0] for first, second in pairwise(chain))

    def test_a_decision_falls_on_a_class_day_when_the_child_was_there_and_not_new(
        self, today: date
    ) -> None:
        came = set(
            RegisterEntry.objects.filter(present=True).values_list("athlete", "meeting__day")
        )
        for one in SignOff.objects.select_related("athlete"):
            day = timezone.localtime(one.decided_at).date()
            assert (one.athlete_id, day) in came
            assert one.athlete.joined + timedelta(days=28) <= day < today
            assert one.to_tier_id == 1 or (one.athlete.age_on(day) or 0) >= 5

    def test_the_tier_that_was_left_had_been_tried_before(self) -> None:
        for one in SignOff.objects.select_related("athlete"):
            tried = one.athlete.attempts.filter(skill__tier=one.from_tier_id, at__lt=one.decided_at)
            assert tried.count() >= 3

    def test_the_lead_decided_says_why_and_the_snapshot_pretends_nothing(self) -> None:
        for one in SignOff.objects.select_related("decided_by"):
            assert one.decided_by.role == Role.LEAD
            assert one.sentence
            assert set(one.snapshot()) == {"as_of", "note"}
            assert one.snapshot()["as_of"] == timezone.localtime(one.decided_at).date().isoformat()

    def test_one_decision_was_undone_within_a_day_and_taken_again_later(self) -> None:
        undone = SignOff.objects.get(undone_at__isnull=False)
        assert undone.undone_at - undone.decided_at < timedelta(days=1)
        again = undone.athlete.sign_offs.standing().get(to_tier=undone.to_tier_id)
        assert again.decided_at > undone.decided_at + timedelta(weeks=3)

    def test_later_decisions_have_later_keys_so_the_last_one_is_on_the_certificate(self) -> None:
        decided = list(SignOff.objects.order_by("pk").values_list("decided_at", flat=True))
        assert decided == sorted(decided)

    def test_some_classes_are_for_tiers_and_some_have_no_place_left(self, today: date) -> None:
        tiers = {
            each.code: sorted(each.tiers.values_list("number", flat=True))
            for each in GymClass.objects.filter(tiers__isnull=False).distinct()
        }
        assert tiers == {"small-1": [1], "small-2": [1], "hall-3": [1, 2], "hall-4": [1, 2]}
        left = {
            each.code: each.places - each.athletes_on(today).count()
            for each in GymClass.objects.filter(places__isnull=False)
        }
        assert len(left) == 5
        assert sorted(left.values())[:3] == [0, 0, 1]


def planned(seed: int, today: date) -> GymPlan:
    return plan_gym(
        seed=seed, today=today, catalogue=starter_catalogue(), scenario=made_up_scenario()
    )


def waiting(plan: GymPlan) -> list[str]:
    """Children whose last move led out of the tiers of their class and who do not stay."""
    children = {child.code: child for child in plan.children}
    last = {move.athlete: move for move in plan.moves if move.undone_at is None}
    return [
        code
        for code, move in last.items()
        if children[code].class_.tiers
        and move.to_tier not in children[code].class_.tiers
        and not move.stays
    ]


@pytest.mark.parametrize("ahead", [0, 1, 10, 51])
def test_in_the_demo_two_or_three_wait_for_a_place_on_whatever_day(today: date, ahead: int) -> None:
    plan = planned(DEMO_SEED, today + timedelta(days=ahead))
    assert 2 <= len(waiting(plan)) <= 3


def test_the_same_seed_moves_the_same_children_and_another_others(today: date) -> None:
    assert planned(3, today).moves == planned(3, today).moves
    assert planned(3, today).moves != planned(4, today).moves
