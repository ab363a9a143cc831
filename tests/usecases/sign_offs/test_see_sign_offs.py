"""The lead reads recent decisions, the newest first, with what can still be done about each."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.terms import Decision
from progress.models import Athlete, StaffMember
from progress.usecases.sign_offs.see_sign_offs import ROWS_A_PAGE, Decided, see_sign_offs
from tests import makers
from tests.usecases.sign_offs.conftest import NOW, Moving

pytestmark = pytest.mark.django_db

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def seen(now: object = NOW) -> list[Decided]:
    return see_sign_offs(now=now)[1]  # type: ignore[arg-type]


def test_what_the_engine_said_comes_from_the_day_of_the_decision(
    ada: Athlete, move: Moving
) -> None:
    [row] = move(ada)
    [one] = seen(NOW + HOUR)

    assert one.sign_off == row
    assert one.said.decision is Decision.READY
    assert one.said.p_ready == pytest.approx(row.engine_said["p_ready"])
    assert one.said.reasons == ("2 of 2 skills of tier 1 secure",)
    assert one.said.gates == (("Land still on two feet", "secure"),)


def test_for_a_day_it_can_be_undone_and_then_a_new_decision_leads_back(
    ada: Athlete, move: Moving
) -> None:
    move(ada)
    [one] = seen(NOW + DAY)
    assert (one.undo_until, one.may_move_back, one.up) == (NOW + DAY, False, True)
    [one] = seen(NOW + DAY + HOUR)
    assert (one.undo_until, one.may_move_back, one.in_force) == (None, True, True)


def test_an_earlier_an_undone_and_an_overtaken_decision_offer_nothing(
    ada: Athlete, bo: Athlete, cy: Athlete, lead: StaffMember
) -> None:
    back = {"from_tier": makers.make_tier(2), "to_tier": makers.make_tier(1)}
    makers.make_sign_off(ada, lead, decided_at=NOW - 3 * HOUR)
    makers.make_sign_off(ada, lead, decided_at=NOW - 2 * HOUR, **back)
    makers.make_sign_off(bo, lead, decided_at=NOW - HOUR, undone_at=NOW, undone_by=lead)
    makers.make_sign_off(cy, lead, decided_at=NOW)  # and yet in tier 1: changed by hand

    cy_row, bo_row, ada_back, ada_up = seen()

    for one in (cy_row, bo_row, ada_up):
        assert (one.undo_until, one.may_move_back, one.in_force) == (None, False, False)
    assert (ada_back.up, ada_back.in_force, ada_back.may_move_back) == (False, True, False)
    assert ada_back.undo_until is not None


def test_a_snapshot_that_tells_nothing_is_no_trouble(ada: Athlete, lead: StaffMember) -> None:
    makers.make_sign_off(ada, lead, engine_said={"decision": "splendid", "skills": []})
    [one] = seen()
    assert (one.said.decision, one.said.p_ready, one.said.reasons, one.said.gates) == (
        None,
        None,
        (),
        (),
    )


def test_they_come_page_by_page_in_a_fixed_number_of_queries(
    ada: Athlete, lead: StaffMember
) -> None:
    makers.make_sign_off(ada, lead)

    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            for one in seen():
                str([one.sign_off, one.sign_off.from_tier, one.sign_off.decided_by])
        return len(asked)

    before = count()
    for number in range(ROWS_A_PAGE + 3):
        athlete = makers.make_athlete()
        at = NOW + timedelta(minutes=number)
        makers.make_sign_off(athlete, lead, decided_at=at, undone_at=at, undone_by=lead)
    assert count() == before <= 5

    first, second = (see_sign_offs(now=NOW, page=page)[1] for page in (1, 2))
    assert (len(first), len(second)) == (ROWS_A_PAGE, 4)
    moments = [one.sign_off.decided_at for one in first + second]
    assert moments == sorted(moments, reverse=True)
    assert see_sign_offs(now=NOW, page="none")[1] == first
