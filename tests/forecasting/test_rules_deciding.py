"""What is decided of a day's facts: few bins to count, the first day to order."""

from datetime import date, timedelta

from inventory.forecasting.rules.deciding import MOST_LOOKS, Facts, decide
from inventory.forecasting.rules.readiness import OnHand, StageAsk, Supplies
from inventory.forecasting.rules.use import Belief
from inventory.ordering.rules.leads import Due, Lead

TODAY = date(2027, 3, 1)
ITEMS = range(1, 13)


def facts(held, due=()):
    """A stage that asks a hundred of each of twelve items, five days from the bench."""
    stage = StageAsk(
        1, TODAY + timedelta(20), TODAY + timedelta(50), dict.fromkeys(ITEMS, 100)
    )
    supplies = Supplies(
        dict.fromkeys(ITEMS, held),
        due,
        dict.fromkeys(ITEMS, Belief(400.0, 4.0, None)),
        dict.fromkeys(ITEMS, Lead(5, False)),
    )
    return Facts([stage], supplies, 0.95)


def test_no_more_bins_than_five_are_asked_to_be_counted():
    looks = decide(facts(OnHand(112, 15.0))).looks
    assert len(looks) == MOST_LOOKS == 5
    assert [look.worth for look in looks] == sorted(
        (look.worth for look in looks), reverse=True
    )


def test_a_look_is_asked_for_where_it_tells_enough_and_else_a_count():
    """A doubt that a look does not lessen is for a count."""
    wide = decide(facts(OnHand(200, 50.0))).looks
    narrow = decide(facts(OnHand(106, 5.0))).looks
    assert [look.counts for look in wide] == [False] * MOST_LOOKS
    assert [look.counts for look in narrow] == [True] * MOST_LOOKS


def test_the_first_day_to_order_is_that_of_what_may_run_short():
    assert decide(facts(OnHand(500))).order_by is None
    short = decide(facts(OnHand(90)))
    assert short.order_by == TODAY + timedelta(15)
    assert {wish.item for wish in short.wishes} == set(ITEMS)
    # What is all on its way is not ordered again.
    coming = [Due(item, 200, TODAY + timedelta(30)) for item in ITEMS]
    late = decide(facts(OnHand(90), coming))
    assert late.order_by is None
    assert all(line.short for row in late.stages for line in row.lines)
