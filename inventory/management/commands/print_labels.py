"""Write labels as a PDF: `print_labels --output FILE [--bins 1-20,25] [--bits 3]`."""

import re
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser

from inventory.forecasting.models import Bit
from inventory.forecasting.queries.tools import bit_numbered
from inventory.labels.actions import label_pdf
from inventory.labels.rules.sheets import SHEETS, LabelSheet, roll
from inventory.ledger.queries import Bin, bin_numbered, bins, bins_between
from inventory.management.plain import PlainCommand, refusals


class Command(PlainCommand):
    """Every symbol is read back from the finished page before the file is written."""

    help = "Print bin labels as a PDF, true to scale."

    def add_arguments(self, parser: CommandParser) -> None:
        """Which bins, on which sheet, where on it."""
        parser.add_argument("--output", required=True, help="the PDF to write")
        parser.add_argument("--bins", default="", help="such as 1-20,25; all if empty")
        parser.add_argument(
            "--sheet",
            default="a4",
            help="; ".join(f"{sheet.key}: {sheet.words}" for sheet in SHEETS.values()),
        )
        parser.add_argument("--bits", default="", help="tags of bits, such as 3,4")
        parser.add_argument(
            "--roll",
            default="",
            help="instead of a sheet a roll: its width and printable width in mm, such "
            "as 62,58; a third number is the length each is cut at",
        )
        parser.add_argument(
            "--skip", type=int, default=0, help="labels of the first page already used"
        )
        parser.add_argument(
            "--offset", default="0,0", help="shift right and down in mm, such as 0.5,-1"
        )
        parser.add_argument(
            "--dpi", type=int, default=300, help="the printer's dots an inch"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Choose the bins, make the PDF, write it."""
        with refusals():
            bits = chosen_bits(options["bits"])
            only_bits = bits and not options["bins"].strip()
            chosen = [] if only_bits else chosen_bins(options["bins"])
            pdf = label_pdf(
                bins=chosen,
                bits=bits,
                sheet=asked_roll(options["roll"]) or options["sheet"],
                shop_url=settings.SHOP_URL,
                offset_mm=offset(options["offset"]),
                skip=options["skip"],
                dpi=options["dpi"],
            )
        try:
            Path(options["output"]).write_bytes(pdf)
        except OSError as error:
            raise CommandError(
                f"{options['output']} cannot be written: {error.strerror}."
            ) from error
        self.stdout.write(
            f"{len(chosen) + len(bits)} labels, every code read back from the page. Print at "
            "actual size (100 %), never 'fit to page'."
        )


def chosen_bins(text: str) -> list[Bin]:
    """The bins of '1-20,25', each once, in that order; all where it is empty.

    In a range, numbers without a bin are passed over.
    """
    if not text.strip():
        return bins()
    found: dict[int, Bin] = {}
    for part in text.split(","):
        match = re.fullmatch(r"\s*([0-9]{1,4})\s*(?:-\s*([0-9]{1,4})\s*)?", part)
        if match is None:
            raise CommandError(f"'{part[:20]}' names no bins: write 1-20,25.")
        if match[2] is None:
            row = bin_numbered(int(match[1]))
            found[row.number] = row
            continue
        for row in bins_between(int(match[1]), int(match[2])):
            found[row.number] = row
    return list(found.values())


def chosen_bits(text: str) -> list[Bit]:
    """The bits of '3,4', each once."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    for part in parts:
        if not re.fullmatch(r"[0-9]{1,4}", part):
            raise CommandError(f"'{part[:20]}' names no bit: write 3,4.")
    return [bit_numbered(number) for number in dict.fromkeys(map(int, parts))]


def asked_roll(text: str) -> LabelSheet | None:
    """A roll of '62,58' or '62,58,25' (mm); None where none is asked for."""
    if not text:
        return None
    number = r"\s*([0-9]{1,3}(?:\.[0-9])?)\s*"
    match = re.fullmatch(f"{number},{number}(?:,{number})?", text)
    if match is None:
        raise CommandError(f"'{text[:20]}' is no roll: write 62,58 or 62,58,25 (mm).")
    return roll(float(match[1]), float(match[2]), float(match[3] or 0))


def offset(text: str) -> tuple[float, float]:
    """Two lengths in mm from '0.5,-1'."""
    match = re.fullmatch(
        r"\s*(-?[0-9]{1,2}(?:\.[0-9])?),(-?[0-9]{1,2}(?:\.[0-9])?)", text
    )
    if match is None:
        raise CommandError(f"'{text[:20]}' is no offset: write 0.5,-1 (mm).")
    return float(match[1]), float(match[2])
