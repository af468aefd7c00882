"""Small things templates say often."""

from django import template

register = template.Library()
