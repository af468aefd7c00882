"""The two decoders, each giving readings in the coordinates it was shown."""

from collections.abc import Sequence
from itertools import pairwise
from math import dist

import numpy as np
import zxingcpp

from inventory.photos.pictures import Grey
from inventory.photos.witnesses import BARS, CODE_39, EAN, SQUARES, Sighting

try:  # needs the system's library, which may be absent
    from pyzbar import pyzbar
except ImportError:
    pyzbar = None

_FORMAT = zxingcpp.BarcodeFormat
AT_BENCH = (_FORMAT.Code128, _FORMAT.QRCode)
AT_RECEIVING = (
    *AT_BENCH, _FORMAT.Code39, _FORMAT.DataMatrix, _FORMAT.PDF417, _FORMAT.EAN13, _FORMAT.EAN8,
    _FORMAT.UPCA, _FORMAT.UPCE,
)  # fmt: skip
NAMES = {
    _FORMAT.Code128: BARS,
    _FORMAT.QRCode: SQUARES,
    _FORMAT.Code39: CODE_39,
    _FORMAT.DataMatrix: "Data Matrix",
    _FORMAT.PDF417: "PDF417",
}
Corners = Sequence[tuple[float, float]]


def zxing(
    picture: Grey, how: str, *, receiving: bool = False, pure: bool = False
) -> list[Sighting]:
    """What zxing-cpp reads, its texts as they are, never rewritten.

    `how` names the treatment; `pure` promises nothing but one perfect symbol.
    """
    rows = zxingcpp.read_barcodes(
        np.ascontiguousarray(picture),
        formats=zxingcpp.BarcodeFormats(list(AT_RECEIVING if receiving else AT_BENCH)),
        text_mode=zxingcpp.TextMode.Plain,
        is_pure=pure,
    )
    return [_zxing_reading(row, how) for row in rows if row.valid and row.text]


def _zxing_reading(row: zxingcpp.Barcode, how: str) -> Sighting:
    place = row.position
    ends = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
    middle, length = _middle_and_length([(end.x, end.y) for end in ends])
    name = NAMES.get(row.format, EAN)
    return Sighting(
        row.text,
        name,
        f"zxing {how}",
        middle,
        length,
        identifier=row.symbology_identifier,
    )


def zbar(picture: Grey, how: str) -> list[Sighting]:
    """What zbar reads of bars and squares; nothing where its library is missing."""
    if pyzbar is None:
        return []
    symbols = [pyzbar.ZBarSymbol.QRCODE, pyzbar.ZBarSymbol.CODE128]
    names = {"QRCODE": SQUARES, "CODE128": BARS}
    found = []
    for row in pyzbar.decode(picture, symbols=symbols):
        middle, length = _middle_and_length([(end.x, end.y) for end in row.polygon])
        text, name = row.data.decode("utf-8", "replace"), names[row.type]
        found.append(
            Sighting(text, name, f"zbar {how}", middle, length, int(row.quality))
        )
    return found


def _middle_and_length(corners: Corners) -> tuple[tuple[float, float], float]:
    if not corners:
        return (0.0, 0.0), 0.0
    x, y = (sum(each) / len(corners) for each in zip(*corners, strict=True))
    around = [*corners, corners[0]]
    return (x, y), max(dist(*pair) for pair in pairwise(around))
