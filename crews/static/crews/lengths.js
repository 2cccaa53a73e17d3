// Lengths, weights and volumes as a crew reads them: the twin of inventory/core/crew_units.py, which writes the
// same texts. What is typed is read by the API; here only a missing unit is added.

const MM = { mm: 1, cm: 10, m: 1000 };
const THICK = { mm: "mm", cm: "cm", m: "cm", in: "in", ft_in: "in" };
const WORDS = { mm: "mm", cm: "cm", m: "m", in: "in", ft_in: "ft, in" };
const KG_PER_LB = 0.45359237;
const FT3_PER_M3 = 1 / 0.3048 ** 3;
// Where a crown points, by the face of the log as it was charted.
const SIDES = { top: "up", bottom: "down", left: "left", right: "right" };
const TONNE_FROM_KG = 10000;
const FINEST_ERROR = 16;

const isTrade = (crew) => ["in", "ft_in"].includes(crew.length_unit);

/** "lb" or "kg": as the crew chose, else as its lengths. */
export const weighsIn = (crew) => crew.weight_unit ?? (isTrade(crew) ? "lb" : "kg");

/**
 * How a crew writes: `long(mm)` for lengths, positions and heights, `thick(mm)` for diameters, notches and gaps,
 * `error(mm)` for what a length may be off, `weight(kg)`, `volume(m3)`, and `crown(mm, side)`. What is not known is a dash.
 */
export function writer(crew) {
  const known = (write) => (value) => (value === null || value === undefined ? "–" : write(Number(value)));
  const inUnit = (unit) => known((mm) => written(mm, unit, crew.fraction));
  return {
    long: inUnit(crew.length_unit), thick: inUnit(THICK[crew.length_unit]),
    error: known((mm) => error(mm, crew)), weight: known((kg) => weight(kg, crew)),
    crown: (mm, side) => crown(mm, side, inUnit(THICK[crew.length_unit])), volume: known((m3) => volume(m3, crew)),
  };
}

/** The unit that goes without saying: `{ long: "ft_in", thick: "in" }`. */
export const unitsOf = (crew) => ({ long: crew.length_unit, thick: THICK[crew.length_unit] });

export const unitWords = (unit) => WORDS[unit];

/** A figure to five digits, hundredths at least, as the service tells it; one of no more than five places as it is. */
function noiseFree(exact) {
  const stored = Number(exact.toFixed(5)); // as exact as lengths are stored
  return stored === exact || !exact ? stored : Number(exact.toFixed(Math.max(2, 4 - Math.floor(Math.log10(Math.abs(exact))))));
}

export function written(exact, unit, fraction) {
  const mm = Number(noiseFree(Number(exact)).toFixed(5));
  if (unit === "ft_in" || unit === "in") return inches(mm, unit, fraction);
  return `${toPlaces(toPlaces(mm, 0) / MM[unit], 3)} ${unit}`;
}

function error(mm, crew) {
  if (!isTrade(crew)) return written(Math.max(mm, 1), "mm");
  const finest = Math.max(crew.fraction, FINEST_ERROR);
  return written(Math.max(mm, 25.4 / finest), "in", finest);
}

function weight(kg, crew) {
  if (weighsIn(crew) === "lb") return `${thousands(toPlaces(kg / KG_PER_LB, 0))} lb`;
  return Math.abs(kg) >= TONNE_FROM_KG ? `${toPlaces(kg / 1000, 1)} t` : `${toPlaces(kg, 0)} kg`;
}

function crown(mm, side, thick) {
  if (mm === null || mm === undefined) return "not looked at";
  return thick(mm) === thick(0) ? "straight" : `${thick(mm)}, ${SIDES[side] ?? "side not charted"}`;
}

function volume(m3, crew) {
  if (isTrade(crew)) return `${thousands(toPlaces(m3 * FT3_PER_M3, 1))} ft³`;
  return `${toPlaces(m3, Math.abs(m3) < 10 ? 3 : 1)} m³`;
}

// Halves go away from nought, also those that a binary number lies a hair below.
const HAIR = 1e-9;
const rounded = (value) => Math.sign(value) * Math.floor(Math.abs(value) + 0.5 + HAIR) || 0;
const toPlaces = (value, places) => Number((rounded(value * 10 ** places) / 10 ** places).toFixed(places));
const thousands = (value) => String(value).replace(/\B(?<!\.\d*)(?=(\d{3})+(?!\d))/g, ",");

function inches(mm, unit, fraction) {
  const steps = Math.abs(rounded((mm / 25.4) * fraction));
  const feet = unit === "ft_in" ? Math.floor(steps / (12 * fraction)) : 0;
  const rest = steps - feet * 12 * fraction;
  const whole = Math.floor(rest / fraction);
  let [over, under] = [rest % fraction, fraction];
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  // With feet the whole inches are written even if there are none: 1' 1/4" reads like a slip for 1 1/4".
  const part = over ? `${whole || unit === "ft_in" ? `${whole} ` : ""}${over}/${under}` : `${whole}`;
  return `${mm < 0 && steps ? "-" : ""}${unit === "ft_in" ? `${feet}' ` : ""}${part}"`;
}

/** What was typed, with the unit that was meant: "19 4" in feet and inches is 19' 4". */
export function meant(typed, unit) {
  const text = typed.trim();
  if (!text || !/^[0-9½¼¾⅛⅜⅝⅞\s.,/-]+$/.test(text)) return text;
  if (unit !== "ft_in") return `${text} ${unit}`;
  const [, feet, rest] = text.match(/^(\d+)\s+(.+)$/) || [];
  return feet && !/^\d+\s*\/\s*\d+$/.test(rest) ? `${feet}' ${rest}"` : `${text} ft`;
}
