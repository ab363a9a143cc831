"""Words that must fit, and places that must not come too near."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from progress.pages.shared.loop_cards import fit, width_of
from progress.pages.shared.loop_paths import settle


class TestFitting:
    @given(st.text(max_size=60), st.floats(30, 300), st.integers(1, 3))
    def test_lines_are_no_wider_and_no_more_than_asked(
        self, words: str, width: float, lines: int
    ) -> None:
        shown, cut = fit(words, width, 12.5, lines)
        assert len(shown) <= lines
        assert all(width_of(line, 12.5) <= width for line in shown)
        if not cut:
            assert " ".join(shown).split() == words.split()

    @given(
        st.lists(st.tuples(st.floats(-50, 150), st.floats(0.5, 4)), min_size=1, max_size=6),
        st.floats(0, 12),
    )
    def test_places_keep_their_order_their_distance_and_their_bounds(
        self, wishes: list[tuple[float, float]], gap: float
    ) -> None:
        where = [wish for wish, _ in wishes]
        weights = [weight for _, weight in wishes]
        places = settle(where, weights, [gap] * (len(where) - 1), 0.0, 100.0)
        assert all(b - a >= gap - 1e-9 for a, b in pairwise(places))
        assert places[0] >= 0
        assert places[-1] <= 100 + 1e-9

    def test_places_too_near_share_the_loss_by_weight(self) -> None:
        assert settle([50.0, 50.0], [1.0, 3.0], [8.0], 0.0, 100.0) == [44.0, 52.0]
