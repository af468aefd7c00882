"""Screws, nuts, washers and cotter pins by callout, from their dash grammars."""

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from inventory.trade import tables
from inventory.trade.reading import Reading, SplitCallout, material, refusal
from inventory.trade.sizes import print_decimal, print_size

_SCREW = re.compile(r"-?([A-Z]{0,2})-?([0-9]{1,4})(R|-)([0-9]{1,2})")
_SCREW_DASH = re.compile(r"-?([A-Z]?)-?([0-9]{1,4})")
_MS27039 = re.compile(r"-?(C?)-?(0[0-9]|[0-9])-?([0-9]{2})")
_NUT_THREAD = re.compile(r"-?([0-9]{3,4})([A-Z]?)")
_NUT_SIXTEENTH = re.compile(r"-?([A-Z]?)-?([0-9]{1,2})")
_AN960 = re.compile(r"-?([A-Z]{0,2})-?([0-9]{1,4})(L?)")
_NAS1149 = re.compile(r"-?([A-Z])-?(N[0-9]|[0-9]{2})-?([0-9]{2})([A-Z])")
_COTTER = re.compile(r"-?([0-9]{1,2})-([0-9]{1,2})")
_COTTER_DASH = re.compile(r"-?([0-9]{1,4})")
_FINISHES = {"P": "cadmium", "J": "chemical film", "H": "anodised", "R": "passivated"}
_DATUMS = {"overall": "overall, the head included", "under head": "under the head"}


def screw_diameter(number: int) -> Fraction:
    """The major diameter, in inches, of a screw of this number: .060 + .013 N.

    Restated: public machine-screw pages.
    """
    return Fraction("0.060") + number * Fraction("0.013")


def _match(pattern: re.Pattern[str], part: SplitCallout, example: str) -> re.Match[str]:
    """The tail by its grammar; a tail that merely stops early is incomplete."""
    found = pattern.fullmatch(part.tail)
    if found is None:
        short = re.fullmatch(r"-?[A-Z]{0,2}-?N?[0-9]{0,4}[R-]?", part.tail)
        code = "incomplete" if short else "unknown"
        raise refusal(code, part.text, f"a callout such as {example}")
    return found


def _listed(
    part: SplitCallout, table: str, code: tuple[str, ...], *columns: str
) -> Mapping[str, str]:
    row = tables.index(table, *columns).get(code)
    if row is None:
        raise refusal(
            "unknown_dash", part.text, f"a dash of the {part.standard} table known here"
        )
    return row


def _made_of(name: str, usual: str) -> str:
    return "" if name == usual else f" {name}"


def _screw(
    part: SplitCallout, tail: str, metal: str, row: Mapping[str, str]
) -> Reading:
    """A screw, from a row of thread, diameter_in, length_in and recess."""
    head_words = part.row["head_words"] + row.get("recess", "")
    length = Fraction(row["length_in"])
    name = f"{row['thread']} {part.row['head']} screw"
    made_of = material(part, metal)
    special = "" if made_of in {"steel", "carbon steel"} else f" {made_of}"
    return Reading(
        kind="screw",
        standard=part.standard,
        callout=part.standard + tail,
        key=part.row["key"] + tail,
        words=f"{name}{special}, {print_size(length)} long",
        meaning=(
            f"Screw, {head_words}, of {made_of}, thread {row['thread']}, "
            f"{print_size(length)} in long {_DATUMS[part.row['datum']]}."
        ),
        head=part.row["head"],
        head_words=head_words,
        alloy=metal,
        alloy_words=made_of,
        diameter_in=Fraction(row["diameter_in"]),
        length_in=length,
        thread=row["thread"],
        source=part.row["source"],
        certainty=part.row["certainty"],
    )


def screw_thread(part: SplitCallout) -> Reading:
    """A screw by thread code and length in 16ths: AN507-832R8, R for recessed.

    Raises Refused callout.incomplete, callout.unknown and callout.impossible.
    """
    match = _match(_SCREW, part, f"{part.standard}-832R8")
    metal, code, recess, sixteenths = match.groups()
    known = tables.index("threads", "scheme", "code")
    thread = known.get(("thread", code)) or known.get(("screw", code))
    if thread is None:
        raise refusal("unknown", part.text, "a thread such as 632, 832, 1032 or 416")
    if not int(sixteenths):
        raise refusal("impossible", part.text, "a length above nought")
    row = {
        **thread,
        "length_in": str(Fraction(int(sixteenths), 16)),
        "recess": ", recessed" if recess == "R" else ", slotted",
    }
    tail = f"{metal or '-'}{code}{recess}{int(sixteenths)}"
    return _screw(part, tail, metal, row)


def screw_dash(part: SplitCallout) -> Reading:
    """A screw whose dash is a row of a table: MS24693-S50.

    Raises Refused callout.incomplete, callout.unknown, and callout.unknown_dash
    beyond the part of the table known here (from memory).
    """
    metal, dash = _match(_SCREW_DASH, part, f"{part.standard}-S50").groups()
    material(part, metal)
    row = _listed(part, "screw_dashes", (str(int(dash)),), "dash")
    return _screw(part, f"-{metal}{int(dash)}", metal, row)


def screw_unlisted(part: SplitCallout) -> Reading:
    """A screw whose dash table is not known here: its material is read, its size is not.

    Raises Refused callout.incomplete, callout.unknown.
    """
    metal, dash = _match(_SCREW_DASH, part, f"{part.standard}-S50").groups()
    made_of = material(part, metal)
    tail = f"-{metal}{int(dash)}"
    return Reading(
        kind="screw",
        standard=part.standard,
        callout=part.standard + tail,
        key=part.row["key"] + tail,
        words=f"{part.row['head']} screw {made_of}, dash {int(dash)}",
        meaning=(
            f"Screw, {part.row['head_words']}, of {made_of}; what thread and length dash "
            f"{int(dash)} stands for is not known here: see its standard sheet."
        ),
        head=part.row["head"],
        head_words=part.row["head_words"],
        alloy=metal,
        alloy_words=made_of,
        source=part.row["source"],
        certainty=part.row["certainty"],
    )


def screw_ms27039(part: SplitCallout) -> Reading:
    """A pan-head screw: thread code and length in 16ths, MS27039-0806, -1-08.

    Raises Refused callout.incomplete, callout.unknown and callout.unknown_dash.
    """
    metal, code, sixteenths = _match(_MS27039, part, "MS27039-1-08").groups()
    thread = _listed(part, "threads", ("ms27039", code), "scheme", "code")
    if not int(sixteenths):
        raise refusal("impossible", part.text, "a length above nought")
    between = "-" if len(code) == 1 else ""
    row = {**thread, "length_in": str(Fraction(int(sixteenths), 16))}
    return _screw(part, f"{metal or '-'}{code}{between}{sixteenths}", metal, row)


def _nut(
    part: SplitCallout, tail: str, metal: str, thread: Mapping[str, str]
) -> Reading:
    made_of = material(part, metal)
    name = "" if "nut" in part.row["head"] else " nut"
    return Reading(
        kind="nut",
        standard=part.standard,
        callout=part.standard + tail,
        key=part.row["key"] + tail,
        words=(
            f"{thread['thread']} {part.row['head']}{name}{_made_of(made_of, 'steel')}"
        ),
        meaning=f"Nut, {part.row['head_words']}, of {made_of}, thread "
        f"{thread['thread']}.",
        head=part.row["head"],
        head_words=part.row["head_words"],
        alloy=metal,
        alloy_words=made_of,
        diameter_in=Fraction(thread["diameter_in"]),
        thread=thread["thread"],
        source=part.row["source"],
        certainty=part.row["certainty"],
    )


def nut_thread(part: SplitCallout) -> Reading:
    """A nut by thread code: AN365-1032A; without a letter it is steel too.

    Raises Refused callout.incomplete, callout.unknown and callout.unknown_dash.
    """
    code, metal = _match(_NUT_THREAD, part, f"{part.standard}-1032A").groups()
    thread = _listed(part, "threads", ("thread", code), "scheme", "code")
    reading = _nut(part, f"-{code}{metal}", metal, thread)
    return _nut_twins(part, code, reading)


def _nut_twins(part: SplitCallout, code: str, reading: Reading) -> Reading:
    """The same nut under its old and new number; A and no letter are both steel."""
    letters = ("", "A") if reading.alloy in {"", "A"} else (reading.alloy,)
    same = tuple(
        f"{row['standard']}-{code}{letter}"
        for row in tables.rows("standards")
        if row["key"] == part.row["key"]
        for letter in letters
    )
    return replace(
        reading,
        key=f"{part.row['key']}-{code}{letters[0]}",
        equivalents=tuple(name for name in same if name != reading.callout),
    )


def nut_sixteenth(part: SplitCallout) -> Reading:
    """A nut by bolt size in 16ths, or 0 and a screw number: MS21042-3, AN310-3.

    Raises Refused callout.incomplete, callout.unknown and callout.unknown_dash.
    """
    metal, code = _match(_NUT_SIXTEENTH, part, f"{part.standard}-3").groups()
    thread = _listed(part, "threads", ("sixteenth", code), "scheme", "code")
    return _nut(part, f"{metal or '-'}{code}", metal, thread)


def _washer(part: SplitCallout, tail: str, values: Mapping[str, str]) -> Reading:
    """A washer, from metal, alloy, label, diameter_in, thickness_in and head."""
    thickness = Fraction(values["thickness_in"])
    thick = print_decimal(thickness, places=3).removeprefix("0")
    light = " light" if values["head"].endswith("light") else ""
    special = "" if values["alloy"].startswith("steel") else f" {values['alloy']}"
    return Reading(
        kind="washer",
        standard=part.standard,
        callout=part.standard + tail,
        key=part.row["key"] + tail,
        words=f"{values['label']} washer{light}{special}, {thick} thick",
        meaning=f"Washer, {values['head']}, of {values['alloy']}, for "
        f"{values['label']}, {thick} in thick.",
        head=part.row["head"],
        head_words=values["head"],
        alloy=values["metal"],
        alloy_words=values["alloy"],
        diameter_in=Fraction(values["diameter_in"]),
        thickness_in=thickness,
        source=part.row["source"],
        certainty=part.row["certainty"],
    )


def washer_an960(part: SplitCallout) -> Reading:
    """A washer by screw number or 16ths and 16: AN960-10L, AN960-416; L is light.

    Raises Refused callout.incomplete, callout.unknown and callout.unknown_dash.
    """
    metal, size, light = _match(_AN960, part, "AN960-10L").groups()
    made_of = material(part, metal)
    row = _listed(part, "washers", (size,), "size")
    values = {
        "metal": metal,
        "alloy": made_of,
        "label": row["label"],
        "diameter_in": row["diameter_in"],
        "thickness_in": row["light_in"] if light else row["thickness_in"],
        "head": "plain, light" if light else "plain, full thickness",
    }
    return _washer(part, f"{metal or '-'}{size}{light}", values)


def washer_nas1149(part: SplitCallout) -> Reading:
    """A washer by metal, size in 16ths (N: screw number), thousandths and finish.

    Raises Refused callout.incomplete, callout.unknown and callout.impossible.
    """
    match = _match(_NAS1149, part, "NAS1149F0363P")
    metal, size, thousandths, finish = match.groups()
    number = int(size.removeprefix("N"))
    numbered = size.startswith("N")
    inner = Fraction(60 + 13 * number, 1000) if numbered else Fraction(number, 16)
    if not (inner and int(thousandths)):
        raise refusal("impossible", part.text, "a size and a thickness above nought")
    finish_words = _FINISHES.get(finish, f"finish {finish}")
    values = {
        "metal": metal,
        "alloy": f"{material(part, metal)}, {finish_words}",
        "label": f"#{number}" if numbered else print_size(inner),
        "diameter_in": str(inner),
        "thickness_in": str(Fraction(int(thousandths), 1000)),
        "head": "plain",
    }
    return _washer(part, f"{metal}{size}{thousandths}{finish}", values)


def _cotter(
    part: SplitCallout, tail: str, diameter: Fraction, length: Fraction
) -> Reading:
    made_of = material(part, "")
    size, long = print_size(diameter), print_size(length)
    return Reading(
        kind="cotter_pin",
        standard=part.standard,
        callout=part.standard + tail,
        key=part.row["key"] + tail,
        words=f"{size} cotter pin{_made_of(made_of, 'steel')}, {long} long",
        meaning=f"Cotter pin of {made_of}, {size} in, {long} in long.",
        head=part.row["head"],
        head_words=part.row["head_words"],
        alloy_words=made_of,
        diameter_in=diameter,
        length_in=length,
        source=part.row["source"],
        certainty=part.row["certainty"],
    )


def cotter(part: SplitCallout) -> Reading:
    """A cotter pin: diameter in 32nds, length in quarters, AN380-2-2.

    Raises Refused callout.incomplete, callout.unknown and callout.impossible.
    """
    match = _match(_COTTER, part, f"{part.standard}-2-2")
    diameter, length = int(match[1]), int(match[2])
    if not (diameter and length):
        raise refusal("impossible", part.text, "a diameter and length above nought")
    tail = f"-{diameter}-{length}"
    return _cotter(part, tail, Fraction(diameter, 32), Fraction(length, 4))


def cotter_dash(part: SplitCallout) -> Reading:
    """A cotter pin whose dash is a row of a table: MS24665-132.

    Raises Refused callout.incomplete, callout.unknown, and callout.unknown_dash
    beyond the part of the table known here.
    """
    dash = str(int(_match(_COTTER_DASH, part, f"{part.standard}-132")[1]))
    row = _listed(part, "cotter_dashes", (dash,), "dash")
    return _cotter(
        part, f"-{dash}", Fraction(row["diameter_in"]), Fraction(row["length_in"])
    )
