"""How a family's page is opened: by a private link with one tap, or by a code sent by mail.

The secret stands behind the # of the address. Browsers keep that part to themselves, so it comes
into no server's log and no referrer; a mail scanner that follows the link opens nothing. Whatever
does not open is answered with one and the same page.
"""

import logging

from django.core.cache import cache
from django.core.mail import send_mail
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from progress.models import FamilyLink
from progress.pages.shared.access import FAMILY_LINK
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.families.codes import CodeToSend, ask_for_codes, open_with_code
from progress.usecases.families.links import open_link

log = logging.getLogger(__name__)

MOST_WRONG = 60  # wrong secrets a minute from one address; right ones open all the same
MINUTE = 60


@in_the_familys_language
@never_cache
@sensitive_post_parameters("token")
def family_open(request: HttpRequest) -> HttpResponse:
    """Ask for one tap, then open the page that the link is for."""
    if request.method != "POST":
        ran_out = request.session.pop(FAMILY_LINK, None) is not None
        return render(request, "progress/family/open.html", {"ran_out": ran_out})
    link = open_link(token=request.POST.get("token", ""), now=timezone.now())
    if link is None:
        return _does_not_open(request)
    return _start(request, link)


@in_the_familys_language
@never_cache
def family_code(request: HttpRequest) -> HttpResponse:
    """Send a code to an address. The answer is the same whether the address is known or not."""
    if request.method != "POST":
        return render(request, "progress/family/code.html")
    email = request.POST.get("email", "")[:254]
    for one in ask_for_codes(email=email, now=timezone.now()):
        try:
            _send(one, request)
        except OSError:  # SMTP errors are among them. The answer must not tell known from unknown.
            log.exception("A code could not be sent by mail")
    return render(request, "progress/family/code_enter.html", {"email": email})


@in_the_familys_language
@never_cache
@require_POST
@sensitive_post_parameters("code")
def family_code_enter(request: HttpRequest) -> HttpResponse:
    """Open the page with the code from the mail."""
    email, code = request.POST.get("email", "")[:254], request.POST.get("code", "")[:40]
    link = open_with_code(email=email, code=code, now=timezone.now())
    if link is None:
        return _does_not_open(request)
    return _start(request, link)


@require_POST
def family_close(request: HttpRequest) -> HttpResponse:
    """Close the page on this phone; the link goes on working."""
    request.session.flush()
    return redirect("family_open")


def _start(request: HttpRequest, link: FamilyLink) -> HttpResponse:
    """Begin a session of its own: nothing of whoever used this browser before is kept."""
    request.session.flush()
    request.session[FAMILY_LINK] = link.pk
    return redirect("family_page")


def _does_not_open(request: HttpRequest) -> HttpResponse:
    key = f"family-open-{request.META.get('REMOTE_ADDR', '')}"
    cache.add(key, 0, MINUTE)
    try:
        wrong = cache.incr(key)
    except ValueError:  # It ran out between the two lines.
        wrong = 1
    status = 429 if wrong > MOST_WRONG else 404
    context = {"refused": True, "slower": status == 429}
    return render(request, "progress/family/open.html", context, status=status)


def _send(one: CodeToSend, request: HttpRequest) -> None:
    """The mail names no child; its subject names nobody."""
    address = request.build_absolute_uri(reverse("family_code"))
    with override(one.guardian.language or None):
        words = _(
            "Your code is %(code)s. It opens your page once, in the next ten minutes.\n"
            "Type it in on the page where you asked for it: %(address)s\n"
            "If you did not ask for a code, you can throw this mail away."
        )
        send_mail(
            _("Your code for the gym's page"),
            words % {"code": one.code, "address": address},
            None,
            [one.guardian.email],
        )
