// A log's whole line as it is said or typed, read into fields; what is not sure is asked, never guessed. The twin of
// inventory/core/spoken_line.py, rule by rule; both are held to tests/inventory/core/phrasings.json.

import { written } from "../crews/lengths.js";
import { spelledPlainly } from "../crews/reading.js";
import { LIMITS } from "./line_checks.js";
import { followsOne, isFigure, NotClear, readMeasure, startsWithDigit, TENS, UNIT_WORDS, wholeNumber } from "./spoken_lengths.js";

const LONGEST_LINE = 400;
const LONGEST_REMARK = 1000;
const STATIONS = { butt_mm: "butt", middle_mm: "middle", tip_mm: "tip" };
const REMARK = /(?:^|[ \t\r\n,;.])(?:remarks?|notes?)[ \t\r\n:,]+(.*)/is;
const TENS_AND_ONES = `(?:${Object.keys(TENS).join("|")})-(?:one|two|three|four|five|six|seven|eight|nine)`;
const WORD = new RegExp(`[0-9]+[ ]*/[ ]*[0-9]+|[0-9]+[.,][0-9]+|[0-9]+|${TENS_AND_ONES}(?![a-z])|thirty-seconds?(?![a-z])|[a-z]+[0-9]+[a-z]?|[a-z]+|\\n|[^ \\n]`, "gi");
const PAINTED = /^[A-Za-z]{0,4}[-./]?[0-9]{1,6}[A-Za-z]?$/;
const NAMED_NUMBER = /^(?:(?:log|number|no|nr)(?![a-z])[ ,:.]*|#[ ]*)*/i;
const BREAKS = [",", ";", ".", "\n"];
const SHORTENED = ["no", "nr", ...Object.keys(UNIT_WORDS).filter((word) => /^[a-z]{2}$/.test(word))];
const DIGITS = { oh: "0", zero: "0", one: "1", two: "2", three: "3", four: "4", five: "5", six: "6", seven: "7", eight: "8", nine: "9" };
const ENDS = [[["butt", "butts", "but"], "butt_mm"], [["tip", "tips"], "tip_mm"], [["middle", "mid", "centre", "center", "midpoint"], "middle_mm"]];
const LARGE = ["large", "big", "thick"], SMALL = ["small", "thin", "top"];
const LENGTH = ["length", "long"], CROWN = ["crown", "crowned", "bow", "sweep"], GRAIN = ["grain", "spiral"];
const VAGUE = ["slight", "small", "little", "bit", "some", "big", "large", "strong", "bad", "heavy", "deep", "hidden"];
const KINDS = { metal: "metal", wire: "metal", nail: "metal", staple: "metal", knot: "knot", rot: "rot", rotten: "rot", shake: "shake", split: "split", check: "split", crack: "split", insect: "insects" };
const HAZARDS = new Map(Object.entries(KINDS).flatMap(([word, kind]) => (["metal", "rot", "rotten"].includes(word) ? [[word, kind]] : [[word, kind], [`${word}s`, kind]])));
const SIDES = new Map(Object.entries({ top: "top", up: "top", right: "right", bottom: "bottom", down: "bottom", left: "left" }));
const NO_CROWN = ["none", "nothing", "zero", "nil", "no"];
const BEFORE = ["is", "was", "of", "the", "at", "reads", "measures", "diameter", "and", ",", "a", "an"];
const BEHIND = ["and", "at", "the", "on", "thick", "diameter", "exactly", "even", "flat", ","];
const ROUND_A_SIDE = ["on", "the", "to", "face", "side", "bows", "bowed", "towards", "facing", "and", ",", "at", "is"];
const IN_GRAIN = ["is", "winds", "to", "the", "hand", "and", ",", "slope"];
const HANDS = ["left", "right", "straight"];
const ASKED_AT = [...Object.keys(STATIONS), "number", "length_mm", "crown_mm", "hazards", "grain_hand"];
const MEASURED = [...Object.keys(STATIONS), "length_mm", "crown_mm", "hazards"];
const SOMEWHERE = ["crown_mm", "hazards"];

/**
 * The fields of a log that a person said in one go, and what is asked: `{ fields, questions: [{ pointer, code, read, detail }] }`.
 * `units`: `{ long, thick }` of plain numbers; lengths are in mm.
 */
export function readSpokenLine(text, { units, fraction }) {
  const reading = new Reading(units, fraction);
  reading.read(text);
  return { fields: reading.fields, questions: reading.questions };
}

const bare = (text) => text.replace(/^[ ,]+|[ ,]+$/g, "");
const clause = (about, start, end, how = {}) => ({ about, start, end, words: [], value: null, at: false, vague: false, fromTip: false, unsure: false, ...how });
const takesFigure = (one) => MEASURED.includes(one.about) && (one.value === null || one.about === "hazards");
const hasFigure = (one) => one.words.some(isFigure);

class Reading {
  constructor(units, fraction) {
    Object.assign(this, { units, fraction, fields: {}, questions: [], text: "", clauses: [] });
  }

  read(given) {
    const signs = [...given];
    if (signs.length > LONGEST_LINE) {
      this.ask("line", "line_too_long", signs.slice(0, 40).join(""), `Say it shorter: ${LONGEST_LINE} characters at most.`);
      return;
    }
    const remark = given.match(REMARK);
    const said = remark?.[1].trim();
    if (said) this.fields.remarks = said.slice(0, LONGEST_REMARK);
    this.text = spelledPlainly(remark ? given.slice(0, remark.index) : given);
    this.divide();
    for (const one of this.clauses) this.readClause(one);
    this.holdAgainstTheLength();
  }

  divide() {
    let part = [];
    for (const one of [...wordsOf(this.text), { word: ",", start: 0, end: 0 }]) {
      if (!BREAKS.includes(one.word)) part.push(one);
      else {
        if (part.length) this.dividePart(part);
        part = [];
      }
    }
  }

  /** Put the words between two breaks to what they are said of. */
  dividePart(part) {
    const words = part.map((one) => one.word);
    const lead = [], clauses = [];
    let isFrom = false, fromTip = false;
    for (let i = 0; i < words.length;) {
      const of = clauses.at(-1) ?? this.clauses.at(-1) ?? null;
      const found = begins(words, i, of);
      const [about, count, how] = found ?? ["", 1, {}];
      const { end } = part[i + count - 1];
      if (about === "from") {
        if (clauses.length) [of.fromTip, of.end] = [of.fromTip || how.tip, end];
        else [isFrom, fromTip] = [true, fromTip || how.tip];
      } else if (about === "where" && of) of.end = end;
      else if (found && about !== "where") clauses.push(clause(about, part[i].start, end, how));
      else if (clauses.length) {
        of.words.push(...words.slice(i, i + count));
        of.end = end;
      } else lead.push(...part.slice(i, i + count));
      i += count;
    }
    if (lead.length) {
      const of = this.placeLead(lead, clauses);
      of.fromTip ||= fromTip;
      of.unsure ||= isFrom && of.about === "number";
    } else if (fromTip && this.clauses.length) this.clauses.at(-1).fromTip = true;
    if (markUnsure(lead, clauses) && lead.length && this.clauses.length) this.clauses.at(-1).unsure = true;
    this.clauses.push(...clauses);
  }

  /** Words before the first thing named: of that, of what went before, or the number. */
  placeLead(lead, clauses) {
    const words = lead.map((one) => one.word);
    const [start, end] = [lead[0].start, lead.at(-1).end];
    const first = clauses[0];
    const asking = clauses.filter(takesFigure);
    if (first && words.some(isFigure) && asking.length === 1 && asking[0] === first && !hasFigure(first) && !first.vague) {
      // "seventeen eight long"; but "seventeen wire" may be log 17, with wire in it.
      first.unsure = !(this.clauses.length || first.at || words.some((word) => word in UNIT_WORDS));
      [first.words, first.start] = [[...words, ...first.words], start];
      return first;
    }
    if (this.clauses.length) {
      const last = this.clauses.at(-1);
      last.words.push(",", ...words);
      last.end = end;
    } else this.clauses.push(clause("number", start, end, { words }));
    return this.clauses.at(-1);
  }

  readClause(one) {
    const raw = bare(this.text.slice(one.start, one.end));
    try {
      if (one.unsure) throw new NotClear();
      if (one.about === "number") this.put("number", numberOf(one, raw), raw);
      else if (one.about in STATIONS) this.station(one, raw);
      else if (one.about === "length_mm") this.length(one, raw);
      else if (one.about === "crown_mm") this.crown(one, raw);
      else if (one.about === "hazards") this.hazard(one, raw);
      else if (one.about === "grain_hand") this.grain(one, raw);
      else if (stripped(one.words, BEHIND, []).length) this.ask("line", "not_understood", raw, `“${raw}” was not understood.`);
      else this.put(one.about, one.value, raw);
    } catch (error) {
      if (!(error instanceof NotClear)) throw error;
      this.unsure(ASKED_AT.includes(one.about) ? one.about : "line", "not_clear", raw, `“${raw}” can be read in more than one way, or not at all.`);
    }
  }

  /** The whole of these words as one length. */
  whole(words, unit) {
    const [length, end] = readMeasure(words, 0, unit);
    if (end !== words.length) throw new NotClear();
    return length;
  }

  station({ about, words: said, fromTip }, raw) {
    const words = stripped(said, BEFORE, BEHIND);
    if (fromTip) throw new NotClear();
    if (!words.length) { this.noFigure(about, raw); return; }
    const [first, i] = readMeasure(words, 0, this.units.thick);
    if (i === words.length) {
      if (this.isThick(about, first, raw)) this.put(about, first, raw);
      return;
    }
    if (!["by", "x", "×"].includes(words[i])) throw new NotClear();
    const [across, end] = readMeasure(words, i + 1, this.units.thick);
    if (end !== words.length) throw new NotClear();
    if (!this.isThick(about, first, raw) || !this.isThick(about, across, raw)) return;
    this.put(about, first, raw);
    if (!(about in this.fields)) return;
    const station = STATIONS[about];
    const others = (this.fields.read_across ?? []).filter((one) => one.station !== station);
    this.fields.read_across = [...others, { station, first_mm: first, across_mm: across }];
  }

  length(one, raw) {
    const words = stripped(one.words, BEFORE, [...BEHIND, "in"]);
    if (one.fromTip) throw new NotClear();
    if (!words.length) { this.noFigure("length_mm", raw); return; }
    const length = this.whole(words, this.units.long);
    if (length < LIMITS.shortest_log_mm || length > LIMITS.longest_log_mm) {
      this.unsure("length_mm", "out_of_reason", raw, `A log is ${this.along(LIMITS.shortest_log_mm)} to ${this.along(LIMITS.longest_log_mm)} long.`);
    } else this.put("length_mm", length, raw);
  }

  crown(one, raw) {
    const [said, side] = withoutSide(one.words);
    const words = stripped(said, BEFORE, BEHIND);
    if (side) this.put("crown_side", side, raw);
    if (one.fromTip) throw new NotClear();
    if (one.value !== null || (words.length === 1 && NO_CROWN.includes(words[0]))) {
      if (words.length && one.value !== null) throw new NotClear();
      this.put("crown_mm", 0, raw);
    } else if (!words.length) this.noFigure("crown_mm", raw);
    else this.put("crown_mm", this.whole(words, this.units.thick), raw);
  }

  hazard(one, raw) {
    if (one.value === null) return; // "no metal"
    const [said, side] = withoutSide(one.words);
    const words = stripped(said, BEFORE, BEHIND);
    if (one.fromTip) { this.ask("hazards", "from_the_tip", raw, `“${raw}”: measure it from the butt.`); return; }
    if (!words.length) { this.ask("hazards", "no_figure", raw, `“${raw}”: how far from the butt?`); return; }
    let [from, i] = readMeasure(words, 0, this.units.long), extent = null;
    if (["for", "extent"].includes(words[i])) [extent, i] = readMeasure(words, i + 1, this.units.long);
    if (i !== words.length) throw new NotClear();
    this.fields.hazards = [...(this.fields.hazards ?? []), { kind: one.value, from_butt_mm: from, face: side, extent_mm: extent }];
  }

  grain(one, raw) {
    const said = one.words.filter((word) => !IN_GRAIN.includes(word));
    const hands = [...(one.value ? [one.value] : []), ...said.filter((word) => HANDS.includes(word))];
    const words = said.filter((word) => !HANDS.includes(word));
    if (hands.length > 1) throw new NotClear();
    let slope = null;
    if (words.length) {
      if (words.length < 3 || !["one", "1"].includes(words[0]) || !["in", ":"].includes(words[1])) throw new NotClear();
      slope = wholeNumber(words.slice(2));
      if (slope < 1) throw new NotClear();
    }
    if (hands.length) this.put("grain_hand", hands[0], raw);
    else this.unsure("grain_hand", "no_figure", raw, `“${raw}”: straight, or winds it left or right?`);
    if (slope !== null) this.put("grain_slope", slope, raw);
  }

  holdAgainstTheLength() {
    const { length_mm: length, crown_mm: crown, hazards = [] } = this.fields;
    if (length === undefined) return;
    if (crown > length * LIMITS.largest_bow_share) {
      this.unsure("crown_mm", "out_of_reason", this.across(crown), `So much in ${this.along(length)} is out of any reason.`);
    }
    const kept = [];
    for (const one of hazards) {
      if (one.from_butt_mm + (one.extent_mm ?? 0) <= length) { kept.push(one); continue; }
      const read = `${one.kind} ${this.along(one.from_butt_mm)}`;
      this.unsure("hazards", "out_of_reason", read, `“${read}”: the log is only ${this.along(length)} long.`);
    }
    delete this.fields.hazards;
    if (kept.length) this.fields.hazards = kept;
  }

  /** Put a value to its field; a second one that differs is asked, and neither counts. */
  put(name, value, raw) {
    if (this.questions.some((one) => one.pointer === `/${name}`)) return;
    if (name in this.fields && this.fields[name] !== value) {
      this.unsure(name, "said_twice", raw, `It was said twice, last “${raw}”: which is right?`);
      return;
    }
    this.fields[name] = value;
  }

  noFigure(name, raw) { this.unsure(name, "no_figure", raw, `“${raw}”: how much?`); }

  unsure(name, code, raw, detail) {
    if (name !== "hazards") {
      delete this.fields[name];
      const kept = (this.fields.read_across ?? []).filter((one) => one.station !== STATIONS[name]);
      delete this.fields.read_across;
      if (kept.length) this.fields.read_across = kept;
    }
    this.ask(name, code, raw, detail);
  }

  ask(name, code, read, detail) { this.questions.push({ pointer: `/${name}`, code, read, detail }); }

  isThick(name, size, raw) {
    if (size >= LIMITS.thinnest_mm && size <= LIMITS.thickest_mm) return true;
    this.unsure(name, "out_of_reason", raw, `A log is ${this.across(LIMITS.thinnest_mm)} to ${this.across(LIMITS.thickest_mm)} thick.`);
    return false;
  }

  along(size) { return written(size, this.units.long, this.fraction); }

  across(size) { return written(size, this.units.thick, this.fraction); }
}

/** The words of the text; marks that say nothing left out. */
function wordsOf(text) {
  const found = [...text.matchAll(WORD)].map((one) => ({ word: one[0].toLowerCase(), start: one.index, end: one.index + one[0].length }));
  return found.filter(({ word, start, end }, i) => {
    const touchesBefore = found[i - 1]?.end === start, touchesBehind = found[i + 1]?.start === end;
    if (word === "=") return false;
    if (word === ":") return touchesBefore && touchesBehind;
    if (word === "-") return !touchesBefore && touchesBehind;
    return !(word === "." && touchesBefore && SHORTENED.includes(found[i - 1].word));
  });
}

/** What is said of from this word on: `[field, how many words name it, what these say already]`, or null. */
function begins(words, i, of) {
  const [word, after = "", third = ""] = words.slice(i, i + 3);
  const behind = (j) => (words[j + 1] === "the" ? j + 2 : j + 1);
  if (word === "from") {
    const end = endOfLog(words, behind(i), null);
    return !end || end[0] === "middle_mm" ? null : ["from", behind(i) + end[1] - i, { tip: end[0] === "tip_mm" }];
  }
  const somewhere = crownOrHazard(words, i);
  if (somewhere) return somewhere;
  if (word === "straight" && of?.about === "grain_hand" && of.value === null) return null;
  const other = otherWords(word, after, third);
  if (other) return other;
  const isAt = ["at", "in", "on"].includes(word);
  const j = isAt ? behind(i) : i;
  const end = endOfLog(words, j, of);
  if (!end) return null;
  if (isAt && of?.about === "hazards" && !hasFigure(of)) return ["where", j + end[1] - i, {}]; // rot at the butt: no diameter
  return [end[0], j + end[1] - i, { at: isAt || (end[0] === "length_mm" && words[j] === "long") }];
}

/** The place or the length that is named here, and in how many words. */
function endOfLog(words, j, of) {
  const [word = "", after = ""] = words.slice(j, j + 2);
  if (LARGE.includes(word) && after === "end") return ["butt_mm", 2];
  if (SMALL.includes(word) && after === "end") return ["tip_mm", 2];
  for (const [names, field] of ENDS) if (names.includes(word)) return [field, after === "end" ? 2 : 1];
  if (LENGTH.includes(word)) return ["length_mm", 1];
  const isTip = word === "top" && !SOMEWHERE.includes(of?.about) && words[j - 1] !== "from" && (isFigure(after) || after === "is");
  return isTip ? ["tip_mm", 1] : null;
}

function crownOrHazard(words, i) {
  const isNone = words[i] === "no";
  let j = isNone || (words[i] === "a" && VAGUE.includes(words[i + 1])) ? i + 1 : i;
  let vague = false;
  while (VAGUE.includes(words[j]) || (vague && ["of", "a"].includes(words[j]))) [j, vague] = [j + 1, true];
  const word = words[j];
  if (CROWN.includes(word)) return ["crown_mm", j + 1 - i, { value: isNone ? "none" : null, vague }];
  if (!HAZARDS.has(word) && !(isNone && ["hazard", "hazards"].includes(word))) return null;
  return ["hazards", j + 1 - i, { value: isNone ? null : HAZARDS.get(word), vague: vague || isNone }];
}

function otherWords(word, after, third) {
  if (HANDS.includes(word)) {
    if (GRAIN.includes(after)) return ["grain_hand", 2, { value: word }];
    if (["hand", "handed"].includes(after) && GRAIN.includes(third)) return ["grain_hand", 3, { value: word }];
    if (word === "straight") return ["crown_mm", 1, { value: "none" }];
  }
  if (GRAIN.includes(word)) return ["grain_hand", GRAIN.includes(after) ? 2 : 1, {}];
  if (word === "log" || word === "number") return ["number", word === "log" && after === "number" ? 2 : 1, {}];
  if (word === "#" || word === "nr" || (word === "no" && startsWithDigit(after))) return ["number", 1, {}];
  if (["peeled", "debarked", "unpeeled"].includes(word)) return ["peeled", 1, { value: word !== "unpeeled" }];
  if (["not peeled", "bark on", "bark off"].includes(`${word} ${after}`)) return ["peeled", 2, { value: after === "off" }];
  if (after === "dry" && ["partly", "half", "air"].includes(word)) return ["seasoning", 2, { value: word === "air" ? "dry" : "partly_dry" }];
  if (["green", "fresh"].includes(word)) return ["seasoning", 1, { value: "green" }];
  return ["dry", "seasoned"].includes(word) ? ["seasoning", 1, { value: "dry" }] : null;
}

/** Without breaks "fifteen at the butt thirteen at the tip" can be read backwards too: true if so. */
function markUnsure(lead, clauses) {
  const asking = clauses.filter(takesFigure);
  const isLed = lead.some((one) => isFigure(one.word));
  const lacks = asking.some((one) => !SOMEWHERE.includes(one.about) && !hasFigure(one));
  const eitherWay = (asking.length > 1 && isLed && lacks) || asking.slice(1).some((one) => one.at);
  asking.forEach((one, i) => {
    one.unsure ||= eitherWay;
    if (i && SOMEWHERE.includes(one.about) && !hasFigure(one) && !one.vague) asking[i - 1].unsure = true; // "length seventeen two inch crown"
  });
  return eitherWay;
}

/** The words without the side of the log that they end or begin with, and that side. */
function withoutSide(words) {
  const sides = words.flatMap((word, i) => (SIDES.has(word) ? [i] : []));
  if (sides.length !== 1) return [words, null];
  let [before, behind] = [words.slice(0, sides[0]), words.slice(sides[0] + 1)];
  while (before.length && ROUND_A_SIDE.includes(before.at(-1))) before = before.slice(0, -1);
  while (behind.length && ROUND_A_SIDE.includes(behind[0])) behind = behind.slice(1);
  return [before.length && behind.length ? words : [...before, ...behind], SIDES.get(words[sides[0]])];
}

/** The words without those at their ends that say nothing by themselves. */
function stripped(words, before, behind) {
  const isOneOfAUnit = (i) => ["a", "an"].includes(words[i]) && i + 1 < words.length && followsOne(words[i + 1]);
  let start = 0, end = words.length;
  while (start < end && before.includes(words[start]) && !isOneOfAUnit(start)) start += 1;
  while (end > start && behind.includes(words[end - 1])) end -= 1;
  return words.slice(start, end);
}

function numberOf({ words: said }, raw) {
  const typed = raw.replace(NAMED_NUMBER, "");
  if (PAINTED.test(typed)) return typed;
  const words = stripped(said, [...BEFORE, "#"], BEHIND);
  if (words.length > 1 && words.every((word) => Object.hasOwn(DIGITS, word))) return words.map((word) => DIGITS[word]).join("");
  return String(wholeNumber(words));
}
