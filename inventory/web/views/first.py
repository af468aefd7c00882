"""The first start: whose shop it is; then five steps that tick themselves off."""

from dataclasses import dataclass

from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from inventory.errors import Refused
from inventory.ledger.queries import bins, is_stocked
from inventory.people.actions import found_shop, settle_shop
from inventory.people.queries import has_owner, shop
from inventory.planning.queries import current_build, stages
from inventory.scanning.queries.arrived import was_scanned
from inventory.web.parts import checked, done, is_at_the_machine, keep, person, posted
from inventory.web.shopforms import First
from inventory.web.signing import signed_in


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def first(request: HttpRequest) -> HttpResponse:
    """Name the shop and its owner, once, at the machine that serves it."""
    if has_owner():
        return redirect("home")
    form, is_far = First(posted(request)), not is_at_the_machine(request)
    page = {"form": form, "far": is_far}
    if request.method != "POST":
        return render(request, "first.html", page)
    keep(request, "first.html", page)
    if is_far:
        raise Refused(
            "people.far",
            "A new shop is named at the machine that serves it: open it there as "
            "http://localhost. Nothing was changed.",
        )
    data = checked(form)
    if data["password"] != data["again"]:
        raise Refused("people.password", "The two passwords differ: key both again.")
    user = found_shop(
        name=data["shop"],
        owner=data["owner"],
        password=data["password"],
        email=data["email"],
    )
    login(request, user, settings.AUTHENTICATION_BACKENDS[0])
    response = done(request, f"{data['shop']} is yours.", "steps")
    signed_in(request, response, user)
    return response


@dataclass(frozen=True)
class Step:
    """One of the first things to do: whether it is done, and where it is done."""

    words: str
    how: str
    done: bool
    links: tuple[tuple[str, str], ...]


def first_steps() -> list[Step]:
    """From an empty shop to the first letter."""
    there = bins()
    return [
        Step(
            "Say what is to be built",
            "A stage, its assemblies and what they ask: one is enough to begin.",
            stages(current_build()).exists(),
            (("plan", "Make it by hand"), ("plan-import", "Import a list")),
        ),
        Step(
            "Say what is in the bins",
            "A bin for each thing, with how many are in it now.",
            bool(there) and is_stocked(),
            (("bin-new", "Make a bin"), ("stock-import", "Import a list")),
        ),
        Step(
            "Label the bins",
            "On a sheet of labels, or on paper and tape. The bench also takes 'bin 1'.",
            any(row.labelled for row in there),
            (("labels", "Print labels"),),
        ),
        Step(
            "Scan a bin, or type it",
            "Open an assembly at the bench, scan its bin, and scan it again to pull.",
            was_scanned(),
            (("bench", "To the bench"),),
        ),
        Step(
            "See a letter arrive",
            "Send a test letter; when it came, say so here.",
            shop().letter_came_at is not None,
            (("settings", "Letters"),),
        ),
    ]


@require_safe
def steps(request: HttpRequest) -> HttpResponse:
    """What is left of the first steps."""
    found = first_steps()
    left = sum(not step.done for step in found)
    return render(
        request, "steps.html", {"steps": found, "left": left, "over": shop().steps_over}
    )


@require_POST
def letter_came(request: HttpRequest) -> HttpResponse:
    """Somebody saw a letter arrive."""
    settle_shop(changes={"letter_came_at": timezone.now()}, by=person(request))
    return done(request, "Good: alerts come the same way.", "steps")


@require_POST
def steps_over(request: HttpRequest) -> HttpResponse:
    """The first steps are shown no longer, or again."""
    over = not shop().steps_over
    settle_shop(changes={"steps_over": over}, by=person(request))
    said = "The first steps are under More." if over else "The first steps are back."
    return done(request, said, "home")
