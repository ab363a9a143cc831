"""``manage.py send_progress_mail --period month|term``: run by a timer, safe to run again."""

from collections import Counter
from datetime import date
from smtplib import SMTPException, SMTPServerDisconnected
from typing import Any

from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from progress.pages.mail.progress_mail import draw_mail
from progress.usecases.families.progress_mail import (
    Claim,
    Period,
    claim_mail,
    claim_state,
    guardians_to_mail,
    mail_for,
    mark_refused,
    mark_sent,
    period_name,
)

SENT, REFUSED, WITHDRAWN, BROKEN_OFF = "sent", "refused", "nothing to send any more", "broken off"


class Command(BaseCommand):
    """Send each guardian who said yes one mail for the period."""

    help = "Mail guardians who asked for it how their children get on: one mail a period."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--period", required=True, choices=[one.value for one in Period])
        parser.add_argument("--as-of", help="Day as YYYY-MM-DD; today if left out.")
        parser.add_argument("--dry-run", action="store_true", help="Count; send and store nothing.")
        parser.add_argument("--address", default="", help="Where families open their page.")

    def handle(self, *args: Any, **options: Any) -> None:
        as_of = _day(options["as_of"]) if options["as_of"] else timezone.localdate()
        period = period_name(Period(options["period"]), as_of)
        guardians = guardians_to_mail(as_of=as_of)
        if options["dry_run"]:
            counts = _count(guardians, period)
        else:
            counts = self._send_all(guardians, period, as_of, options["address"])
        self.stdout.write(f"Period {period}: {len(guardians)} guardians asked for mail.")
        for what, number in sorted(counts.items()):
            self.stdout.write(f"  {what:<42} {number:>6}")

    def _send_all(
        self, guardians: list[int], period: str, as_of: date, address: str
    ) -> Counter[str]:
        counts: Counter[str] = Counter()
        connection = _connect()
        try:
            for guardian in guardians:
                counts[self._one(connection, guardian, period, as_of, address)] += 1
        finally:
            connection.close()
        return counts

    def _one(
        self,
        connection: BaseEmailBackend,
        guardian: int,
        period: str,
        as_of: date,
        address: str,
    ) -> str:
        """Send one guardian's mail; say what came of it."""
        state = claim_state(guardian=guardian, period=period)
        if state is not Claim.OURS:
            return state.value
        mail = mail_for(guardian=guardian, as_of=as_of)
        if mail is None:
            return WITHDRAWN
        # Drawn before it is claimed: what cannot be drawn is surely not sent.
        message = draw_mail(mail, address=address)
        claim = claim_mail(guardian=guardian, period=period, now=timezone.now())
        if claim is not Claim.OURS:
            return claim.value
        return self._hand_over(connection, message, guardian, period)

    def _hand_over(
        self,
        connection: BaseEmailBackend,
        message: EmailMultiAlternatives,
        guardian: int,
        period: str,
    ) -> str:
        """A server that hangs up may have taken the mail: it is not sent again. A refusal may."""
        message.connection = connection
        try:
            message.send()
        except SMTPServerDisconnected as error:
            return self._broken_off(connection, guardian, error)
        except (SMTPException, ValueError) as error:
            return self._refused(guardian, period, error)
        except OSError as error:
            return self._broken_off(connection, guardian, error)
        mark_sent(guardian=guardian, period=period, now=timezone.now())
        return SENT

    def _broken_off(self, connection: BaseEmailBackend, guardian: int, error: OSError) -> str:
        self.stderr.write(f"Guardian {guardian}: the mail server hung up ({error}).")
        connection.close()
        _open(connection)
        return BROKEN_OFF

    def _refused(self, guardian: int, period: str, error: Exception) -> str:
        mark_refused(guardian=guardian, period=period, why=f"{type(error).__name__}: {error}")
        self.stderr.write(f"Guardian {guardian}: the address was refused.")
        return REFUSED


def _connect() -> BaseEmailBackend:
    """A mail server that cannot be reached stops the run before anything is claimed."""
    connection = get_connection()
    _open(connection)
    return connection


def _open(connection: BaseEmailBackend) -> None:
    try:
        connection.open()
    except (OSError, SMTPException) as error:
        raise CommandError(f"The mail server cannot be reached: {error}. Run it again.") from None


def _count(guardians: list[int], period: str) -> Counter[str]:
    """What a run would do; nothing is sent or stored."""
    return Counter(claim_state(guardian=one, period=period).value for one in guardians)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"{text!r} is not a day. Write it as YYYY-MM-DD.") from None
