"""What a soak prints: operations with their times, memory, connections and the queue's age over time."""

import statistics
from collections.abc import Callable, Iterator

from tests.soak.calling import Book
from tests.soak.watching import Sample, slope_per_hour

_MOMENTS = 6


def operations(book: Book) -> Iterator[str]:
    """Each operation with its number of requests and its times, then all together."""
    yield f"{'operation':<28} {'requests':>8} {'p50 ms':>8} {'p95 ms':>8} {'p99 ms':>8} {'most ms':>8}"
    for operation, took in sorted(book.took_ms.items()):
        yield _operation(operation, took)
    yield _operation("all", [one for took in book.took_ms.values() for one in took])
    for what, count in sorted(book.refused.items()):
        yield f"refused as foreseen: {count} x {what}"
    turns = ", ".join(f"{count} of {role}" for role, count in sorted(book.turns.items()))
    yield f"whole turns: {turns or 'none'}; idle connections opened again: {book.reconnected}"
    yield f"requests: {book.requests}, errors: {book.errors}"
    for words in book.told_errors:
        yield f"  ERROR {words}"


def _operation(operation: str, took: list[float]) -> str:
    at = [_share(took, share) for share in (0.5, 0.95, 0.99, 1)]
    return f"{operation:<28} {len(took):>8} " + " ".join(f"{one:>8.0f}" for one in at)


def _share(took: list[float], share: float) -> float:
    """The time that this share of the requests did not exceed."""
    ordered = sorted(took)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)] if ordered else 0.0


def over_time(samples: list[Sample], *, warm_s: float) -> Iterator[str]:
    """A row for each process, one for the connections, one for the queue; slopes after the warm-up."""
    moments = _moments(samples, warm_s)
    heads = " ".join(f"{_clock(one.at_s):>8}" for one in moments)
    yield f"{'':<28} {heads} {'an hour':>9}  (slope from {_clock(warm_s)} to the end)"
    rows: dict[str, Callable[[Sample], float]] = {
        f"memory of {name}, MB": lambda one, name=name: one.memory_mb[name]  # type: ignore[misc]
        for name in samples[0].memory_mb
    }
    rows["database connections"] = lambda one: one.connections
    rows["oldest due job waits, s"] = lambda one: one.queue_age_s
    late = [one for one in samples if one.at_s >= warm_s]
    for name, value in rows.items():
        figures = " ".join(f"{value(one):>8.1f}" for one in moments)
        slope = slope_per_hour([(one.at_s, value(one)) for one in late])
        yield f"{name:<28} {figures} {slope:>+9.1f}"
    waits = [one.queue_age_s for one in samples]
    yield f"queue's age: median {statistics.median(waits):.1f} s, most {max(waits):.1f} s"
    yield f"database connections: most {max(one.connections for one in samples)}"


def _moments(samples: list[Sample], warm_s: float) -> list[Sample]:
    """The first look, the one after the warm-up, some between, and the last."""
    late = [one for one in samples if one.at_s >= warm_s] or samples
    step = max((len(late) - 1) / (_MOMENTS - 1), 1)
    chosen = [late[min(round(number * step), len(late) - 1)] for number in range(_MOMENTS)]
    return list({one.at_s: one for one in (samples[0], *chosen, samples[-1])}.values())


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02}"
