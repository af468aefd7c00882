"""Small things templates say often: icons, guesses, chances, codes."""

import uuid
from decimal import Decimal

from django import template
from django.contrib.humanize.templatetags.humanize import intcomma
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from inventory.catalog.models import Item
from inventory.errors import Refused
from inventory.trade import codes

register = template.Library()

# Each state has a shape of its own, so that nothing hangs on colour.
SHAPES = {
    "ready": '<path d="M3 3h18v18H3z"/><path d="M7 12l4 4 6-8"/>',
    "ready_but_for": '<circle cx="12" cy="12" r="9"/><path d="M12 3v18"/>'
    '<path d="M12 3a9 9 0 0 1 0 18z" fill="currentColor"/>',
    "short_of": '<path d="M12 2l10.5 19h-21z"/><path d="M12 9v6M12 17.5v1"/>',
    "late": '<circle cx="12" cy="12" r="9"/><path d="M12 6v6l5 3"/>',
    "over": '<path d="M3 12h18"/>',
    "count": '<path d="M5 4v16M10 4v16M15 4v16M2 17L19 7"/>',
    "alert": '<path d="M12 2l10 10-10 10L2 12z"/><path d="M12 7v6M12 15.5v1"/>',
    "down": '<path d="M12 3v17M5 13l7 7 7-7"/>',
    "up": '<path d="M12 21V4M5 11l7-7 7 7"/>',
}


@register.simple_tag
def icon(name: str) -> SafeString:
    """A shape that stands beside its word."""
    shape = mark_safe(SHAPES.get(name, SHAPES["over"]))  # our own constant markup
    return format_html(
        '<svg class="icon icon-{}" viewBox="0 0 24 24" aria-hidden="true">{}</svg>',
        name,
        shape,
    )


@register.filter
def guess(value: object, is_guess: object = True) -> object:
    """A figure that is a guess looks like one."""
    if not is_guess:
        return value
    return format_html('<span class="guess">{} <i>guess</i></span>', value)


@register.filter
def counted(number: int | Decimal, item: Item | None) -> str:
    """A quantity with its unit, where it is not counted by the piece: '50 ml'."""
    said = intcomma(number)
    return said if item is None or item.unit == "pcs" else f"{said} {item.unit}"


@register.filter
def chance(value: float) -> str:
    """A probability in words that claim no more than it knows."""
    if value <= 0:
        return "none"
    if value < 0.01:
        return "under 1 %"
    return "over 99 %" if value > 0.99 else f"{value:.0%}".replace("%", " %")


@register.filter
def clear(code: str) -> str:
    """An own code as people read it: 'XB 0042-09'."""
    return codes.in_the_clear(code)


@register.simple_tag
def own_code(letter: str, number: int) -> str:
    """The code of a type and number; empty where none can be made."""
    try:
        return codes.make(letter, number)
    except Refused:
        return ""


@register.simple_tag
def fresh_id() -> str:
    """An id for a form, so that sending it twice moves once."""
    return str(uuid.uuid4())
