// Lengths as a person types them, in millimetres: the twin of inventory/core/measure.py, which reads the same texts the
// same way. Pages ask with it at once what cannot be read; what is sent is still the text, and the service's reading counts.

const MM_PER = { mm: 1, cm: 10, m: 1000, in: 25.4, ft_in: 304.8 };
const FRACTIONS = [2, 4, 8, 16, 32];
const LONGEST_MM = 1_000_000;
const LONGEST_TEXT = 40;
const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅙": "1/6", "⅒": "1/10" };
const SAME_AS = [[/[′’‘´`ʹ‛]/g, "'"], [/[″”“„‟ʺ]/g, '"'], [/[‐‑‒–—−]/g, "-"], [/[⁄∕]/g, "/"], [/[\u00a0\u2007\u2009\u200a\u202f\t]/g, " "]];
const NUMBER = "(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)";
const MIXED = "(?:(?:[0-9]+(?:\\s*-\\s*|\\s+))?[0-9]+\\s*/\\s*[0-9]+)";
const VALUE = `(?:${MIXED}|${NUMBER})`;
const FEET = "(?:'|feet|foot|ft\\.?)";
const INCHES = '(?:"|inches|inch|in\\.?)';
const FEET_AND_INCHES = new RegExp(`^(${VALUE})\\s*${FEET}(?:\\s*[-,]?\\s*(${VALUE})\\s*${INCHES}?)?$`);
const ONE_UNIT = new RegExp(`^(${VALUE})\\s*(${INCHES}|mm|millimet(?:er|re)s?|cm|centimet(?:er|re)s?|m|met(?:er|re)s?)?$`);
const MIXED_PARTS = /^(?:([0-9]+)(?:\s*-\s*|\s+))?([0-9]+)\s*\/\s*([0-9]+)$/;
const THOUSANDS = /^[1-9][0-9]{0,2},[0-9]{3}$/;

/** Why a text is no length, in words. */
export class BadLength extends Error {}

/** The length written, in mm with five places; a plain number is in `unit`. Throws BadLength. */
export function readLength(text, unit) {
  const cleaned = clean(text);
  const feet = cleaned.match(FEET_AND_INCHES);
  const one = feet ? null : cleaned.match(ONE_UNIT);
  let mm;
  if (feet) mm = feetAndInches(feet[1], feet[2]);
  else if (one) {
    const written = unitWritten(one[2]) ?? unit;
    if (one[1].includes("/") && !["in", "ft_in"].includes(written)) throw new BadLength(`a fraction is in inches or feet, but the unit here is ${written}`);
    mm = value(one[1], written) * MM_PER[written];
  } else throw new BadLength(whyUnreadable(cleaned));
  if (mm > LONGEST_MM) throw new BadLength("it is longer than a kilometre");
  return Number((Math.floor(mm * 1e5 + 0.5 + 1e-6) / 1e5).toFixed(5));
}

/** The text with plain signs for typographic quotes, primes, dashes, blanks and fractions. */
export function spelledPlainly(text) {
  let plainly = [...text].map((one) => (VULGAR[one] ? ` ${VULGAR[one]}` : one)).join("");
  for (const [signs, plain] of SAME_AS) plainly = plainly.replace(signs, plain);
  return plainly.replaceAll("''", '"');
}

function clean(text) {
  if (text.length > LONGEST_TEXT) throw new BadLength(`it is longer than ${LONGEST_TEXT} characters`);
  const cleaned = spelledPlainly(text).trim().toLowerCase();
  if (!cleaned) throw new BadLength("nothing is written");
  return cleaned;
}

function whyUnreadable(cleaned) {
  if (cleaned.startsWith("-")) return "a length is not negative";
  if ((cleaned.match(/[.,]/g) ?? []).length > 1) return "it has more than one decimal mark";
  return 'expected a number with a unit, such as 11 5/8", 19\' 4", 5.89 m or 29.5 cm';
}

function unitWritten(mark) {
  if (!mark) return null;
  if (mark.startsWith("mm") || mark.startsWith("milli")) return "mm";
  if (mark.startsWith("c")) return "cm";
  return mark.startsWith("m") ? "m" : "in";
}

function feetAndInches(feet, inches) {
  const whole = value(feet, "ft_in");
  if (inches === undefined) return whole * MM_PER.ft_in;
  if (!Number.isInteger(whole)) throw new BadLength("feet beside inches are whole feet");
  const rest = value(inches, "in");
  if (rest >= 12) throw new BadLength("inches beside feet are less than 12");
  return whole * MM_PER.ft_in + rest * MM_PER.in;
}

function value(written, unit) {
  const parts = written.match(MIXED_PARTS);
  if (parts) {
    const [whole, over, under] = [Number(parts[1] ?? 0), Number(parts[2]), Number(parts[3])];
    if (!FRACTIONS.includes(under)) throw new BadLength("a fraction is in halves, quarters, eighths, sixteenths or thirty-seconds");
    if (over >= under) throw new BadLength("the fraction is not smaller than one");
    return whole + over / under;
  }
  if (["mm", "cm"].includes(unit) && THOUSANDS.test(written)) throw new BadLength("the comma may mark decimals or thousands; write it without, or with a point");
  return Number(written.replace(",", "."));
}
