"""A log as charted: its taper by stations, dangers, crown, the pieces cut or to be cut, balance points."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.crew_units import CrewUnits, Sentence
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, framed, pen_for
from inventory.core.drawings.hazards import HazardToDraw, hazard_entries, hazard_sign
from inventory.core.drawings.pen import CENTRE_LINE, DASHED, FAINT, PENCIL, TIMBER, Pen, Point, group
from inventory.core.drawings.svg import BadDrawing, Box, SvgElement
from inventory.core.lifting import balance_point
from inventory.core.profile import LogProfile, diameter_mm_at

# A crown of a finger's breadth in six metres is not seen at scale.
BOW_TIMES = 10.0
LIFTING = "Balance points are estimates: try each lift a hand's breadth off the ground, stand clear."
NOT_LOOKED_AT = "crown unknown: nobody looked at it yet"
METAL = "Metal in this log: keep every saw and chisel away from it."


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOfLog:
    """A piece that is cut from the log, or is to be; `words` say where it goes."""

    from_butt_mm: float
    to_mm: float
    words: str
    is_set: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LogToDraw:
    """Everything the drawing of a log shows."""

    number: str
    about: str
    profile: LogProfile
    units: CrewUnits
    crown_mm: float | None = 0.0
    crown_side: str | None = None
    crown_at_mm: float | None = None
    crook_mm: float = 0.0
    crook_at_mm: float | None = None
    hazards: tuple[HazardToDraw, ...] = ()
    pieces: tuple[PieceOfLog, ...] = ()
    remarks: str = ""


def draw_log(log: LogToDraw) -> str:
    """The log as SVG, one unit a millimetre: x from its butt end, y from its axis.

    The polygon with `data-log` has the log's diameter at every station. Raises BadDrawing for a piece that
    runs beyond the log.
    """
    length = log.profile.length_mm
    for piece in log.pieces:
        if not 0 <= piece.from_butt_mm < piece.to_mm <= length + 0.01:
            raise BadDrawing(
                log.units.say(
                    Sentence(
                        "no piece from {start:along} to {end:along} in {length:along}",
                        start=piece.from_butt_mm,
                        end=piece.to_mm,
                        length=length,
                    )
                )
            )
    pen = pen_for("log", width_mm=length, height_mm=1.0)
    thickest = max(diameter_mm_at(log.profile, at) for at in (0.0, length, *_stations(log)))
    below = thickest / 2 + pen.mm(4)
    dangers, below = _hazards(pen, log, below)
    bow, below = _bow(pen, log, below)
    pieces, below = _pieces(pen, log, below)
    content = Box(left=-pen.mm(10), top=-thickest / 2 - pen.mm(13), right=length + pen.mm(8), bottom=below)
    return framed(
        pen,
        heading=_heading(log),
        content=content,
        marks=[_body(pen, log), *_readings(pen, log, thickest / 2), *dangers, *bow, *pieces],
        legend=_legend(log),
        units=log.units,
    )


def _stations(log: LogToDraw) -> list[float]:
    return [at for at, _ in log.profile.stations]


def _body(pen: Pen, log: LogToDraw) -> SvgElement:
    places = sorted({0.0, log.profile.length_mm, *_stations(log)})
    half = [(at, diameter_mm_at(log.profile, at) / 2) for at in places]
    outline = [(at, -r) for at, r in half] + [(at, r) for at, r in reversed(half)]
    return group(
        pen.path(outline, fill=TIMBER, weight=0.45, data_log=log.number),
        pen.line((0, -half[0][1]), (0, half[0][1]), weight=1.3),
        pen.line((0, 0), (log.profile.length_mm, 0), weight=0.12, dash=CENTRE_LINE, colour=FAINT),
        pen.text((pen.mm(-2), pen.mm(1)), "butt", size=2.8, anchor="end"),
        pen.text((log.profile.length_mm + pen.mm(2), pen.mm(1)), "tip", size=2.8),
    )


def _readings(pen: Pen, log: LogToDraw, above: float) -> list[SvgElement]:
    """Each station with the diameter read there and its distance from the butt; near ones take turns."""
    marks, lifted, before = [], False, -pen.mm(100)
    for at, diameter in log.profile.stations:
        lifted = not lifted if at - before < pen.mm(22) else False
        before = at
        up = -above - pen.mm(8 if lifted else 2)
        marks += [
            pen.line((at, diameter / 2), (at, up + pen.mm(0.5)), weight=0.25),
            pen.text(
                (at, up - pen.mm(3.6)),
                f"⌀ {log.units.across(diameter)}",
                size=3.2,
                bold=True,
                anchor="middle",
            ),
            pen.text(
                (at, up - pen.mm(0.6)), f"at {log.units.along(at)}", size=2.5, anchor="middle", colour=FAINT
            ),
        ]
    return marks


def _hazards(pen: Pen, log: LogToDraw, below: float) -> tuple[list[SvgElement], float]:
    """Signs on the log, and under it what each is and how far from the butt; where the rows end."""
    marks: list[SvgElement] = []
    ends: list[float] = []  # how far each row of words reaches
    for hazard in sorted(log.hazards, key=lambda one: one.from_butt_mm):
        at = min(max(hazard.from_butt_mm, 0.0), log.profile.length_mm)
        to = min(at + hazard.extent_mm, log.profile.length_mm)
        y = {"top": -0.3, "bottom": 0.3}.get(hazard.face or "", 0.0) * diameter_mm_at(log.profile, at)
        words = f"{hazard.kind} at {log.units.along(hazard.from_butt_mm)}"
        words += f" to {log.units.along(hazard.from_butt_mm + hazard.extent_mm)}" if hazard.extent_mm else ""
        words += f", {hazard.face}" if hazard.face else ""
        width = pen.width_of(words, size=2.8)
        start = min(at, log.profile.length_mm - width)
        row = next((n for n, end in enumerate(ends) if end < start), len(ends))
        ends[row:] = [start + width + pen.mm(3), *ends[row + 1 :]]
        foot = below + pen.mm(2 + 4 * row)
        marks.append(
            group(
                pen.line((at, y), (at, foot - pen.mm(2.4)), weight=0.15, dash=DASHED),
                *([pen.line((at, y), (to, y), weight=0.9)] if to - at > pen.mm(2) else []),
                *hazard_sign(pen, (at, y), hazard.kind),
                pen.text((start, foot), words, size=2.8, bold=hazard.kind == "metal"),
                title=words,
            )
        )
    return marks, below + pen.mm(4 * len(ends) + (2 if ends else 0))


def _bow(pen: Pen, log: LogToDraw, below: float) -> tuple[list[SvgElement], float]:
    """The log's bow and crook as lines under it, ten times as large as they are."""
    marks: list[SvgElement] = []
    length = log.profile.length_mm
    if log.crown_mm is None:
        marks.append(pen.text((length / 2, below), NOT_LOOKED_AT, size=2.8, anchor="middle"))
        below += pen.mm(4)
    elif log.crown_mm > 0:
        peak = length / 2 if log.crown_at_mm is None else min(max(log.crown_at_mm, 1.0), length - 1.0)
        words = f"crown {log.units.crown(log.crown_mm, log.crown_side)}"
        line, below = _curve(pen, length, peak, log.crown_mm * BOW_TIMES, below, is_sharp=False)
        marks += [*line, pen.text((peak, below), f"{words}, drawn ten times", size=2.8, anchor="middle")]
        below += pen.mm(4)
    if log.crook_mm > 0:
        peak = length / 2 if log.crook_at_mm is None else min(max(log.crook_at_mm, 1.0), length - 1.0)
        line, below = _curve(pen, length, peak, log.crook_mm * BOW_TIMES, below, is_sharp=True)
        words = f"crook {log.units.across(log.crook_mm)}, drawn ten times"
        marks += [*line, pen.text((peak, below), words, size=2.8, anchor="middle")]
        below += pen.mm(4)
    return marks, below


def _curve(
    pen: Pen, length: float, peak: float, bow: float, below: float, *, is_sharp: bool
) -> tuple[list[SvgElement], float]:
    string = below + pen.mm(3)

    def sag(at: float) -> float:
        share = at / peak if at <= peak else (length - at) / (length - peak)
        return bow * (share if is_sharp else share * (2 - share))

    points = [(length * n / 40, string + sag(length * n / 40)) for n in range(41)]
    marks = [
        pen.line((0, string), (length, string), weight=0.15, colour=FAINT),
        pen.path(points, closed=False, weight=0.35),
        pen.line((peak, string), (peak, string + bow), weight=0.25),
    ]
    return marks, string + bow + pen.mm(4)


def _pieces(pen: Pen, log: LogToDraw, below: float) -> tuple[list[SvgElement], float]:
    """Each piece as a bar with its cuts, length and balance; without any, the balance of the whole log."""
    if not log.pieces:
        whole = PieceOfLog(from_butt_mm=0.0, to_mm=log.profile.length_mm, words="whole log", is_set=False)
        return _bar(pen, log, whole, below, cut=False), below + pen.mm(13)
    cuts: list[SvgElement] = []
    bars: list[SvgElement] = []
    for piece in sorted(log.pieces, key=lambda one: one.from_butt_mm):
        cuts += _cuts(pen, log, piece, below)
        bars += _bar(pen, log, piece, below, cut=True)
        below += pen.mm(13)
    return [*cuts, *bars], below


def _cuts(pen: Pen, log: LogToDraw, piece: PieceOfLog, below: float) -> list[SvgElement]:
    """Where the saw goes, from over the log down to the piece's bar."""
    marks = []
    for at in (piece.from_butt_mm, min(piece.to_mm, log.profile.length_mm)):
        half = diameter_mm_at(log.profile, at) / 2
        marks.append(
            pen.line((at, -half - pen.mm(1.5)), (at, below + pen.mm(2)), weight=0.5, dash=CENTRE_LINE)
        )
    return marks


def _bar(pen: Pen, log: LogToDraw, piece: PieceOfLog, below: float, *, cut: bool) -> list[SvgElement]:
    near, far = piece.from_butt_mm, min(piece.to_mm, log.profile.length_mm)
    top, height = below + pen.mm(2), pen.mm(3)
    corners: list[Point] = [(near, top), (far, top), (far, top + height), (near, top + height)]
    fill = TIMBER if piece.is_set else pen.hatch if cut else "none"
    marks = [pen.path(corners, fill=fill, weight=0.35)]
    balance = balance_point(log.profile, from_butt_mm=near, to_mm=far)
    at, foot = near + balance.from_butt_end_mm, top + height
    low, high = near + balance.low_mm, near + balance.high_mm
    triangle = [(at, foot), (at - pen.mm(1.5), foot + pen.mm(2.6)), (at + pen.mm(1.5), foot + pen.mm(2.6))]
    units = log.units
    words = f"{piece.words}: {units.along(near)} to {units.along(far)}" if cut else piece.words
    tells = f"balances at {units.along(at)} from the butt, {units.along(low)} to {units.along(high)}"
    said = f"{words}; {tells}"
    start = min(near, max(log.profile.length_mm - pen.width_of(said, size=2.8), 0.0))
    return [
        *marks,
        pen.line((low, foot + pen.mm(2.6)), (high, foot + pen.mm(2.6)), weight=0.7),
        pen.path(triangle, fill=PENCIL, weight=0.1, data_balance=f"{at:.1f}"),
        pen.text(
            (start, foot + pen.mm(6.2)),
            said,
            size=2.8,
            halo=True,
            width=log.profile.length_mm - start + pen.mm(8),
        ),
    ]


def _heading(log: LogToDraw) -> Heading:
    units = log.units
    metal = f" {METAL}" if any(hazard.kind == "metal" for hazard in log.hazards) else ""
    sawn = log.profile.sawn_thickness_mm
    told = [units.along(log.profile.length_mm), log.about]
    told += [f"sawn to {units.across(sawn)}; diameters are heights of the face"] if sawn else []
    told += [log.remarks] if log.remarks else []
    dangers = "; ".join(f"{h.kind} {units.along(h.from_butt_mm)} from the butt" for h in log.hazards)
    pieces = "; ".join(piece.words for piece in log.pieces)
    return Heading(
        title=f"Log {log.number}",
        subtitle=", ".join(part for part in told if part) + f".{metal}",
        desc=(
            f"Log {log.number}, {units.along(log.profile.length_mm)} long, butt at the left. "
            f"{len(log.profile.stations)} diameters. Dangers: {dangers or 'none charted'}. "
            f"Pieces: {pieces or 'none'}. {LIFTING}{metal}"
        ),
    )


def _legend(log: LogToDraw) -> list[LegendEntry]:
    def piece(is_set: bool) -> LegendEntry:
        def swatch(pen: Pen, at: Point) -> Sequence[SvgElement]:
            x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(3)
            corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
            return [pen.path(corners, fill=TIMBER if is_set else pen.hatch, weight=0.35)]

        return LegendEntry(words="piece set" if is_set else "piece to be cut", swatch=swatch)

    def balance(pen: Pen, at: Point) -> Sequence[SvgElement]:
        x, y = at[0] + pen.mm(SWATCH_MM[0] / 2), at[1]
        triangle = [(x, y), (x - pen.mm(1.5), y + pen.mm(2.6)), (x + pen.mm(1.5), y + pen.mm(2.6))]
        base = y + pen.mm(2.6)
        return [
            pen.path(triangle, fill=PENCIL, weight=0.1),
            pen.line((x - pen.mm(4), base), (x + pen.mm(4), base), weight=0.7),
        ]

    found = [piece(is_set) for is_set in (True, False) if any(p.is_set is is_set for p in log.pieces)]
    found.append(LegendEntry(words="balance point and its range", swatch=balance))
    return found + hazard_entries(sorted({hazard.kind for hazard in log.hazards}))
