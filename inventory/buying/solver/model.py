"""The order plan as a program: packs, parcels, thresholds, cutting.

Only who solves imports this: it loads numpy and scipy.
"""

import time
from collections.abc import Iterable
from math import ceil, inf
from typing import Any

from inventory.buying.rules.orderplan import PackOffer, Problem, SellerTerms
from inventory.buying.solver.program import Program, Solved, Unsolved

WHOLE = 1e-6

Row = tuple[int, int]  # an item and a day
Cutting = tuple[int, int, int]  # longer, shorter, by which day
Supply = dict[int, dict[int, float]]  # offer: packs by column


class Model:
    """The order plan as a program: packs, parcels, thresholds, cutting."""

    def __init__(self, problem: Problem) -> None:
        self.wants = problem.by_item()
        self.cuts: dict[Cutting, int] = {}
        self.few: dict[Row, float] = {}
        self.problem = problem
        self.most = {row.key: self._most(row) for row in problem.offers}
        barred = {row.key for row in problem.suppliers if not self._open(row)}
        self.offers = [row for row in problem.offers if row.supplier not in barred]
        self.program = Program()
        self.packs: Supply = {}

    def _open(self, supplier: SellerTerms) -> bool:
        """Whether all that is sold there comes to the minimum order."""
        most = sum(
            row.goods(self.most[row.key])
            for row in self.problem.offers
            if row.supplier == supplier.key
        )
        return most >= supplier.minimum

    def _most(self, offer: PackOffer) -> int:
        """More packs than this never pay: one fewer would cost less and do as well.

        Enough for all that is wanted, or for the goods that the parcel must come to by
        itself, at each price; beyond both, a pack fewer at the same price is cheaper.
        """
        supplier = next(s for s in self.problem.suppliers if s.key == offer.supplier)
        items = self._shorter_too(offer.item)
        wanted = sum(self.wants[item][-1].pieces for item in items & set(self.wants))
        most, goods = (
            ceil(wanted / offer.pieces),
            max(supplier.minimum, supplier.free_from or supplier.minimum),
        )
        for tier in offer.tiers:
            filled = ceil(goods / tier.price) if tier.price else 0
            here = max(tier.least, filled)
            most = max(most, here if tier.most is None else min(here, tier.most))
        return most if offer.most is None else min(most, offer.most)

    def _shorter_too(self, item: int) -> set[int]:
        """The item and all that may be cut from it, in one cut or several."""
        found, ahead = {item}, [item]
        while ahead:
            longer = ahead.pop()
            fresh = {c.shorter for c in self.problem.cuts if c.longer == longer} - found
            found |= fresh
            ahead += fresh
        return found

    def solve(self, gap: float, limit: float) -> Solved:
        """Least missed first, then least cost."""
        started = time.monotonic()
        self._miss_least()
        self.program, self.packs, self.cuts = Program(), {}, {}
        for supplier in self.problem.suppliers:
            self._parcel(supplier)
        self._cover(missable=False)
        left = max(0.1, limit - (time.monotonic() - started))
        return self._cut_whole(self.program.solve(gap, left))

    def _miss_least(self) -> None:
        """With every pack bought, what is still missing stays out of the plan."""
        self.program, self.packs, self.cuts = Program(), {}, {}
        for offer in self.offers:
            self.packs[offer.key] = {self.program.column(0, self.most[offer.key]): 1}
        missing = self._cover(missable=True)
        if not missing:
            return
        found = self.program.solve(limit=10.0)
        self.few = {
            row: ceil(found.values[column] - WHOLE)
            for row, column in missing.items()
            if found.values[column] > WHOLE
        }

    def _parcel(self, supplier: SellerTerms) -> None:
        """One supplier's packs, its shipping, hazard fee, minimum and free shipping."""
        mine = [row for row in self.offers if row.supplier == supplier.key]
        if not mine:
            return
        program = self.program
        sent = program.column(float(supplier.shipping), 1, True)
        goods: dict[int, float] = {}
        for offer in mine:
            goods |= self._packs(offer, sent)
        if supplier.minimum:
            program.row({**goods, sent: -float(supplier.minimum)}, least=0)
        if supplier.free_from is not None and supplier.shipping:
            free = program.column(-float(supplier.shipping), 1, True)
            program.row({**goods, free: -float(supplier.free_from)}, least=0)
            program.row({free: 1, sent: -1}, most=0)
        risky = [row for row in mine if row.hazardous]
        if supplier.hazard_fee and risky:
            hazard = program.column(float(supplier.hazard_fee), 1, True)
            for offer in risky:
                for column in self.packs[offer.key]:
                    program.row({column: 1, hazard: -self.most[offer.key]}, most=0)

    def _packs(self, offer: PackOffer, sent: int) -> dict[int, float]:
        """The offer's packs by price; returns what they cost, column by column."""
        program, most = self.program, self.most[offer.key]
        tier = offer.tiers[0]
        self.packs[offer.key] = {}
        if len(offer.tiers) == 1 and tier.least <= 1 and not tier.fee:
            packs = program.column(float(tier.price), most, True)
            program.row({packs: 1, sent: -most}, most=0)
            self.packs[offer.key][packs] = 1
            return {packs: float(tier.price)}
        goods, chosen = {}, {}
        for tier in offer.tiers:
            top = most if tier.most is None else min(most, tier.most)
            if top < tier.least:
                continue
            packs = program.column(float(tier.price), top, True)
            here = program.column(float(tier.fee), 1, True)
            program.row({packs: 1, here: -top}, most=0)
            program.row({packs: 1, here: -tier.least}, least=0)
            goods[packs], goods[here] = float(tier.price), float(tier.fee)
            chosen[here] = 1.0
            self.packs[offer.key][packs] = 1
        program.row({**chosen, sent: -1}, most=0)
        return goods

    def _cover(self, missable: bool) -> dict[Row, int]:
        """Enough of every item by every day; returns the columns of what is missed."""
        missing: dict[Row, int] = {}
        for cut in self.problem.cuts:
            for want in self.wants.get(cut.shorter, ()):
                key = (cut.longer, cut.shorter, want.day)
                cost = 0.0 if missable else float(cut.cost)
                self.cuts[key] = self.program.column(cost, want.pieces)
        aging = {row.item for row in self.offers if row.life_days is not None}
        items = set(self.wants) | {cut.longer for cut in self.problem.cuts}
        for item in sorted(items):
            rows = self._served(item) if item in aging else self._through(item)
            for day, terms, least in rows:
                if missable:
                    missing[item, day] = self.program.column(1)
                    terms[missing[item, day]] = 1
                else:
                    least -= self.few.get((item, day), 0)
                self.program.row(terms, least=least)
        return missing

    def _through(self, item: int) -> Iterable[tuple[int, dict[int, float], float]]:
        """All that is here through a day against all that is wanted through it."""
        wants = {want.day: want.pieces for want in self.wants.get(item, ())}
        away = {day for longer, _, day in self.cuts if longer == item}
        for day in sorted(away | set(wants)):
            terms = self._packs_of(item, lambda offer, day=day: offer.lead_days <= day)
            for (longer, shorter, on), column in self.cuts.items():
                if on <= day and item in (longer, shorter):
                    terms[column] = 1.0 if shorter == item else -1.0
            wanted = max([0, *(n for on, n in wants.items() if on <= day)])
            yield day, terms, wanted - self.problem.spare.get(item, 0)

    def _served(self, item: int) -> Iterable[tuple[int, dict[int, float], float]]:
        """What has a life serves a day while it lasts: each day is served by name."""
        served: dict[int, dict[int, float]] = {}
        for offer in (row for row in self.offers if row.item == item):
            given = dict.fromkeys(self.packs[offer.key], -offer.pieces)
            terms: dict[int, float] = dict(given)
            for want in self.wants.get(item, ()):
                if offer.serves(want.day):
                    column = self.program.column(0)
                    terms[column] = 1
                    served.setdefault(want.day, {})[column] = 1
            self.program.row(terms, most=0)
        before = 0
        for want in self.wants.get(item, ()):
            new, before = want.pieces - before, want.pieces
            yield want.day, served.get(want.day, {}), new

    def _packs_of(self, item: int, here: Any) -> dict[int, float]:
        return {
            column: float(offer.pieces)
            for offer in self.offers
            if offer.item == item and here(offer)
            for column in self.packs[offer.key]
        }

    def _cut_whole(self, found: Solved) -> Solved:
        """Whole pieces are cut: with the packs held, a corner of what is left is whole."""
        cut = [found.values[column] for column in self.cuts.values()]
        if all(abs(value - round(value)) < WHOLE for value in cut):
            return found
        held = {
            column: round(float(found.values[column]))
            for column, whole in enumerate(self.program.whole)
            if whole
        }
        corner = self.program.solve(limit=10.0, fixed=held)
        return Solved(corner.values, corner.cost, found.bound, found.proven)

    def answer(self, found: Solved) -> dict[str, Any]:
        """The solution as JSON."""
        counts = {
            key: sum(round(float(found.values[column])) for column in columns)
            for key, columns in self.packs.items()
        }
        pieces = {
            key: round(float(found.values[column])) for key, column in self.cuts.items()
        }
        return {
            "packs": [[key, count] for key, count in counts.items() if count],
            "cuts": [[*key, count] for key, count in pieces.items() if count],
            "few": [[*row, int(count)] for row, count in self.few.items()],
            "bound": found.bound if found.bound > -inf else 0.0,
            "proven": found.proven,
        }


def solved(problem: Problem, gap: float, limit: float) -> dict[str, Any]:
    """The answer to a problem within reach, or why there is none."""
    if not problem.wants:
        return {"packs": [], "cuts": [], "few": [], "bound": 0.0, "proven": True}
    model = Model(problem)
    try:
        return model.answer(model.solve(gap, limit))
    except Unsolved as reason:
        return {"refused": str(reason)}
