"""One's own sign-in: where one is signed in, and another password."""

from typing import Any

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.errors import Refused
from inventory.people.actions import end_sign_in, give_own_password, session_goes_on
from inventory.people.queries import own_sign_in, own_sign_ins
from inventory.web.parts import (
    checked,
    done,
    here,
    is_at_the_machine,
    keep,
    person,
)
from inventory.web.shopforms import OwnPassword
from inventory.web.signing import SignInForm


def _page(request: HttpRequest, **more: Any) -> dict[str, Any]:
    rows = own_sign_ins(person(request), timezone.now())
    # What a browser takes for safe (W3C, Secure Contexts) gets its camera and is kept.
    trusted = request.is_secure() or is_at_the_machine(request)
    return {"signed_in": rows, "form": OwnPassword(), "is_trusted": trusted, **more}


@require_safe
def me(request: HttpRequest) -> HttpResponse:
    """Where one is signed in, and what one may."""
    return render(request, "me.html", _page(request))


@require_POST
def own_password(request: HttpRequest) -> HttpResponse:
    """Another password; each try at the one of now counts as a try to sign in."""
    user, form = person(request), OwnPassword(request.POST)
    keep(request, "me.html", _page(request, form=form))
    data = checked(form)
    tried = {"username": user.username, "password": data["current"]}
    proof = SignInForm(request, data=tried)
    if not proof.is_valid():
        said = "; ".join(str(each) for each in proof.non_field_errors())
        raise Refused("people.password", f"{said} Your password stays as it was.")
    before = request.session.session_key or ""
    give_own_password(
        user=user, password=data["password"], session=before, at=timezone.now()
    )
    update_session_auth_hash(request, user)
    session_goes_on(before=before, after=request.session.session_key or "")
    return done(
        request, "You have another password, and are signed out elsewhere.", "me"
    )


@require_POST
def own_sign_in_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign oneself out somewhere else."""
    user = person(request)
    row = here(lambda pk: own_sign_in(user, pk), pk)
    end_sign_in(event=row, by=user, at=timezone.now())
    return done(request, "You are signed out there.", "me")
