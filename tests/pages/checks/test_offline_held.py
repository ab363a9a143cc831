"""Tries the queue has to hold: undone, corrected, refused, another coach's."""

import pytest
from playwright.sync_api import BrowserContext

from tests.pages.checks.conftest import Hall, sign_in
from tests.pages.checks.phones import (
    Phone,
    ask,
    kept,
    open_sheet,
    put,
    ready,
    record_all,
    says,
)

CORRECTIONS = "SELECT count(*) FROM progress_attempt WHERE supersedes_id IS NOT NULL"


@pytest.fixture
def kims(bare_hall: Hall, phone: Phone) -> BrowserContext:
    """Kim's phone."""
    return phone(bare_hall, "kim")


class TestUndoing:
    def test_a_try_that_was_never_sent_is_removed(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        uid, other = put(page), put(page, athlete="A01")

        assert ask(page, "remove", uid) is True
        assert [entry["uid"] for entry in ask(page, "list")] == [other]

    def test_a_try_that_was_sent_is_not(self, bare_hall: Hall, kims: BrowserContext) -> None:
        page = open_sheet(kims, bare_hall)
        uid = put(page)
        says(page, "saved")

        assert ask(page, "remove", uid) is False

    def test_neither_is_one_whose_answer_never_came(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        """It may be stored: then only a correction takes it back."""
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        uid = put(page)
        bare_hall.die("before-answer")
        kims.set_offline(False)
        bare_hall.died()
        says(page, "1 waiting")

        assert ask(page, "remove", uid) is False
        put(page, supersedes=uid, taken_back=True)
        bare_hall.start()

        says(page, "saved, 0 waiting, 0 refused")
        assert len(bare_hall.stored()) == 2
        assert bare_hall.ask(CORRECTIONS) == [(1,)]

    def test_one_that_was_certainly_not_stored_is_removed_though_it_went_out(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        answer = {"problems": [{"uid": "", "what": "There is no such class any more"}]}
        kims.route("**/checks/send/", lambda route: route.fulfill(status=404, json=answer))
        uid = put(page)
        says(page, "refused, 1 waiting, 1 refused")

        assert ask(page, "remove", uid) is True

    def test_a_correction_waits_until_the_try_it_corrects_is_stored(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        uid = put(page)
        better = put(page, result="miss", supersedes=uid)
        put(page, supersedes=better, taken_back=True)
        kims.set_offline(False)

        says(page, "saved, 0 waiting, 0 refused")
        assert bare_hall.ask(CORRECTIONS) == [(2,)]


class TestRefusals:
    def test_a_uid_with_other_content_is_refused_and_the_rest_is_stored(
        self, bare_hall: Hall, kims: BrowserContext, phone: Phone
    ) -> None:
        first = open_sheet(kims, bare_hall)
        put(first, uid="ab" * 16)
        says(first, "saved")
        page = open_sheet(phone(bare_hall, "kim"), bare_hall)
        put(page, uid="ab" * 16, result="miss")
        record_all(page)

        ask(page, "send")  # the rest goes at once, not after a pause

        assert len(bare_hall.stored()) == 73
        says(page, "refused, 0 waiting, 1 refused")
        [refused] = page.evaluate("window.gymNews.refused")
        assert refused["uid"] == "ab" * 16
        assert "stored before with other content" in refused["what"][0]

        assert ask(page, "discard", "ab" * 16) is True
        says(page, "saved, 0 waiting, 0 refused")
        assert kept(page) == []

    def test_a_refused_try_is_still_there_after_a_reload_and_can_be_sent_again(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        uid = put(page, athlete="B00")  # a child of the other class
        says(page, "refused, 0 waiting, 1 refused")
        page.reload()
        ready(page)
        says(page, "refused, 0 waiting, 1 refused")
        bare_hall.ask("UPDATE progress_enrolment SET gym_class_id = 1")

        ask(page, "retry", uid)

        says(page, "saved, 0 waiting, 0 refused")

    def test_a_correction_of_something_corrected_meanwhile_is_told(
        self, bare_hall: Hall, kims: BrowserContext, phone: Phone
    ) -> None:
        page = open_sheet(kims, bare_hall)
        uid = put(page)
        says(page, "saved")
        kims.set_offline(True)
        put(page, supersedes=uid, taken_back=True)
        sams = open_sheet(phone(bare_hall, "sam"), bare_hall)
        put(sams, supersedes=uid, result="assisted")
        says(sams, "saved")
        kims.set_offline(False)

        says(page, "1 refused")
        assert "corrected in the meantime" in page.evaluate("window.gymNews.refused[0].what[0]")


class TestWhoIsSignedIn:
    def test_an_ended_session_asks_to_sign_in_and_then_everything_is_sent(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        record_all(page)
        bare_hall.end_session("kim")
        kims.set_offline(False)
        says(page, "sign-in, 72 waiting")

        page.goto(bare_hall.url + page.evaluate("window.gymNews.signIn"))
        page.get_by_label("Username").fill("kim")
        page.get_by_label("Password").fill("correct horse battery")
        page.get_by_role("button", name="Sign in").click()

        ready(page)
        says(page, "saved, 0 waiting, 0 refused")
        assert len(set(bare_hall.stored())) == len(bare_hall.stored()) == 72

    def test_a_token_that_went_stale_is_fetched_again(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        token = {"token": "a" * 64, "coach": "kim"}
        kims.route("**/checks/token/", lambda route: route.fulfill(json=token), times=1)
        put(page)

        ask(page, "send")

        assert len(bare_hall.stored()) == 1

    def test_on_a_shared_tablet_nobodys_tries_are_stored_under_anothers_name(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        put(page)
        sign_in(kims, bare_hall, "sam")
        kims.set_offline(False)
        says(page, "sign-in, 1 waiting")

        sams = open_sheet(kims, bare_hall)
        put(sams, athlete="A01")
        says(sams, "saved, 0 waiting, 0 refused, 1 by others")
        assert bare_hall.stored() == [("A01", "SKILL-0", "clean", "sam")]

        sign_in(kims, bare_hall, "kim")
        says(open_sheet(kims, bare_hall), "saved, 0 waiting, 0 refused, 0 by others")
        assert ("A00", "SKILL-0", "clean", "kim") in bare_hall.stored()

    def test_somebody_who_may_not_record_loses_nothing_of_the_coach(
        self, bare_hall: Hall, kims: BrowserContext
    ) -> None:
        page = open_sheet(kims, bare_hall)
        kims.set_offline(True)
        put(page)
        sign_in(kims, bare_hall, "dee")
        kims.set_offline(False)
        says(page, "refused, 1 waiting, 1 refused")

        sign_in(kims, bare_hall, "kim")
        ask(page, "send")

        says(page, "saved, 0 waiting, 0 refused")
