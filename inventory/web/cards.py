"""The cards of the bench: number, word, and what each does, in the order of the sheet."""

ACTION_CARDS = (
    (1, "pull", "take from the next bin, for the open assembly"),
    (2, "return", "put back into the next bin"),
    (3, "count", "say how many the next bin really holds"),
    (4, "scrap", "spoiled or drilled out: gone for good"),
    (5, "receive", "goods that came, into the next bin"),
    (6, "undo", "take back the last thing that was done"),
    (10, "put the undo back", "what was taken back holds again"),
    (7, "cancel", "forget what was begun; nothing moves"),
    (9, "confirm", "do what the bench shows, now"),
    (8, "leave the bench", "the next person scans their badge"),
    (11, "why: repair", "pulled with no assembly open"),
    (12, "why: practice", "pulled with no assembly open"),
    (13, "why: outside the plan", "pulled with no assembly open"),
    (14, "why: stands in", "another tin than asked, instead of it"),
    (15, "why: spare", "another tin than asked, on top of it"),
    (16, "why: other assembly", "another tin than asked, for other work"),
    (24, "bit: fitted", "scan the bit's tag first; in use from now"),
    (21, "bit: dull", "scan the bit's tag first; laid aside"),
    (22, "bit: broken", "scan the bit's tag first; gone for good"),
    (23, "bit: resharpened", "scan the bit's tag first; as new again"),
)
QUANTITY_CARDS = (*range(10), 10, 20, 25, 50, 100)
