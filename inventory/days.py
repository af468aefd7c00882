"""A day as the shop writes it, on pages, in letters and at the terminal."""

from datetime import date


def said(day: date | None) -> str:
    """'9 Dec 2026', as the pages' templates write it (`j M Y`); '' for no day."""
    return "" if day is None else f"{day.day} {day:%b %Y}"
