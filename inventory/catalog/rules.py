"""The kinds of things a bench stocks, and how each is named down to its size."""

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.errors import Refused
from inventory.sheets import Row
from inventory.trade.drills import drill

MAX_TEXT = 120
# The columns of a list that say what a thing is when no callout does; only some kinds
# have the last ones.
TRAITS = ("angle", "pilot", "thread")
# How other people's lists name the column of callouts: common practice, no source.
PART_NUMBER = ("part number", "part no", "part", "p/n", "pn", "part #", "rivet")
DESCRIBED = ("kind", "size", "form", "name", "unit", *TRAITS)


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of bench stock: its plain word, its unit, and how it behaves.

    `sized`: it is known by a size, not a name; `forms` it comes in, the usual one first;
    `details` only it has. `fastener`: a drawing asks for it piece by piece. `consumed`:
    using it uses it up. `driven`: set by force, so that one mistake spoils many.
    `mixed`: it is mixed for the work and sets. `upset`: its own shank becomes the second head, so that a longer one can be cut down.
    `one_at_a_time`: each piece is taken alone and gets its own number. `holding`: the
    forms that hold sheets through a hole, the usual one first. `for_heads`: the driven
    heads that want one of it. `hazardous`: it may not go by plain post.
    """

    code: str
    word: str
    unit: str = "pcs"
    sized: bool = False
    forms: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    fastener: bool = False
    consumed: bool = False
    driven: bool = False
    upset: bool = False
    one_at_a_time: bool = False
    holding: tuple[str, ...] = ()
    for_heads: tuple[str, ...] = ()
    mixed: bool = False
    hazardous: bool = False


def _fastener(
    code: str, word: str, *, driven: bool = False, upset: bool = False
) -> Kind:
    return Kind(
        code=code, word=word, fastener=True, consumed=True, driven=driven, upset=upset
    )


_FLUSH = ("flush", "reduced flush")
# Forms, and which head wants which tool: common practice, no source; the drawing says
# whether a flush sheet is dimpled or countersunk.
KINDS: dict[str, Kind] = {
    kind.code: kind
    for kind in (
        _fastener("solid_rivet", "solid rivet", driven=True, upset=True),
        _fastener("blind_rivet", "blind rivet", driven=True),
        _fastener("pin_rivet", "pin rivet"),
        _fastener("screw", "screw"),
        _fastener("bolt", "bolt"),
        _fastener("nut", "nut"),
        _fastener("washer", "washer"),
        _fastener("cotter_pin", "cotter pin"),
        Kind(
            code="drill",
            word="drill",
            sized=True,
            forms=("plain", "6 in", "12 in", "angled threaded", "step", "acrylic"),
            one_at_a_time=True,
        ),
        Kind(
            code="countersink",
            word="countersink cutter",
            sized=True,
            details=("angle", "pilot", "thread"),
            for_heads=_FLUSH,
        ),
        Kind(code="reamer", word="reamer", sized=True),
        Kind(code="deburring", word="deburring cutter"),
        Kind(
            code="temporary_fastener",
            word="temporary fastener",
            sized=True,
            forms=("standard", "short", "edge clamp", "high clamp"),
            holding=("standard", "short"),
        ),
        Kind(code="dimple_die", word="dimple die set", sized=True, for_heads=_FLUSH),
        Kind(
            code="driving_set",
            word="driving set",
            sized=True,
            for_heads=("universal", "round"),
        ),
        Kind(
            code="sealant",
            word="sealant",
            unit="ml",
            consumed=True,
            mixed=True,
            hazardous=True,
        ),
        Kind(code="primer", word="primer", unit="ml", consumed=True, hazardous=True),
        Kind(code="abrasive", word="abrasive", consumed=True),
        Kind(code="other", word="other", consumed=True),
    )
}
UNITS = ("pcs", "ml", "g", "mm")


def _codes(kinds: Iterable[Kind]) -> frozenset[str]:
    return frozenset(kind.code for kind in kinds)


FASTENERS = _codes(kind for kind in KINDS.values() if kind.fastener)
DRIVEN = _codes(kind for kind in KINDS.values() if kind.driven)
UPSET = _codes(kind for kind in KINDS.values() if kind.upset)
ONE_AT_A_TIME = _codes(kind for kind in KINDS.values() if kind.one_at_a_time)
HOLDING = _codes(kind for kind in KINDS.values() if kind.holding)
HAZARDOUS = _codes(kind for kind in KINDS.values() if kind.hazardous)
# The kinds of which one will do for a driven head, by head: a die before a cutter.
TOOLS_OF_HEADS = {
    head: tuple(row.code for row in reversed(KINDS.values()) if head in row.for_heads)
    for kind in KINDS.values()
    for head in kind.for_heads
}


@dataclass(frozen=True)
class Description:
    """What an item is when no callout says it: kind, size, form, name."""

    kind: str
    size: str = ""
    form: str = ""
    name: str = ""
    unit: str = ""
    traits: tuple[tuple[str, str], ...] = ()

    @property
    def key(self) -> str:
        """The same text for the same thing, whoever typed it."""
        extra = ",".join(f"{name}={value}" for name, value in self.traits)
        parts = (self.kind, self.size, self.form, self.name.lower(), extra)
        return ":".join(parts).rstrip(":")

    @property
    def words(self) -> str:
        """Plain words for a label: '#40 drill, 6 in'."""
        if self.name:
            return self.name
        base = f"{self.size} {KINDS[self.kind].word}".strip()
        form = "" if self.form in ("", "plain", "standard") else f", {self.form}"
        extra = "".join(f", {name} {value}" for name, value in self.traits)
        return base + form + extra


def kind_of(text: str) -> Kind:
    """The kind a person's word names. Errors: `catalog.kind`."""
    wanted = text.strip().lower().replace("-", " ").replace("_", " ")
    for kind in KINDS.values():
        if wanted in (kind.code.replace("_", " "), kind.word, kind.word + "s"):
            return kind
    raise Refused(
        "catalog.kind",
        f"'{text[:40]}' is no kind of bench stock; write one of: "
        + ", ".join(kind.word for kind in KINDS.values())
        + ".",
        {"kind": text[:40]},
    )


def described(
    kind: str,
    *,
    size: str = "",
    form: str = "",
    name: str = "",
    unit: str = "",
    traits: dict[str, str] | None = None,
) -> Description:
    """A checked description.

    Errors: `catalog.kind`, `catalog.size`, `catalog.form`, `catalog.unit`,
    `catalog.text`.
    """
    row = kind_of(kind)
    _short_enough(name, size, form)
    if row.sized and not size:
        raise Refused(
            "catalog.size", f"A {row.word} needs a size, such as #40 or 3/32."
        )
    if not row.sized and not name:
        raise Refused("catalog.text", f"A {row.word} without a callout needs a name.")
    unit = unit or row.unit
    if unit not in UNITS:
        raise Refused(
            "catalog.unit", f"'{unit}' is no unit here; write pcs, ml, g or mm."
        )
    if row.sized:
        name = ""
    form = _form_of(row, form)
    kept = tuple((t, (traits or {})[t]) for t in row.details if (traits or {}).get(t))
    return Description(row.code, size, form, name.strip(), unit, kept)


def described_by(words: str) -> Description | None:
    """What plain words describe: '#40 drill, 6 in', '1/8 temporary fastener'.

    None where they are no size, a sized kind and a form of it.
    """
    text, _, form = words.partition(",")
    size, _, word = text.strip().partition(" ")
    kinds = [
        kind for kind in KINDS.values() if kind.sized and kind.word == word.strip()
    ]
    try:
        drill(size)
        return described(kinds[0].code, size=size, form=form) if kinds else None
    except Refused:
        return None


# What builders stock most, to be chosen while it is typed: common practice, no source.
_RIVETS = ("MS20470AD", "MS20426AD")
_LENGTHS = ("3", "3.5", "4", "4.5", "5", "5.5", "6", "7", "8", "9", "10", "12", "14")
_DRILLS = ("#51", "#41", "#40", "#36", "#30", "#27", "#21", "#19", "#12", "#10", "1/4")
_HOLDERS = ("3/32", "1/8", "5/32", "3/16")
USUAL_CALLOUTS = tuple(
    f"{head}{diameter}-{length}"
    for head in _RIVETS
    for diameter in (3, 4, 5, 6)
    for length in _LENGTHS
)
USUAL_WORDS = (
    *(f"{size} drill{form}" for size in _DRILLS for form in ("", ", 6 in", ", 12 in")),
    *(f"{size} temporary fastener" for size in _HOLDERS),
)


def described_in(row: Row) -> Description:
    """What a list's row describes; without size and name its callout is its name.

    Errors as `described`.
    """
    size = row["size"].strip()
    return described(
        row["kind"],
        size=size,
        form=row["form"],
        name=row["name"].strip() or ("" if size else row["callout"].strip()),
        unit=row["unit"].strip(),
        traits={key: row[key].strip() for key in TRAITS},
    )


def _form_of(row: Kind, form: str) -> str:
    form = form.strip().lower() or (row.forms[0] if row.forms else "")
    if row.forms and form not in row.forms:
        raise Refused(
            "catalog.form",
            f"A {row.word} comes as {', '.join(row.forms)}; '{form}' is none of them.",
            {"form": form},
        )
    return form if row.forms else ""


def _short_enough(*texts: str) -> None:
    for text in texts:
        if len(text) > MAX_TEXT:
            raise Refused(
                "catalog.text",
                f"'{text[:30]}...' is longer than {MAX_TEXT} characters: shorten it.",
            )
