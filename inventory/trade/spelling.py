"""What people and keyboards do to a code: blanks, dashes, wide letters, small ones."""

import re
import unicodedata

# Hyphen, non-breaking hyphen, figure, en and em dash, bar, minus, small and wide hyphen.
_DASHES = dict.fromkeys(
    map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63\uff0d"), "-"
)
# What needs no mending; most callouts, so that a plan's thousands read fast.
_CLEAN = re.compile(r"[A-Za-z0-9.-]+", re.ASCII)


def plain(text: str) -> str:
    """Upper case, compatible characters, one kind of dash, no blanks at the ends."""
    return unicodedata.normalize("NFKC", text.translate(_DASHES)).upper().strip()


def tight(text: str) -> str:
    """Plain text without its blanks and dashes."""
    return re.sub(r"[\s-]", "", plain(text))


def callout(text: str) -> str:
    """Plain text without blanks; a blank between digits was a dash.

    A vulgar half or a decimal comma after the length's dash becomes '.5'.
    """
    if _CLEAN.fullmatch(text):
        return text.upper()
    upper = plain(text.replace("½", " 1/2"))
    upper = re.sub(r"-\s*([0-9]+)[\s-]+1/2$", r"-\1.5", upper)
    upper = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", upper)
    upper = re.sub(r"(?<=[0-9])\s+(?=[0-9])", "-", upper)
    return re.sub(r"\s+", "", upper)
