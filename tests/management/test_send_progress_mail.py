"""``manage.py send_progress_mail``: who gets what, in which language, and what a crash does."""

from collections.abc import Callable
from datetime import datetime
from io import StringIO
from smtplib import SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core import mail
from django.core.mail import EmailMultiAlternatives
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import call_command
from django.core.management.base import CommandError

from progress.models import Athlete, Guardian, MailSent
from progress.usecases.families.consents import give_consent
from tests import makers

NOW = makers.moment(hour=12)
Break = Callable[[str], Exception | None]


@pytest.fixture
def families(ada: Athlete, bo: Athlete, stopped_clock: datetime) -> list[Guardian]:
    """Three guardians who said yes, one with two children, and one who did not."""
    found = []
    for name, children in (("Pat", [ada]), ("Sam", [ada, bo]), ("Kit", [bo])):
        guardian = makers.make_guardian(
            children, name=name, with_user=False, email=f"{name.lower()}@example.org"
        )
        for child in children:
            give_consent(guardian=guardian, athlete=child, kind="mail", version=1, now=NOW)
        found.append(guardian)
    makers.make_guardian([ada], name="Nay", with_user=False, email="nay@example.org")
    return found


def run(*options: str) -> str:
    out, err = StringIO(), StringIO()
    call_command("send_progress_mail", "--period", "month", *options, stdout=out, stderr=err)
    return out.getvalue() + err.getvalue()


def sent_to() -> list[str]:
    return sorted(address for one in mail.outbox for address in one.to)


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Callable[[Break], None]:
    """Let the mail server fail for some addresses."""

    def breaks(how: Break) -> None:
        takes = EmailBackend.send_messages

        def send_messages(self: EmailBackend, messages: list[EmailMultiAlternatives]) -> int:
            error = how(messages[0].to[0])
            if error is not None:
                raise error
            return takes(self, messages)

        monkeypatch.setattr(EmailBackend, "send_messages", send_messages)

    return breaks


def test_each_guardian_who_said_yes_gets_one_mail(families: list[Guardian]) -> None:
    told = run()
    assert sent_to() == ["kit@example.org", "pat@example.org", "sam@example.org"]
    assert "Period 2026-03: 3 guardians asked for mail." in told
    assert MailSent.objects.filter(sent_at__isnull=False).count() == 3


def test_the_subject_names_nobody_and_the_text_says_what_and_how_to_stop(
    families: list[Guardian],
) -> None:
    run("--address", "https://gym.example.org/family/open/")
    for one in mail.outbox:
        assert one.subject == "News from the gym"
    [pats] = [one for one in mail.outbox if one.to == ["pat@example.org"]]
    [(html, kind)] = pats.alternatives  # type: ignore[attr-defined]
    assert kind == "text/html"
    for text in (pats.body, html):
        assert "Ada" in text
        assert "Bo" not in text
        assert "Land still on two feet" in text
        assert "take back your yes" in text
        assert "https://gym.example.org/family/open/" in text
    assert "style" not in html


def test_a_name_is_written_as_it_is_and_runs_nothing(
    families: list[Guardian], ada: Athlete
) -> None:
    Athlete.objects.filter(pk=ada.pk).update(shown_as="<b>O'Ada & Co</b>")
    run()
    [pats] = [one for one in mail.outbox if one.to == ["pat@example.org"]]
    assert "<b>O'Ada & Co</b>" in pats.body
    assert "<b>" not in pats.alternatives[0][0]  # type: ignore[attr-defined]


def test_each_reads_it_in_their_language(families: list[Guardian]) -> None:
    Guardian.objects.filter(name="Kit").update(language="es")
    Guardian.objects.filter(name="Sam").update(language="xx")
    run()
    langs = {
        one.to[0][:3]: one.alternatives[0][0].split('lang="')[1][:2]  # type: ignore[attr-defined]
        for one in mail.outbox
    }
    assert langs == {"kit": "es", "sam": "en", "pat": "en"}


def test_a_dry_run_sends_and_stores_nothing(families: list[Guardian]) -> None:
    told = run("--dry-run")
    assert mail.outbox == []
    assert not MailSent.objects.exists()
    assert "to send" in told
    assert " 3\n" in told


def test_running_it_again_sends_nothing_twice(families: list[Guardian]) -> None:
    run()
    told = run()
    assert len(mail.outbox) == 3
    assert "sent before" in told


def test_the_next_month_goes_out(families: list[Guardian]) -> None:
    run()
    run("--as-of", "2026-04-01")
    assert len(mail.outbox) == 6


def test_after_a_crash_it_goes_on_and_sends_nobody_two(
    families: list[Guardian], server: Callable[[Break], None]
) -> None:
    """The run dies between handing the second mail over and noting it."""
    taken: list[str] = []

    def dies(address: str) -> Exception | None:
        taken.append(address)
        return KeyboardInterrupt() if len(taken) == 2 else None  # type: ignore[return-value]

    server(dies)
    with pytest.raises(KeyboardInterrupt):
        run()
    told = run()
    assert len(taken) == len(set(taken)) == 3
    assert "broke off" in told


def test_a_refused_address_is_noted_does_not_stop_the_rest_and_is_tried_again(
    families: list[Guardian], server: Callable[[Break], None]
) -> None:
    refusing = ["pat@example.org"]

    def refuse(address: str) -> Exception | None:
        return SMTPRecipientsRefused({address: (550, b"no")}) if address in refusing else None

    server(refuse)
    told = run()
    assert sent_to() == ["kit@example.org", "sam@example.org"]
    assert "refused" in told
    assert "SMTPRecipientsRefused" in MailSent.objects.get(guardian__name="Pat").failed
    refusing.clear()
    run()
    assert sent_to() == ["kit@example.org", "pat@example.org", "sam@example.org"]


@pytest.mark.parametrize("broken", ["no address", "a@b\nBcc: c@example.org"])
def test_a_broken_address_is_noted_and_the_rest_go_out(
    families: list[Guardian], broken: str
) -> None:
    Guardian.objects.filter(name="Sam").update(email=broken)
    told = run()
    assert {"kit@example.org", "pat@example.org"} <= set(sent_to())
    assert "c@example.org" not in sent_to()
    assert "sent" in told


def test_a_server_that_hangs_up_may_have_taken_it_so_it_is_not_sent_again(
    families: list[Guardian], server: Callable[[Break], None]
) -> None:
    tried: list[str] = []

    def hang_up(address: str) -> Exception | None:
        tried.append(address)
        return SMTPServerDisconnected("gone") if address == "sam@example.org" else None

    server(hang_up)
    run()
    run()
    assert sorted(tried) == ["kit@example.org", "pat@example.org", "sam@example.org"]


def test_without_a_server_nothing_is_claimed(
    families: list[Guardian], monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreachable(self: EmailBackend) -> None:
        raise ConnectionRefusedError("refused")

    monkeypatch.setattr(EmailBackend, "open", unreachable)
    with pytest.raises(CommandError, match="cannot be reached"):
        run()
    assert not MailSent.objects.exists()


def test_a_day_that_is_none_is_said(families: list[Guardian]) -> None:
    with pytest.raises(CommandError, match="YYYY-MM-DD"):
        run("--as-of", "yesterday")
