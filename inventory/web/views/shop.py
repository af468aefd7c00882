"""Signing in and out, the shop's settings, the devices that may scan."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.http import require_http_methods, require_POST

from inventory import errands
from inventory.alerts.actions import send_test_letter
from inventory.alerts.queries import why_unheard
from inventory.alerts.tasks import wake
from inventory.backups.queries import last_backup, second_folder
from inventory.backups.tasks import keep_backups
from inventory.catalog.queries import how_lengths_are_said
from inventory.forecasting.actions.changing import say_lengths
from inventory.ledger.actions.mending import reckon_anew
from inventory.ledger.queries import last_check
from inventory.people.actions import (
    ended_session,
    register_device,
    revoke_device,
    settle_shop,
)
from inventory.people.queries import (
    device_numbered,
    devices,
    has_owner,
    mail_address,
    shop,
)
from inventory.people.rules import Scope
from inventory.scanning.actions import prove
from inventory.scanning.queries.arrived import device_scans
from inventory.trade.sizes import Lengths, said
from inventory.web.parts import checked, done, here, is_at_the_machine, keep, person
from inventory.web.shopforms import NewDevice, Settings, SizeWords
from inventory.web.signing import SignInForm, signed_in
from inventory.web.uploads import shop_folder


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """The one page for people who are not signed in; it says nothing of who exists."""

    template_name = "sign_in.html"
    redirect_authenticated_user = True
    authentication_form = SignInForm

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        """In a shop that is nobody's yet the first page comes before."""
        if not has_owner():
            return redirect("first")
        return super().dispatch(request, *args, **kwargs)

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """The device is known from now on."""
        response = super().form_valid(form)
        signed_in(self.request, response, person(self.request))
        return response

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """The demo's sign-in, in the demo and on this machine only."""
        found: dict[str, Any] = super().get_context_data(**kwargs)
        if settings.DEMO and is_at_the_machine(self.request):
            found["demo_sign_in"] = settings.DEMO_SIGN_IN
        return found


class SignOut(LogoutView):
    """Signing out, by POST."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        """It is noted that this sign-in has ended."""
        if request.user.is_authenticated:
            key = request.session.session_key or ""
            ended_session(session=key, by=person(request), at=timezone.now())
        return super().post(request, *args, **kwargs)


def _page() -> dict[str, Any]:
    return {
        "form": Settings(instance=shop()),
        "wording": SizeWords(initial={"lengths": how_lengths_are_said()}),
        "devices": devices(),
        "new_device": NewDevice(),
        "scans": device_scans(),
        "check": last_check(),
        "mail_to": mail_address(),
        "mail_server": settings.EMAIL_HOST,
        "backup": last_backup(Path(settings.DATA)),
        "second": second_folder(shop().backup_folder),
    }


@require_POST
def wording_set(request: HttpRequest) -> HttpResponse:
    """Sizes in inches, in millimetres, or both."""
    how = Lengths(checked(SizeWords(request.POST))["lengths"])
    changed = say_lengths(how)
    wake()
    items = f"{changed:,} item{'' if changed == 1 else 's'}"
    example = said("3/32 flush", how)
    return done(request, f"Sizes are said so: {example}. {items} renamed.", "settings")


@require_http_methods(["GET", "HEAD", "POST"])
def settings_page(request: HttpRequest) -> HttpResponse:
    """How the shop is set; the guesses say that they are guesses."""
    if request.method != "POST":
        return render(request, "settings.html", _page())
    form = Settings(request.POST, instance=shop())
    keep(request, "settings.html", {**_page(), "form": form})
    settle_shop(changes=checked(form), by=person(request))
    return done(request, "The settings are kept.", "settings")


@require_POST
def record_mend(request: HttpRequest) -> HttpResponse:
    """Set the running figures to what the movements say, and prove the record anew."""
    changed = reckon_anew(by=person(request))
    left = prove(folder=shop_folder(), now=timezone.now())
    wake()
    said = f"{changed} balances were set to what the movements say; count their bins."
    if left:
        said += f" {len(left)} checks still fail: keep a copy, and restore a backup."
    return done(request, said, "settings")


@require_POST
def backup_now(request: HttpRequest) -> HttpResponse:
    """Have the worker make a backup at once."""
    keep(request, "settings.html", _page())
    errands.send("backup", lambda: bool(keep_backups.delay(at_once=True)))
    said = "A backup is being made and proven: look again in a minute."
    return done(request, said, "settings")


@require_POST
def letter_test(request: HttpRequest) -> HttpResponse:
    """A letter that shows whether letters arrive."""
    keep(request, "settings.html", _page())
    to = send_test_letter()
    said = why_unheard() or f"A test letter went to {to}: see that it arrives."
    return done(request, said, "settings")


@require_POST
def device_new(request: HttpRequest) -> HttpResponse:
    """Give a device its token, which is shown this once."""
    form = NewDevice(request.POST)
    keep(request, "settings.html", {**_page(), "new_device": form})
    data = checked(form)
    device, token = register_device(
        name=data["name"],
        by=person(request),
        now=timezone.now(),
        scope=Scope(data["scope"]),
    )
    page = {**_page(), "token": token, "device": device}
    return render(request, "settings.html", page)


@require_POST
def device_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """End a device's token at once."""
    device = here(device_numbered, pk)
    revoke_device(device=device, by=person(request), now=timezone.now())
    return done(request, f"{device.name} may no longer scan.", "settings")
