"""A guardian's progress mail drawn as text and as plain HTML, in the guardian's language."""

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import override

from progress.usecases.families.progress_mail import ProgressMail


def draw_mail(mail: ProgressMail, *, address: str = "") -> EmailMultiAlternatives:
    """The mail, ready to send. ``address``: where the family's page is, where it is known.

    The subject names nobody: it shows on locked phones.
    """
    language = mail.guardian.language
    language = language if language in dict(settings.LANGUAGES) else settings.LANGUAGE_CODE
    with override(language):
        context = {"mail": mail, "address": address, "language": language}
        text = render_to_string("progress/mail/progress.txt", context)
        drawn = EmailMultiAlternatives(
            _("News from the gym"), text.strip() + "\n", None, [mail.guardian.email]
        )
        page = render_to_string("progress/mail/progress.html", context)
        drawn.attach_alternative(page, "text/html")
    return drawn
