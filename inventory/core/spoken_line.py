"""A log's whole line as it is said or typed, read into fields; what is not sure is asked, never guessed.

The twin for pages, which reads the same lines, is inventory/static/inventory/spoken_line.js; both are held to
tests/inventory/core/phrasings.json. The words are common practice, no source.
"""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Any

from inventory.core.chart_cells import Units
from inventory.core.chart_columns import UNIT_WORDS
from inventory.core.chart_rules import (
    LARGEST_BOW_SHARE,
    LONGEST_LOG_MM,
    SHORTEST_LOG_MM,
    THICKEST_MM,
    THINNEST_MM,
)
from inventory.core.finding import Finding
from inventory.core.measure import spelled_plainly, write_length
from inventory.core.spoken_lengths import (
    DIGITS,
    TENS,
    NotClear,
    follows_one,
    is_figure,
    read_measure,
    whole_number,
)

LONGEST_LINE = 400
_LONGEST_REMARK = 1_000
_STATIONS = {"butt_mm": "butt", "middle_mm": "middle", "tip_mm": "tip"}


class Ask(StrEnum):
    """Why something is asked."""

    LINE_TOO_LONG = "line_too_long"
    NOT_UNDERSTOOD = "not_understood"
    NOT_CLEAR = "not_clear"
    NO_FIGURE = "no_figure"
    SAID_TWICE = "said_twice"
    OUT_OF_REASON = "out_of_reason"
    FROM_THE_TIP = "from_the_tip"
    NUMBER_TAKEN = "number_taken"


@dataclass(frozen=True, slots=True)
class SpokenLine:
    """What was read, by the fields of a log's body, and what is asked; no field is both."""

    fields: dict[str, Any]
    questions: tuple[Finding, ...]


_REMARK = re.compile(
    r"(?:^|[ \t\r\n,;.])(?:remarks?|notes?)[ \t\r\n:,]+(.*)", re.IGNORECASE | re.ASCII | re.DOTALL
)
_TENS_AND_ONES = rf"(?:{'|'.join(TENS)})-(?:one|two|three|four|five|six|seven|eight|nine)"
_WORD = re.compile(
    r"[0-9]+[ ]*/[ ]*[0-9]+|[0-9]+[.,][0-9]+|[0-9]+"
    rf"|{_TENS_AND_ONES}(?![a-z])|thirty-seconds?(?![a-z])|[a-z]+[0-9]+[a-z]?|[a-z]+|\n|[^ \n]",
    re.IGNORECASE | re.ASCII,
)
_PAINTED = re.compile(r"[A-Za-z]{0,4}[-./]?[0-9]{1,6}[A-Za-z]?", re.ASCII)
_NAMED_NUMBER = re.compile(r"(?:(?:log|number|no|nr)(?![a-z])[ ,:.]*|#[ ]*)*", re.IGNORECASE | re.ASCII)
_BREAKS = (",", ";", ".", "\n")
_SHORTENED = ("no", "nr", *(word for word in UNIT_WORDS if word.isalpha() and len(word) == 2))
_DIGITS = {"oh": "0", "zero": "0", "one": "1", "two": "2", "three": "3", "four": "4"}
_DIGITS |= {"five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9"}

_BUTT, _TIP, _MIDDLE = (
    ("butt", "butts", "but"),
    ("tip", "tips"),
    ("middle", "mid", "centre", "center", "midpoint"),
)
_LARGE, _SMALL = ("large", "big", "thick"), ("small", "thin")
_LENGTH, _CROWN, _GRAIN = ("length", "long"), ("crown", "crowned", "bow", "sweep"), ("grain", "spiral")
_VAGUE = (
    "slight", "small", "little", "bit", "some", "big", "large", "strong", "bad", "heavy", "deep", "hidden",
)  # fmt: skip
_HAZARDS = {
    "metal": "metal", "wire": "metal", "nail": "metal", "staple": "metal", "knot": "knot", "rot": "rot",
    "rotten": "rot", "shake": "shake", "split": "split", "check": "split", "crack": "split",
    "insect": "insects",
}  # fmt: skip
_HAZARDS |= {f"{word}s": kind for word, kind in _HAZARDS.items() if word not in ("metal", "rot", "rotten")}
_SIDES = {"top": "top", "up": "top", "right": "right", "bottom": "bottom", "down": "bottom", "left": "left"}
_NO_CROWN = ("none", "nothing", "zero", "nil", "no")
_BEFORE = ("is", "was", "of", "the", "at", "reads", "measures", "diameter", "and", ",", "a", "an")
_BEHIND = ("and", "at", "the", "on", "thick", "diameter", "exactly", "even", "flat", ",")
_ROUND_A_SIDE = (
    "on",
    "the",
    "to",
    "face",
    "side",
    "bows",
    "bowed",
    "towards",
    "facing",
    "and",
    ",",
    "at",
    "is",
)
_TO_EITHER_SIDE = ("by", "x", "×")


@dataclass(slots=True)
class _Clause:
    """One thing said: what of, its words, where it stands in the text, and how it was said."""

    about: str
    start: int
    end: int
    words: list[str] = field(default_factory=list)
    value: Any = None
    at: bool = False
    vague: bool = False
    from_tip: bool = False
    unsure: bool = False

    @property
    def takes_figure(self) -> bool:
        return self.about in ("butt_mm", "middle_mm", "tip_mm", "length_mm", "crown_mm", "hazards") and (
            self.value is None or self.about == "hazards"
        )

    @property
    def has_figure(self) -> bool:
        return any(is_figure(word) for word in self.words)


@dataclass(frozen=True, slots=True)
class _Said:
    word: str
    start: int
    end: int


def read_spoken_line(text: str, *, units: Units) -> SpokenLine:
    """The fields of a log that a person said or typed in one go; plain numbers are in `units`.

    Reads English words and figures, fractions, feet and inches, metric. A value is there as the body of a log
    takes it, lengths in mm. What could be read in more than one way, or is out of reason, is a question.
    """
    return _Reading(text, units).line()


class _Reading:
    def __init__(self, text: str, units: Units) -> None:
        self.units = units
        self.fields: dict[str, Any] = {}
        self.questions: list[Finding] = []
        self.given = text
        self.text = ""
        self.clauses: list[_Clause] = []

    def line(self) -> SpokenLine:
        if len(self.given) > LONGEST_LINE:
            self._ask(
                "line",
                Ask.LINE_TOO_LONG,
                self.given[:40],
                f"Say it shorter: {LONGEST_LINE} characters at most.",
            )
            return SpokenLine({}, tuple(self.questions))
        before = self.given
        if remark := _REMARK.search(self.given):
            before = self.given[: remark.start()]
            if said := remark[1].strip():
                self.fields["remarks"] = said[:_LONGEST_REMARK]
        self.text = spelled_plainly(before)
        self._divide()
        for clause in self.clauses:
            self._read(clause)
        self._hold_against_the_length()
        return SpokenLine(self.fields, tuple(self.questions))

    # What was said, clause by clause.

    def _divide(self) -> None:
        said = _said(self.text)
        part: list[_Said] = []
        for one in [*said, _Said(",", len(self.text), len(self.text))]:
            if one.word in _BREAKS:
                if part:
                    self._divide_part(part)
                part = []
            else:
                part.append(one)

    def _divide_part(self, part: list[_Said]) -> None:
        """Put the words between two breaks to what they are said of."""
        words = [one.word for one in part]
        lead: list[_Said] = []
        clauses: list[_Clause] = []
        is_from = from_tip = False
        i = 0
        while i < len(words):
            of = clauses[-1] if clauses else self.clauses[-1] if self.clauses else None
            found = _begins(words, i, of)
            about, count, more = found or ("", 1, {})
            if about == "from":
                if clauses and of:
                    of.from_tip, of.end = of.from_tip or more["tip"], part[i + count - 1].end
                else:
                    is_from, from_tip = True, from_tip or more["tip"]
            elif about == "where" and of is not None:
                of.end = part[i + count - 1].end
            elif found and about != "where":
                clauses.append(_Clause(about, part[i].start, part[i + count - 1].end, **more))
            elif clauses:
                clauses[-1].words += words[i : i + count]
                clauses[-1].end = part[i + count - 1].end
            else:
                lead += part[i : i + count]
            i += count
        if lead:
            of = self._place_lead(lead, clauses)
            of.from_tip = of.from_tip or from_tip
            of.unsure = of.unsure or (is_from and of.about == "number")
        elif from_tip and self.clauses:
            self.clauses[-1].from_tip = True
        if _mark_unsure(lead, clauses) and lead and self.clauses:
            self.clauses[-1].unsure = True
        self.clauses += clauses

    def _place_lead(self, lead: list[_Said], clauses: list[_Clause]) -> _Clause:
        """Words before the first thing named: of that, of what went before, or the number."""
        words, start, end = [one.word for one in lead], lead[0].start, lead[-1].end
        first = clauses[0] if clauses else None
        asking = [one for one in clauses if one.takes_figure]
        is_led = any(is_figure(word) for word in words)
        if first and is_led and asking == [first] and not first.has_figure and not first.vague:
            # "seventeen eight long"; but "seventeen wire" may be log 17, with wire in it.
            has_unit = any(word in UNIT_WORDS for word in words)
            first.unsure = not (self.clauses or first.at or has_unit)
            first.words, first.start = [*words, *first.words], start
            return first
        if self.clauses:
            self.clauses[-1].words += [",", *words]
            self.clauses[-1].end = end
        else:
            self.clauses.append(_Clause("number", start, end, words))
        return self.clauses[-1]

    # What a clause says.

    def _read(self, clause: _Clause) -> None:
        about = clause.about
        raw = self.text[clause.start : clause.end].strip(" ,")
        try:
            if clause.unsure:
                raise NotClear
            if about == "number":
                self._put("number", self._number(clause), raw)
            elif about in _STATIONS:
                self._station(clause, raw)
            elif about == "length_mm":
                self._length(clause, raw)
            elif about == "crown_mm":
                self._crown(clause, raw)
            elif about == "hazards":
                self._hazard(clause, raw)
            elif about == "grain_hand":
                self._grain(clause, raw)
            elif _stripped(clause.words, _BEHIND, ()):
                self._ask("line", Ask.NOT_UNDERSTOOD, raw, f"“{raw}” was not understood.")
            else:
                self._put(about, clause.value, raw)
        except NotClear:
            self._not_clear(about, raw)

    def _number(self, clause: _Clause) -> str:
        raw = self.text[clause.start : clause.end].strip(" ,")
        named = _NAMED_NUMBER.match(raw)
        typed = raw[named.end() :] if named else raw
        if _PAINTED.fullmatch(typed):
            return typed
        words = _stripped(clause.words, (*_BEFORE, "#"), _BEHIND)
        if len(words) > 1 and all(word in _DIGITS for word in words):
            return "".join(_DIGITS[word] for word in words)
        return str(whole_number(words))

    def _station(self, clause: _Clause, raw: str) -> None:
        words = _stripped(clause.words, _BEFORE, _BEHIND)
        if clause.from_tip:
            raise NotClear
        if not words:
            self._no_figure(clause.about, raw)
            return
        first, i = read_measure(words, 0, self.units.across)
        if i == len(words):
            if self._is_thick(clause.about, first, raw):
                self._put(clause.about, first, raw)
            return
        if words[i] not in _TO_EITHER_SIDE:
            raise NotClear
        across, i = read_measure(words, i + 1, self.units.across)
        if i != len(words):
            raise NotClear
        if self._is_thick(clause.about, first, raw) and self._is_thick(clause.about, across, raw):
            self._put(clause.about, first, raw)
            if clause.about in self.fields:
                twice = {"station": _STATIONS[clause.about], "first_mm": first, "across_mm": across}
                others = [
                    one for one in self.fields.get("read_across", []) if one["station"] != twice["station"]
                ]
                self.fields["read_across"] = [*others, twice]

    def _length(self, clause: _Clause, raw: str) -> None:
        words = _stripped(clause.words, _BEFORE, (*_BEHIND, "in"))
        if clause.from_tip:
            raise NotClear
        if not words:
            self._no_figure("length_mm", raw)
            return
        length, i = read_measure(words, 0, self.units.along)
        if i != len(words):
            raise NotClear
        if not SHORTEST_LOG_MM <= length <= LONGEST_LOG_MM:
            limits = f"{self._along(SHORTEST_LOG_MM)} to {self._along(LONGEST_LOG_MM)}"
            self._out_of_reason("length_mm", raw, f"A log is {limits} long.")
            return
        self._put("length_mm", length, raw)

    def _crown(self, clause: _Clause, raw: str) -> None:
        words, side = _without_side(clause.words)
        words = _stripped(words, _BEFORE, _BEHIND)
        if side:
            self._put("crown_side", side, raw)
        if clause.from_tip:
            raise NotClear
        if clause.value is not None or (len(words) == 1 and words[0] in _NO_CROWN):
            if words and clause.value is not None:
                raise NotClear
            self._put("crown_mm", Decimal(0), raw)
        elif not words:
            self._no_figure("crown_mm", raw)
        else:
            crown, i = read_measure(words, 0, self.units.across)
            if i != len(words):
                raise NotClear
            self._put("crown_mm", crown, raw)

    def _hazard(self, clause: _Clause, raw: str) -> None:
        if clause.value is None:
            return  # "no metal"
        words, side = _without_side(clause.words)
        words = _stripped(words, _BEFORE, _BEHIND)
        if clause.from_tip:
            wanted = f"“{raw}”: measure it from the butt."
            self._ask("hazards", Ask.FROM_THE_TIP, raw, wanted)
            return
        if not words:
            self._ask("hazards", Ask.NO_FIGURE, raw, f"“{raw}”: how far from the butt?")
            return
        at, i = read_measure(words, 0, self.units.along)
        hazard = {"kind": clause.value, "from_butt_mm": at, "face": side, "extent_mm": None}
        if i < len(words) and words[i] in ("for", "extent"):
            hazard["extent_mm"], i = read_measure(words, i + 1, self.units.along)
        if i != len(words):
            raise NotClear
        self.fields.setdefault("hazards", []).append(hazard)

    def _grain(self, clause: _Clause, raw: str) -> None:
        words = [
            word
            for word in clause.words
            if word not in ("is", "winds", "to", "the", "hand", "and", ",", "slope")
        ]
        hands = [word for word in words if word in ("left", "right", "straight")]
        words = [word for word in words if word not in ("left", "right", "straight")]
        hands = [*([clause.value] if clause.value else []), *hands]
        if len(hands) > 1:
            raise NotClear
        slope = None
        if words:
            if len(words) < 3 or words[0] not in ("one", "1") or words[1] not in ("in", ":"):
                raise NotClear
            slope = whole_number(words[2:])
            if slope < 1:
                raise NotClear
        if not hands:
            self._unsure("grain_hand", Ask.NO_FIGURE, raw, f"“{raw}”: straight, or winds it left or right?")
        else:
            self._put("grain_hand", hands[0], raw)
        if slope is not None:
            self._put("grain_slope", slope, raw)

    def _hold_against_the_length(self) -> None:
        length = self.fields.get("length_mm")
        if length is None:
            return
        crown = self.fields.get("crown_mm")
        if crown is not None and crown > length * LARGEST_BOW_SHARE:
            read = self._across(self.fields.pop("crown_mm"))
            self._out_of_reason("crown_mm", read, f"So much in {self._along(length)} is out of any reason.")
        hazards = self.fields.pop("hazards", [])
        for one in hazards:
            reach = one["from_butt_mm"] + (one["extent_mm"] or 0)
            if reach > length:
                read = f"{one['kind']} {self._along(one['from_butt_mm'])}"
                self._out_of_reason("hazards", read, f"“{read}”: the log is only {self._along(length)} long.")
            else:
                self.fields.setdefault("hazards", []).append(one)

    # Fields and questions.

    def _put(self, name: str, value: Any, raw: str) -> None:
        """Put a value to its field; a second one that differs is asked, and neither counts."""
        if any(one.field == name for one in self.questions):
            return
        if name in self.fields and self.fields[name] != value:
            del self.fields[name]
            self._forget_across(name)
            self._ask(name, Ask.SAID_TWICE, raw, f"It was said twice, last “{raw}”: which is right?")
            return
        self.fields[name] = value

    def _forget_across(self, name: str) -> None:
        kept = [one for one in self.fields.pop("read_across", []) if one["station"] != _STATIONS.get(name)]
        if kept:
            self.fields["read_across"] = kept

    def _not_clear(self, about: str, raw: str) -> None:
        name = (
            about
            if about in (*_STATIONS, "number", "length_mm", "crown_mm", "hazards", "grain_hand")
            else "line"
        )
        self._unsure(name, Ask.NOT_CLEAR, raw, f"“{raw}” can be read in more than one way, or not at all.")

    def _no_figure(self, name: str, raw: str) -> None:
        self._unsure(name, Ask.NO_FIGURE, raw, f"“{raw}”: how much?")

    def _out_of_reason(self, name: str, raw: str, text: str) -> None:
        self._unsure(name, Ask.OUT_OF_REASON, raw, text)

    def _unsure(self, name: str, code: Ask, raw: str, text: str) -> None:
        if name != "hazards":
            self.fields.pop(name, None)
            self._forget_across(name)
        self._ask(name, code, raw, text)

    def _ask(self, name: str, code: Ask, raw: str, text: str) -> None:
        self.questions.append(Finding(pointer=f"/{name}", code=code, read=raw, text=text))

    def _is_thick(self, name: str, mm: Decimal, raw: str) -> bool:
        if THINNEST_MM <= mm <= THICKEST_MM:
            return True
        self._out_of_reason(
            name, raw, f"A log is {self._across(THINNEST_MM)} to {self._across(THICKEST_MM)} thick."
        )
        return False

    def _along(self, mm: Decimal) -> str:
        return write_length(mm, unit=self.units.along, fraction=self.units.fraction)

    def _across(self, mm: Decimal) -> str:
        return write_length(mm, unit=self.units.across, fraction=self.units.fraction)


def _said(text: str) -> list[_Said]:
    """The words of the text; marks that say nothing left out."""
    found = [_Said(one[0].lower(), one.start(), one.end()) for one in _WORD.finditer(text)]
    told: list[_Said] = []
    for i, one in enumerate(found):
        behind = found[i + 1] if i + 1 < len(found) else None
        touches_before = i > 0 and found[i - 1].end == one.start
        touches_behind = behind is not None and behind.start == one.end
        minus = one.word == "-" and not touches_before and touches_behind
        if one.word in ("=", ":") and not (one.word == ":" and touches_before and touches_behind):
            continue
        if one.word == "-" and not minus:
            continue
        if one.word == "." and touches_before and found[i - 1].word in _SHORTENED:
            continue
        told.append(one)
    return told


def _begins(words: list[str], i: int, of: _Clause | None) -> tuple[str, int, dict[str, Any]] | None:
    """What is said of from this word on: its field, how many words name it, and what these say already."""
    word = words[i]
    after = words[i + 1] if i + 1 < len(words) else ""
    if word == "from":
        j = i + 2 if after == "the" else i + 1
        end = _end_of_log(words, j)
        return (
            None
            if end is None or end[0] == "middle_mm"
            else ("from", j + end[1] - i, {"tip": end[0] == "tip_mm"})
        )
    if found := _crown_or_hazard(words, i):
        return found
    if word == "straight" and of is not None and of.about == "grain_hand" and of.value is None:
        return None
    if found := _other_words(word, after, words[i + 2] if i + 2 < len(words) else ""):
        return found
    j, at = i, False
    if word in ("at", "in", "on"):
        j, at = (i + 2 if after == "the" else i + 1), True
    end = _end_of_log(words, j, of)
    if end is None:
        return None
    if at and of is not None and of.about == "hazards" and not of.has_figure:
        return "where", j + end[1] - i, {}  # rot at the butt: where the rot is, no diameter
    return end[0], j + end[1] - i, {"at": at or (end[0] == "length_mm" and words[j] == "long")}


def _end_of_log(words: list[str], j: int, of: _Clause | None = None) -> tuple[str, int] | None:
    """The place or the length that is named here, and in how many words."""
    word = words[j] if j < len(words) else ""
    after = words[j + 1] if j + 1 < len(words) else ""
    if word in _LARGE and after == "end":
        return "butt_mm", 2
    if (word in _SMALL or word == "top") and after == "end":
        return "tip_mm", 2
    for names, field_name in ((_BUTT, "butt_mm"), (_TIP, "tip_mm"), (_MIDDLE, "middle_mm")):
        if word in names:
            return field_name, 2 if after == "end" else 1
    if word in _LENGTH:
        return "length_mm", 1
    takes_side = of is not None and of.about in ("crown_mm", "hazards")
    if (
        word == "top"
        and not takes_side
        and (j == 0 or words[j - 1] != "from")
        and (is_figure(after) or after == "is")
    ):
        return "tip_mm", 1
    return None


def _crown_or_hazard(words: list[str], i: int) -> tuple[str, int, dict[str, Any]] | None:
    j, vague, none = i, False, words[i] == "no"
    if none or (words[i] == "a" and i + 1 < len(words) and words[i + 1] in _VAGUE):
        j += 1
    while j < len(words) and (words[j] in _VAGUE or (vague and words[j] in ("of", "a"))):
        j, vague = j + 1, True
    word = words[j] if j < len(words) else ""
    if word in _CROWN:
        return "crown_mm", j + 1 - i, {"value": "none" if none else None, "vague": vague}
    if word in _HAZARDS or (none and word in ("hazard", "hazards")):
        return "hazards", j + 1 - i, {"value": None if none else _HAZARDS[word], "vague": vague or none}
    return None


def _other_words(word: str, after: str, third: str) -> tuple[str, int, dict[str, Any]] | None:
    if word in ("left", "right", "straight"):
        if after in _GRAIN:
            return "grain_hand", 2, {"value": word}
        if after in ("hand", "handed") and third in _GRAIN:
            return "grain_hand", 3, {"value": word}
        if word == "straight":
            return "crown_mm", 1, {"value": "none"}
    if word in _GRAIN:
        return "grain_hand", 2 if after in _GRAIN else 1, {}
    if word in ("log", "number"):
        return "number", 2 if word == "log" and after == "number" else 1, {}
    if word in ("#", "nr") or (word == "no" and after != "" and after[0] in DIGITS):
        return "number", 1, {}
    if word in ("peeled", "debarked", "unpeeled"):
        return "peeled", 1, {"value": word != "unpeeled"}
    if (word, after) in (("not", "peeled"), ("bark", "on"), ("bark", "off")):
        return "peeled", 2, {"value": after == "off"}
    if (word, after) in (("partly", "dry"), ("half", "dry"), ("air", "dry")):
        return "seasoning", 2, {"value": "dry" if word == "air" else "partly_dry"}
    if word in ("green", "fresh", "dry", "seasoned"):
        return "seasoning", 1, {"value": "green" if word in ("green", "fresh") else "dry"}
    return None


def _mark_unsure(lead: list[_Said], clauses: list[_Clause]) -> bool:
    """Without breaks "fifteen at the butt thirteen at the tip" can be read backwards too: true if so."""
    asking = [one for one in clauses if one.takes_figure]
    measures = [one for one in asking if one.about not in ("crown_mm", "hazards")]
    led = any(is_figure(one.word) for one in lead)
    either_way = len(asking) > 1 and led and any(not one.has_figure for one in measures)
    either_way = either_way or any(one.at for one in asking[1:])
    for i, one in enumerate(asking):
        one.unsure = one.unsure or either_way
        if i and one.about in ("crown_mm", "hazards") and not one.has_figure and not one.vague:
            asking[i - 1].unsure = True  # "length seventeen two inch crown"
    return either_way


def _without_side(words: list[str]) -> tuple[list[str], str | None]:
    """The words without the side of the log that they end or begin with, and that side."""
    sides = [i for i, word in enumerate(words) if word in _SIDES]
    if len(sides) != 1:
        return words, None
    [at] = sides
    before, behind = words[:at], words[at + 1 :]
    while before and before[-1] in _ROUND_A_SIDE:
        before = before[:-1]
    while behind and behind[0] in _ROUND_A_SIDE:
        behind = behind[1:]
    return [*before, *behind] if not (before and behind) else words, _SIDES[words[at]]


def _stripped(words: list[str], before: tuple[str, ...], behind: tuple[str, ...]) -> list[str]:
    """The words without those at their ends that say nothing by themselves."""
    start, end = 0, len(words)
    while start < end and words[start] in before and not _is_one_of_a_unit(words, start):
        start += 1
    while end > start and words[end - 1] in behind:
        end -= 1
    return words[start:end]


def _is_one_of_a_unit(words: list[str], i: int) -> bool:
    """True for the "an" of "an inch", "a half", "a hundred"."""
    return words[i] in ("a", "an") and i + 1 < len(words) and follows_one(words[i + 1])
