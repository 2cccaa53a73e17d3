"""The short form of `make torture`: a few kills while clients write, held to the same as in the long one."""

from tests.torture.run import torture
from tests.torture.victims import VICTIMS, rounds_of


def test_whoever_is_killed_nothing_acknowledged_is_lost_and_nothing_is_half():
    # This seed kills web in an import, a search, and PostgreSQL in a tally. A worker is missed only when it
    # has been silent for half a minute, which is for the long form.
    ledger = torture(rounds=3, seed=198, minutes=60, loud=False)

    assert ledger.violations == []
    assert ledger.rounds == 3
    assert len(ledger.acknowledged) > 10


def test_the_seed_decides_who_is_killed_and_everyone_has_their_turn():
    planned = rounds_of(seed=7, count=200)

    assert planned == rounds_of(seed=7, count=200)
    assert planned != rounds_of(seed=8, count=200)
    for victim in VICTIMS:
        assert sum(one.victim is victim for one in planned) == 200 // len(VICTIMS)
