"""Many hands at once, each with a connection of its own."""

from concurrent.futures import ThreadPoolExecutor

from django.db import connections


def in_parallel(work, times):
    """What `work` gives for each number below `times`, all begun together."""

    def one(number):
        try:
            return work(number)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(times) as pool:
        return list(pool.map(one, range(times)))
