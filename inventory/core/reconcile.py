"""What came against what was ordered: to the log and to the cent."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.core.order import ClassLine, amount_of, total_of

LENGTH_SLACK_MM = Decimal(25)  # common practice, no source: an inch short is let pass, longer always


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledLog:
    """A log that came, with the quantity that is paid: as the mill scaled it, and as we do.

    `line` is the order's line it counts for; None: nothing like it was ordered. Measures are the crew's own
    once there are any (`measured`), until then the mill's.
    """

    line: int | None
    length_mm: Decimal
    middle_mm: Decimal
    measured: bool
    mill_quantity: Decimal | None
    our_quantity: Decimal | None
    rejected: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAccount:
    """One line of the order settled. `ordered + over = accepted + short`, `delivered = accepted + rejected`.

    `billed_amount` is every log that came by the mill's scale, `to_pay_amount` those accepted;
    `difference_amount` is what the mill's scale makes of those more than ours. None: not known.
    """

    line: int | None
    ordered: int
    delivered: int
    accepted: int
    rejected: int
    short: int
    over: int
    outside: int
    not_measured: int
    ordered_amount: Decimal | None
    mill_quantity: Decimal | None
    our_quantity: Decimal | None
    billed_amount: Decimal | None
    rejected_amount: Decimal | None
    to_pay_amount: Decimal | None
    our_amount: Decimal | None
    difference_amount: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciliation:
    """Every line and, if such logs came, what was not ordered; `total` adds them up exactly."""

    lines: tuple[LineAccount, ...]
    total: LineAccount


def outside_class(log: ScaledLog, line: ClassLine) -> tuple[str, ...]:
    """In what a log is outside the class that was ordered, in words; empty: it is as ordered."""
    found = []
    if log.middle_mm < line.least_middle_mm:
        found.append("too_thin")
    if log.middle_mm > line.largest_middle_mm:
        found.append("too_thick")
    if log.length_mm < line.length_mm - LENGTH_SLACK_MM:
        found.append("too_short")
    return tuple(found)


def line_for(
    *,
    species: str,
    length_mm: Decimal,
    middle_mm: Decimal,
    lines: Sequence[ClassLine],
    open_count: dict[int, int],
) -> int | None:
    """The line that a log counts for: of its species and nearest in length and class, of equals an open one.

    A log without a species may be of any line's. None: no line is of its species. `open_count` is how many
    each line still lacks; the log is taken off it. A millimetre off the class weighs as ten off the length
    (common practice, no source).
    """
    alike = [one for one in lines if not species or _key(one.species) == _key(species)]
    if not alike:
        return None

    def misfit(line: ClassLine) -> tuple[Decimal, bool, Decimal, int]:
        off_class = max(line.least_middle_mm - middle_mm, middle_mm - line.largest_middle_mm, Decimal(0))
        off_length = abs(length_mm - line.length_mm)
        off = max(off_length - LENGTH_SLACK_MM, Decimal(0)) + 10 * off_class
        return off, open_count.get(line.line, 0) <= 0, off_length, line.line

    fitting = min(alike, key=misfit).line
    open_count[fitting] = open_count.get(fitting, 0) - 1
    return fitting


def reconcile(
    lines: Sequence[ClassLine], logs: Iterable[ScaledLog], *, ordered_amounts: Sequence[Decimal | None]
) -> Reconciliation:
    """The account of an order; `ordered_amounts` are those of the lines, in their order."""
    by_line: dict[int | None, list[ScaledLog]] = {}
    for log in logs:
        by_line.setdefault(log.line, []).append(log)
    accounts = [
        _account(line, by_line.pop(line.line, []), ordered_amount=amount)
        for line, amount in zip(lines, ordered_amounts, strict=True)
    ]
    if unordered := [log for rest in by_line.values() for log in rest]:
        accounts.append(_not_ordered(unordered))
    return Reconciliation(lines=tuple(accounts), total=_total(accounts))


def _account(line: ClassLine, logs: list[ScaledLog], *, ordered_amount: Decimal | None) -> LineAccount:
    accepted = [log for log in logs if not log.rejected]
    mill_quantity = total_or_none(log.mill_quantity for log in accepted)
    our_quantity = total_or_none(log.our_quantity for log in accepted)
    billed = amount_of(line.price, total_or_none(log.mill_quantity for log in logs))
    to_pay = amount_of(line.price, mill_quantity)
    ours = amount_of(line.price, our_quantity)
    return LineAccount(
        line=line.line,
        ordered=line.count,
        delivered=len(logs),
        accepted=len(accepted),
        rejected=len(logs) - len(accepted),
        short=max(line.count - len(accepted), 0),
        over=max(len(accepted) - line.count, 0),
        outside=sum(bool(outside_class(log, line)) for log in accepted),
        not_measured=sum(not log.measured for log in accepted),
        ordered_amount=ordered_amount,
        mill_quantity=mill_quantity,
        our_quantity=our_quantity,
        billed_amount=billed,
        # What is left of the bill, so that the three always add up to the cent.
        rejected_amount=_less(billed, to_pay),
        to_pay_amount=to_pay,
        our_amount=ours,
        difference_amount=_less(to_pay, ours),
    )


def _not_ordered(logs: list[ScaledLog]) -> LineAccount:
    """Logs that no line asked for: all over, no price agreed, so nothing of them is to be paid."""
    accepted = [log for log in logs if not log.rejected]
    nothing = Decimal("0.00")
    return LineAccount(
        line=None,
        ordered=0,
        delivered=len(logs),
        accepted=len(accepted),
        rejected=len(logs) - len(accepted),
        short=0,
        over=len(accepted),
        outside=len(accepted),
        not_measured=sum(not log.measured for log in accepted),
        ordered_amount=nothing,
        mill_quantity=total_or_none(log.mill_quantity for log in accepted),
        our_quantity=total_or_none(log.our_quantity for log in accepted),
        billed_amount=nothing,
        rejected_amount=nothing,
        to_pay_amount=nothing,
        our_amount=nothing,
        difference_amount=nothing,
    )


def _total(accounts: Sequence[LineAccount]) -> LineAccount:
    def counted(name: str) -> int:
        return sum(getattr(one, name) for one in accounts)

    def money(name: str) -> Decimal | None:
        return total_of(getattr(one, name) for one in accounts)

    return LineAccount(
        line=None,
        ordered=counted("ordered"),
        delivered=counted("delivered"),
        accepted=counted("accepted"),
        rejected=counted("rejected"),
        short=counted("short"),
        over=counted("over"),
        outside=counted("outside"),
        not_measured=counted("not_measured"),
        ordered_amount=money("ordered_amount"),
        mill_quantity=total_or_none(one.mill_quantity for one in accounts),
        our_quantity=total_or_none(one.our_quantity for one in accounts),
        billed_amount=money("billed_amount"),
        rejected_amount=money("rejected_amount"),
        to_pay_amount=money("to_pay_amount"),
        our_amount=money("our_amount"),
        difference_amount=money("difference_amount"),
    )


def total_or_none(quantities: Iterable[Decimal | None]) -> Decimal | None:
    """The sum, or None if one of them is not known."""
    total = Decimal(0)
    for quantity in quantities:
        if quantity is None:
            return None
        total += quantity
    return total


def _less(one: Decimal | None, other: Decimal | None) -> Decimal | None:
    return None if one is None or other is None else one - other


def _key(name: str) -> str:
    return " ".join(name.casefold().split())
