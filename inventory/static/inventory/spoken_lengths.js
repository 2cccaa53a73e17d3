// Lengths in words as people say them: the twin of inventory/core/spoken_lengths.py, rule by rule.

const ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
  "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
const table = (pairs) => Object.assign(Object.create(null), Object.fromEntries(pairs));
const SMALL = table([...ONES.map((word, n) => [word, n]), ["nought", 0], ["nil", 0]]);
export const TENS = table(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"].map((word, n) => [word, 10 * (n + 2)]));
const PARTS = table([["half", 2], ["halves", 2], ["quarter", 4], ["quarters", 4], ["eighth", 8], ["eighths", 8],
  ["sixteenth", 16], ["sixteenths", 16], ["thirty-second", 32], ["thirty-seconds", 32]]);
const NAMES = {
  in: ["in", "inch", "inches", '"', "″"], ft_in: ["ft", "feet", "foot", "'", "′"], m: ["m", "metre", "metres", "meter", "meters"],
  cm: ["cm", "centimetre", "centimetres", "centimeter", "centimeters"], mm: ["mm", "millimetre", "millimetres", "millimeter", "millimeters"],
};
export const UNIT_WORDS = table(Object.entries(NAMES).flatMap(([unit, names]) => names.map((name) => [name, unit])));
const SIZE = { mm: 1, cm: 10, m: 1000, in: 25.4, ft_in: 304.8 };
const LONGEST = 1_000_000;
const LONGEST_DIGITS = 6;
const isDigit = (sign) => sign !== undefined && sign >= "0" && sign <= "9";
export const startsWithDigit = (word) => isDigit(word[0]);

/** This can be read in more than one way, or in none. */
export class NotClear extends Error {}

const number = (value, end, how = {}) => ({ value, end, hasPart: false, isWhole: true, isLoose: false, hasComma: false, words: 1, ...how });
const isTrade = (unit) => unit === "in" || unit === "ft_in";
const at = (words, i) => words[i] ?? "";
const past = (words, i, ...skipped) => (skipped.includes(at(words, i)) ? i + 1 : i);
const isFiner = (one) => one.hasPart && !Number.isInteger(one.value * 2); // than halves
const isHalf = (value) => value === 0.5;

/** True if a number begins with this word. */
export const isFigure = (word) => word in SMALL || word in TENS || word in PARTS || word.slice(1).includes("-") || startsWithDigit(word);

/** True if "a" before this word is one of it: an inch, a half, a hundred. */
export const followsOne = (word) => word in UNIT_WORDS || word in PARTS || word === "hundred";

/** The one whole number that these words are. Throws NotClear. */
export function wholeNumber(words) {
  const found = numberAt(words, 0);
  if (!found || found.end !== words.length || !found.isWhole) throw new NotClear();
  return found.value;
}

/** The length said from the i-th word on, in mm with five places, and where it ends. Throws NotClear. */
export function readMeasure(words, i, unit) {
  const [length, end] = measure(words, i, unit);
  if (length > LONGEST) throw new NotClear();
  return [Number((Math.floor(length * 1e5 + 0.5 + 1e-6) / 1e5).toFixed(5)), end];
}

function measure(words, i, usual) {
  const first = ["a", "an"].includes(at(words, i)) && at(words, i + 1) in UNIT_WORDS ? number(1, i + 1) : valueAt(words, i);
  if (!first) throw new NotClear();
  const [unit, end] = unitAt(words, first.end);
  if (first.hasComma && isTrade(unit ?? usual)) throw new NotClear();
  if (!unit) return bare(words, first, usual);
  if (!isTrade(unit) && isFiner(first)) throw new NotClear();
  const length = first.value * SIZE[unit];
  if (unit === "ft_in") return afterFeet(words, first, end);
  if (unit === "m") return afterMetres(words, first, end);
  if (unit === "mm" || !first.isWhole) return [length, end];
  const part = partAt(words, past(words, end, "and"));
  if (!part) return [length, end];
  if (unit === "cm" && !isHalf(part.value)) throw new NotClear();
  return [(first.value + part.value) * SIZE[unit], part.end];
}

/** A number without a unit, or two: feet and inches, metres and hundredths. */
function bare(words, first, usual) {
  if (!isTrade(usual) && isFiner(first)) throw new NotClear();
  const second = first.isWhole ? valueAt(words, first.end) : null;
  if (usual === "ft_in") {
    if (second) return inchesBeside(words, first, second);
    // "twenty four" is 24 feet or 20 feet 4; "seventeen and a quarter" is of a foot or of an inch.
    if (first.isLoose || isFiner(first) || (first.value < 1 && first.hasPart)) throw new NotClear();
  }
  if (usual === "m" && second) return [hundredthsBeside(first, second), second.end];
  return [first.value * SIZE[usual], first.end];
}

function afterFeet(words, first, end) {
  const second = valueAt(words, past(words, end, "and", ","));
  if (!second || (at(words, end) === "," && unitAt(words, second.end)[0] !== "in")) return [first.value * SIZE.ft_in, end];
  return inchesBeside(words, first, second);
}

function inchesBeside(words, feet, inches) {
  const [unit, end] = unitAt(words, inches.end);
  if (!feet.isWhole || inches.value >= 12 || (unit && unit !== "in")) throw new NotClear();
  if (!unit && inches.value < 1 && inches.hasPart) throw new NotClear(); // "four foot and a half": half a foot, or half an inch
  const part = unit && inches.isWhole ? partAt(words, past(words, end, "and")) : null;
  return [feet.value * SIZE.ft_in + (inches.value + (part?.value ?? 0)) * SIZE.in, part?.end ?? end];
}

function afterMetres(words, first, end) {
  const second = valueAt(words, past(words, end, "and"));
  if (!second) return [first.value * SIZE.m, end];
  const [unit, after] = unitAt(words, second.end);
  if (!first.isWhole || (unit && unit !== "cm" && unit !== "mm")) throw new NotClear();
  if (!unit) return [hundredthsBeside(first, second), second.end];
  const rest = second.value * SIZE[unit];
  if (rest >= SIZE.m || isFiner(second)) throw new NotClear();
  return [first.value * SIZE.m + rest, after];
}

/** Five eighty nine: two figures after the metres are centimetres; one may be tenths as well. */
function hundredthsBeside(metres, hundredths) {
  if (!metres.isWhole || !hundredths.isWhole || hundredths.value < 10 || hundredths.value > 99) throw new NotClear();
  return metres.value * SIZE.m + hundredths.value * SIZE.cm;
}

function unitAt(words, i) {
  let j = i;
  while (j < i + 2 && ["of", "a", "an"].includes(at(words, j))) j += 1;
  const unit = UNIT_WORDS[at(words, j)];
  return unit ? [unit, j + 1] : [null, i];
}

function valueAt(words, i) {
  const alone = partAt(words, i);
  if (alone) return alone;
  const whole = numberAt(words, i);
  if (!whole?.isWhole) return whole;
  const part = partAt(words, past(words, whole.end, "and"));
  return part ? number(whole.value + part.value, part.end, { hasPart: true, isWhole: false }) : whole;
}

/** A fraction of one: 3/4, three quarters, a half, half. */
function partAt(words, i) {
  const word = at(words, i);
  if (word.includes("/") && startsWithDigit(word)) {
    const [over, under] = word.split("/").map((one) => one.trim());
    if (over.length > 2 || under.length > 2) throw new NotClear();
    return fraction(Number(over), Number(under), i + 1);
  }
  if (["a", "an"].includes(word) && at(words, i + 1) in PARTS) return fraction(1, PARTS[at(words, i + 1)], i + 2);
  if (word in PARTS) return fraction(1, PARTS[word], i + 1);
  const over = numberAt(words, i);
  if (!over?.isWhole) return null;
  const named = partNamed(words, over.end);
  if (!named) return null;
  if (over.words > 1) throw new NotClear(); // "twenty three eighths": 20 3/8, or 23/8
  return fraction(over.value, ...named);
}

function partNamed(words, i) {
  if (at(words, i) in PARTS) return [PARTS[at(words, i)], i + 1];
  return at(words, i) === "thirty" && ["second", "seconds"].includes(at(words, i + 1)) ? [32, i + 2] : null;
}

function fraction(over, under, end) {
  if (![2, 4, 8, 16, 32].includes(under) || over <= 0 || over >= under) throw new NotClear();
  return number(over / under, end, { hasPart: true, isWhole: false });
}

/** A number in words or figures, whole or with decimals. */
function numberAt(words, i) {
  const word = at(words, i);
  let whole, end, isLoose = false;
  if (startsWithDigit(word)) {
    if (word.includes("/")) return null;
    if (/[.,]/.test(word)) {
      const [before, decimals] = word.split(/[.,]/);
      if (before.length > LONGEST_DIGITS || decimals.length > 5 || (word.includes(",") && decimals.length === 3)) throw new NotClear();
      return number(Number(`${before}.${decimals}`), i + 1, { isWhole: false, hasComma: word.includes(",") });
    }
    if (word.length > LONGEST_DIGITS) throw new NotClear();
    [whole, end] = [Number(word), i + 1];
  } else {
    const found = inWords(words, i);
    if (!found) return null;
    [whole, end, isLoose] = found;
  }
  if (at(words, end) !== "point") return number(whole, end, { isLoose, words: end - i });
  let decimals = "", j = end + 1;
  for (let digit = digitOf(at(words, j)); digit !== null; digit = digitOf(at(words, j))) [decimals, j] = [decimals + digit, j + 1];
  if (!decimals || decimals.length > 5) throw new NotClear();
  return number(Number(`${whole}.${decimals}`), j, { isWhole: false });
}

function digitOf(word) {
  if (word === "oh" || word === "o") return "0";
  if (word && [...word].every(isDigit)) return word;
  return (SMALL[word] ?? 10) < 10 ? String(SMALL[word]) : null;
}

function inWords(words, i) {
  const head = belowThousand(words, i);
  if (!head || at(words, head[1]) !== "thousand") return head;
  const [value, end] = [head[0] * 1000, head[1] + 1];
  const rest = belowThousand(words, past(words, end, "and"));
  return rest ? [value + rest[0], rest[1], false] : [value, end, false];
}

function belowThousand(words, i) {
  const head = at(words, i) === "a" && at(words, i + 1) === "hundred" ? [1, i + 1, false] : belowHundred(words, i);
  if (!head || at(words, head[1]) !== "hundred" || head[0] < 1 || head[0] > 9) return head;
  const [value, end] = [head[0] * 100, head[1] + 1];
  const rest = belowHundred(words, past(words, end, "and"));
  return rest ? [value + rest[0], rest[1], false] : [value, end, false];
}

function belowHundred(words, i) {
  const word = at(words, i);
  const [tens, ones] = word.split("-");
  if (ones && tens in TENS && ones in SMALL) return [TENS[tens] + SMALL[ones], i + 1, false];
  if (word in SMALL) return [SMALL[word], i + 1, false];
  if (!(word in TENS)) return null;
  const behind = SMALL[at(words, i + 1)] ?? 0;
  return behind >= 1 && behind <= 9 ? [TENS[word] + behind, i + 2, true] : [TENS[word], i + 1, false];
}
