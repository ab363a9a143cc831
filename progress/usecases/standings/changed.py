"""Records about some athletes changed: their standings are old, and are worked out again."""

from collections.abc import Collection
from datetime import date

from django.db import connection, transaction

from progress.models import Standing
from progress.usecases.calibrate_gym import is_calibrated
from progress.usecases.standings.basis import basis_of
from progress.usecases.standings.work_out import work_out

MOST_AT_ONCE = 60  # athletes: two big classes; whoever stores more need not wait for the answers


def athletes_changed(*, athletes: Collection[int], today: date) -> None:
    """Note in the caller's transaction that these athletes (by key) changed; mend them after it.

    Call it once for all athletes of a transaction. What is mended is only what they themselves
    rest on, which is exact: with difficulties given nobody's answer depends on another athlete.
    Where mending fails, or where more than MOST_AT_ONCE changed, the standings stay outdated and
    ``bring_up_to_date`` mends them; what the caller stored stays stored.
    """
    chosen = frozenset(athletes)
    note_changed(athletes=chosen)

    def mend() -> None:
        _mend(chosen, today)

    if 0 < len(chosen) <= MOST_AT_ONCE:
        transaction.on_commit(mend, robust=True)


def note_changed(*, athletes: Collection[int]) -> None:
    """Only note it: one UPDATE, and on PostgreSQL the lock before it."""
    # Plain functions and no partial ones below: Django logs a failure by the function's name.
    if not athletes:
        return

    def note_again() -> None:
        _changed(athletes)

    if _changed(athletes) < len(athletes):
        # A standing made from older records while this transaction runs would look fresh.
        transaction.on_commit(note_again, robust=True)


def _changed(athletes: Collection[int]) -> int:
    with transaction.atomic(savepoint=False):
        if connection.features.has_select_for_update:
            # Everybody locks in the same order, so nobody waits in a circle.
            mine = Standing.objects.filter(athlete__in=athletes).order_by("athlete_id")
            list(mine.select_for_update().values_list("pk"))
        return Standing.objects.changed(athletes)


def _mend(athletes: Collection[int], today: date) -> None:
    """Not in a gym that was never calibrated: that takes the whole log, and somebody waits."""
    if is_calibrated(today=today):
        work_out(athletes=athletes, basis=basis_of(today=today), today=today)
