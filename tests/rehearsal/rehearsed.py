"""Small builds for the rehearsal's tests, and a shop whose truth is hidden."""

import numpy as np

from inventory.rehearsal.world import aircraft, builders

# What no record says: the bins themselves, the market's chance, what parcels hold.
HIDDEN = ("here", "market", "receive", "stopped", "lost_days")


def small(seed, rivets=1500):
    """A small random aircraft and one builder's work on it."""
    rng = np.random.default_rng([9, seed])
    flown = aircraft.at_random(rng, rivets)
    return flown, builders.draw(flown, rng)


class Blindfold:
    """A shop of which only the record is seen; parcels are sealed."""

    def __init__(self, shop):
        self._shop, self._sealed = shop, {}

    def __getattr__(self, name):
        assert name not in HIDDEN, f"looked at {name}"
        return getattr(self._shop, name)

    @property
    def coming(self):
        """The parcels on the way: that they are, and nothing of them."""
        return [
            self._sealed.setdefault(id(each), (each, object()))[1]
            for each in self._shop.coming
        ]


class Blindfolded:
    """A policy that meets the shop and the jobs as the record has them."""

    def __init__(self, policy):
        self.policy, self.name, self.shop = policy, policy.name, None

    def _blind(self, shop):
        self.shop = self.shop or Blindfold(shop)
        return self.shop

    def begin(self, shop):
        self.policy.begin(self._blind(shop))

    def received(self, shop):
        self.policy.received(self._blind(shop))

    def review(self, shop):
        self.policy.review(self._blind(shop))

    def stage_begins(self, shop, stage):
        self.policy.stage_begins(self._blind(shop), stage)

    def worked(self, shop, stage, entry):
        self.policy.worked(self._blind(shop), stage, entry)

    def nearly_empty(self, shop, part, pieces):
        self.policy.nearly_empty(self._blind(shop), part, pieces)

    def run_out(self, shop, part, missing):
        self.policy.run_out(self._blind(shop), part, missing)
