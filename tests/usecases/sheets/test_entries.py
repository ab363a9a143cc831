"""Entries of a sheet, and how a refusal of them reads."""

from dataclasses import FrozenInstanceError

import pytest

from progress.usecases.sheets.entries import ChecksRefused, Entry, Problem


def test_a_problem_names_its_entry_and_one_of_the_whole_sending_stands_alone() -> None:
    assert str(Problem(3, "u3", "its time has no zone")) == "Entry 3: its time has no zone."
    assert str(Problem(0, "", "Only a coach may.")) == "Only a coach may."


def test_a_refusal_says_every_problem_and_keeps_which_entry_it_was() -> None:
    found = [Problem(number, f"u{number}", "no") for number in range(1, 8)]
    refused = ChecksRefused(found)

    assert refused.found == tuple(found)
    assert refused.problems == [f"Entry {number}: no." for number in range(1, 8)]


def test_the_message_of_a_refusal_stays_short() -> None:
    refused = ChecksRefused([Problem(number, "u", "no") for number in range(1, 100)])
    assert str(refused) == "; ".join(f"Entry {number}: no." for number in range(1, 6))


def test_a_plain_entry_is_a_try_made_now_that_corrects_nothing() -> None:
    entry = Entry("u1", "ada", "LAND-1", "clean")
    assert (entry.at, entry.supersedes, entry.taken_back) == (None, None, False)
    assert (entry.variant, entry.note, entry.reason) == (None, "", "")


def test_an_entry_cannot_be_changed_after_it_was_made() -> None:
    with pytest.raises(FrozenInstanceError):
        Entry("u1", "ada", "LAND-1", "clean").result = "miss"  # type: ignore[misc]
