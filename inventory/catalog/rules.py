"""The kinds of things a bench stocks, and how each is named down to its size."""

from dataclasses import dataclass

from inventory.errors import Refused

MAX_TEXT = 120


@dataclass(frozen=True)
class Kind:
    """One kind of bench stock: its plain word, its unit, the forms it comes in."""

    code: str
    word: str
    unit: str = "pcs"
    forms: tuple[str, ...] = ()
    sized: bool = False
    traits: tuple[str, ...] = ()


# Forms: common practice, no source.
KINDS: dict[str, Kind] = {
    kind.code: kind
    for kind in (
        Kind("solid_rivet", "solid rivet"),
        Kind("blind_rivet", "blind rivet"),
        Kind("pin_rivet", "pin rivet"),
        Kind("screw", "screw"),
        Kind("bolt", "bolt"),
        Kind("nut", "nut"),
        Kind("washer", "washer"),
        Kind("cotter_pin", "cotter pin"),
        Kind(
            "drill",
            "drill",
            sized=True,
            forms=("plain", "6 in", "12 in", "angled threaded", "step", "acrylic"),
        ),
        Kind(
            "countersink",
            "countersink cutter",
            sized=True,
            traits=("angle", "pilot", "thread"),
        ),
        Kind("reamer", "reamer", sized=True),
        Kind("deburring", "deburring cutter"),
        Kind(
            "temporary_fastener",
            "temporary fastener",
            sized=True,
            forms=("standard", "short", "edge clamp", "high clamp"),
        ),
        Kind("dimple_die", "dimple die set", sized=True),
        Kind("driving_set", "driving set", sized=True),
        Kind("sealant", "sealant", unit="ml"),
        Kind("primer", "primer", unit="ml"),
        Kind("abrasive", "abrasive"),
        Kind("other", "other"),
    )
}
UNITS = ("pcs", "ml", "g", "mm")
FASTENERS = frozenset(
    {
        "solid_rivet",
        "blind_rivet",
        "pin_rivet",
        "screw",
        "bolt",
        "nut",
        "washer",
        "cotter_pin",
    }
)


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
    kept = tuple((t, (traits or {})[t]) for t in row.traits if (traits or {}).get(t))
    return Description(row.code, size, form, name.strip(), unit, kept)


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
