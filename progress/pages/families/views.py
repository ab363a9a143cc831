"""For staff: families, what each guardian may see, and their private links."""

import segno
from django.contrib import messages
from django.core.mail import send_mail
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import override
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from progress.models import Guardian, Guardianship, Role, StaffMember
from progress.pages.shared.access import staff_only
from progress.usecases.families.consents import standing_consents
from progress.usecases.families.links import LinkRefused, NewLink, make_link, revoke_links
from progress.usecases.families.rights import RightRefused, set_right

MOST_SHOWN = 50


@staff_only
def families(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Find a guardian by their own name or a child's."""
    asked = " ".join(request.GET.get("q", "").split())
    found = Guardian.objects.order_by("name", "pk")
    if asked:
        found = (
            found.filter(name__icontains=asked) | found.filter(athletes__name__icontains=asked)
        ).distinct()
    children = Prefetch("guardianships", Guardianship.objects.select_related("athlete"))
    context = {
        "asked": asked,
        "guardians": found.prefetch_related(children)[:MOST_SHOWN],
        "more": found.count() - MOST_SHOWN,
    }
    return render(request, "progress/families/list.html", context)


@staff_only
@never_cache
def guardian_page(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """One guardian: their children, their rights and their links."""
    guardian = get_object_or_404(Guardian, pk=number)
    return render(request, "progress/families/guardian.html", _context(guardian, staff))


@staff_only
@never_cache
@require_POST
def guardian_link(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Make a link and show it this once, to print or to send; it is never stored readable."""
    guardian = get_object_or_404(Guardian, pk=number)
    try:
        made = make_link(guardian=guardian, staff=staff, now=timezone.now())
    except LinkRefused as refused:
        messages.error(request, str(refused))
        return redirect("guardian_page", number=guardian.pk)
    address = request.build_absolute_uri(reverse("family_open")) + "#" + made.token
    if request.POST.get("how") == "mail" and guardian.email:
        try:
            _send(guardian, address, made)
        except OSError as error:  # SMTP errors are among them.
            made.link.delete()
            messages.error(request, f"The mail could not be sent ({error}). No link was made.")
        else:
            messages.success(request, f"The link is on its way to {guardian.email}.")
        return redirect("guardian_page", number=guardian.pk)
    context = {
        **_context(guardian, staff),
        "made": made,
        "address": address,
        "page": request.build_absolute_uri(reverse("family_open")),
        "qr": drawn(address),
    }
    return render(request, "progress/families/link.html", context)


@staff_only
@require_POST
def guardian_revoke(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Close every link of this guardian at once."""
    guardian = get_object_or_404(Guardian, pk=number)
    closed = revoke_links(guardian=guardian, staff=staff, now=timezone.now())
    messages.success(
        request, f"{closed} link{'' if closed == 1 else 's'} closed. Open pages close with them."
    )
    return redirect("guardian_page", number=guardian.pk)


@staff_only
@require_POST
def guardian_right(
    request: HttpRequest, number: int, code: str, *, staff: StaffMember
) -> HttpResponse:
    """Give or take the right to see one child."""
    link = get_object_or_404(Guardianship, guardian=number, athlete__code=code)
    may_see = request.POST.get("may_see") == "yes"
    try:
        set_right(guardian=link.guardian, athlete=link.athlete, may_see=may_see, staff=staff)
    except RightRefused as refused:
        messages.error(request, str(refused))
    else:
        said = "may see" if may_see else "no longer sees"
        messages.success(request, f"{link.guardian} {said} the page of {link.athlete}.")
    return redirect("guardian_page", number=number)


def drawn(address: str) -> SafeString:
    """The address as a QR code (ISO/IEC 18004), drawn in SVG without any style of its own."""
    code = segno.make(address, error="m", micro=False)
    svg = code.svg_inline(scale=6, border=4, omitsize=True, svgclass="qr", lineclass=None)
    return mark_safe(svg)  # Drawn by the library from an address of our own making.


def _context(guardian: Guardian, staff: StaffMember) -> dict[str, object]:
    now = timezone.now()
    rights = list(guardian.guardianships.select_related("athlete").order_by("athlete__name"))
    return {
        "guardian": guardian,
        "rights": rights,
        "consents": [(link.athlete, standing_consents(athlete=link.athlete)) for link in rights],
        "links": guardian.links.select_related("made_by")[:10],
        "open_links": guardian.links.filter(expires_at__gt=now, revoked_at=None).count(),
        "may_change": staff.role in (Role.LEAD, Role.DESK),
        "now": now,
    }


def _send(guardian: Guardian, address: str, made: NewLink) -> None:
    """The mail names no child; its subject names nobody."""
    with override(guardian.language or None):
        words = _(
            "This is your private link to your family's page at the gym:\n%(address)s\n"
            "It works until %(day)s. Please do not pass it on. If it gets lost, tell the front"
            " desk: they can close it at once."
        )
        send_mail(
            _("Your private link from the gym"),
            words % {"address": address, "day": timezone.localdate(made.link.expires_at)},
            None,
            [guardian.email],
        )
