"""Signing in: how often it may be tried, and devices that are known."""

import logging
import secrets
from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from inventory.people.actions import forget_tries, note_sign_in, spend_sign_in
from inventory.people.models import SignInEvent, User
from inventory.people.queries import is_called

log = logging.getLogger(__name__)
COOKIE, SALT, YEAR = "known", "a device that signed in", 365 * 24 * 3600


class SignInForm(AuthenticationForm):
    """Name and password; each try is counted before the password is looked at."""

    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "That name and password do not fit together. Try again.",
    }

    def clean(self) -> dict[str, Any]:
        """What does not fit, and what was tried too often, is said alike of any name."""
        name, request = self.cleaned_data.get("username", ""), self.request
        if name and self.cleaned_data.get("password") and request is not None:
            until = spend_sign_in(
                account=name,
                device=known_device(request, name),
                address=str(request.META.get("REMOTE_ADDR", "")),
                now=timezone.now(),
            )
            if until is not None:
                log.warning("too many tries to sign in as %r", name)
                _note(request, SignInEvent.How.OFTEN, name)
                raise forms.ValidationError(
                    "Too many tries: wait until "
                    f"{timezone.localtime(until):%H:%M}, or sign in on a device that "
                    "signed in before.",
                    code="too_many",
                )
        try:
            found: dict[str, Any] = super().clean()
        except forms.ValidationError:
            if name and request is not None:
                _note(request, SignInEvent.How.WRONG, name)
            raise
        return found


def _note(
    request: HttpRequest, how: SignInEvent.How, account: str, session: str = ""
) -> None:
    note_sign_in(
        how=how,
        account=account,
        at=timezone.now(),
        address=str(request.META.get("REMOTE_ADDR", "")),
        device=str(request.META.get("HTTP_USER_AGENT", "")),
        session=session,
    )


def known_device(request: HttpRequest, account: str) -> str:
    """The key of a device that signed in to this account before; '' for a strange one."""
    try:
        pk, key = signing.loads(
            request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=YEAR
        )
    except (signing.BadSignature, ValueError, TypeError):
        return ""
    return str(key) if isinstance(pk, int) and is_called(pk, account) else ""


def signed_in(request: HttpRequest, response: HttpResponse, person: User) -> None:
    """Know the device from now on; its person begins anew."""
    account = person.get_username()
    key = known_device(request, account)
    forget_tries(account=account, device=key)
    log.info("%s signed in", person)
    _note(request, SignInEvent.How.CAME, account, request.session.session_key or "")
    response.set_cookie(
        COOKIE,
        signing.dumps([person.pk, key or secrets.token_urlsafe(12)], salt=SALT),
        max_age=YEAR,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )
