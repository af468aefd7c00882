"""A look into a bin: roughly how many are in it, noted without counting."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_POST

from inventory.forecasting.actions.looking import look_into, what_it_leaves
from inventory.ledger import queries as ledger
from inventory.ledger.rules.looking import Seen, Sight
from inventory.web.binforms import LookInto
from inventory.web.parts import ask, checked, done, is_sure, keep
from inventory.web.views.bins import bin_page


@require_POST
def bin_look(request: HttpRequest, number: int) -> HttpResponse:
    """Note what was seen; where it contradicts the record the bin holds what was seen."""
    row = ledger.bin_numbered(number)
    form = LookInto(request.POST)
    keep(request, "bin.html", {**bin_page(request, row), "look": form, "looked": True})
    data = checked(form)
    sight = Sight(data["seen"])
    seen = Seen(sight, data["pieces"] if sight is Sight.ABOUT else 0)
    by = ask(request, data["scan_id"])
    noted = look_into(bin=row, seen=seen, ask=by, sure=is_sure(request))
    said = f"Looked into bin {number}: {seen}. {what_it_leaves(noted.act)}"
    if request.POST.get("then") == "home":
        return done(request, said, "home")
    return done(request, said, "bin", number)
