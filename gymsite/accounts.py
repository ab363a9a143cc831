"""Who gets an account: nobody signs up alone, staff make every account."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class StaffMakesAccounts(DefaultAccountAdapter):
    """Close the public sign-up page; everything else is the library's own behaviour."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
