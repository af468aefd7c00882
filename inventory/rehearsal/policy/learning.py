"""What a build's record teaches: classes borrow from each other, bursts are shop-wide."""

from collections import defaultdict

from inventory.forecasting.rules.bursts import Bursts
from inventory.forecasting.rules.pooling import pooled
from inventory.forecasting.rules.record import Closed, split
from inventory.forecasting.rules.spoilage import Beta
from inventory.forecasting.rules.use import Belief


class Learning:
    """Beliefs by class from the closed assemblies' record.

    A row moves its own class at once; what it says of the other classes is reckoned
    when `pool` is called, once a stage.
    """

    def __init__(self) -> None:
        self.bursts = Bursts()
        self._record: dict[str, Beta] = defaultdict(lambda: Beta(0.0, 0.0))
        self._known: dict[str, Beta] = {}
        self._other = Beta()

    def belief(self, name: str) -> Belief:
        """What is believed of a class today."""
        known = self._known.get(name, self._other)
        return Belief(known.good, known.bad, self.bursts)

    def closed(self, name: str, good: int, bad: int) -> None:
        """An assembly's pieces of a class: set well, and spoiled."""
        part = split(Closed(good, bad), self.belief(name))
        self.bursts = self.bursts.after(part.good, [part.burst] if part.burst else [])
        known = self._known.get(name, self._other)
        self._known[name] = known.seen(part.good, part.ordinary)
        self._record[name] = self._record[name].seen(part.good, part.ordinary)

    def pool(self) -> None:
        """Let every class borrow from the others' record."""
        if self._record:
            found = pooled(self._record, Beta())
            self._known, self._other = dict(found.classes), found.population
