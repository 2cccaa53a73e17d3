// Lengths as a crew reads and speaks them. The API reads what is typed; here only a missing unit is added.

const MM = { mm: 1, cm: 10, m: 1000, in: 25.4, ft_in: 304.8 };
const THICK = { mm: "mm", cm: "cm", m: "cm", in: "in", ft_in: "in" };
const WORDS = { mm: "mm", cm: "cm", m: "m", in: "in", ft_in: "ft, in" };
const PLACES = { mm: 0, cm: 1, m: 2 };

/** How a crew writes: `long(mm)` for lengths along a log, `thick(mm)` for diameters, notches and heights. */
export function writer(crew) {
  const write = (unit) => (mm) => (mm === null || mm === undefined ? "–" : written(mm, unit, crew.fraction));
  return { long: write(crew.length_unit), thick: write(THICK[crew.length_unit]) };
}

/** The unit that goes without saying: `{ long: "ft_in", thick: "in" }`. */
export const unitsOf = (crew) => ({ long: crew.length_unit, thick: THICK[crew.length_unit] });

export const unitWords = (unit) => WORDS[unit];

export function written(mm, unit, fraction) {
  if (unit === "ft_in" || unit === "in") return inches(mm, unit, fraction);
  return `${(mm / MM[unit]).toFixed(PLACES[unit])} ${unit}`;
}

function inches(mm, unit, fraction) {
  const sign = mm < 0 ? "−" : "";
  let parts = Math.round((Math.abs(mm) / 25.4) * fraction);
  const feet = unit === "ft_in" ? Math.floor(parts / (12 * fraction)) : 0;
  parts -= feet * 12 * fraction;
  let [over, under] = [parts % fraction, fraction];
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  const whole = Math.floor(parts / fraction);
  const told = [whole || feet || !over ? whole : "", over ? `${over}/${under}` : ""].filter((one) => one !== "").join(" ");
  return `${sign}${feet ? `${feet}' ` : ""}${told}${unit === "ft_in" ? '"' : " in"}`;
}

/** What was typed, with the unit that was meant: "19 4" in feet and inches is 19' 4". */
export function meant(typed, unit) {
  const text = typed.trim();
  if (!text || !/^[0-9½¼¾⅛⅜⅝⅞\s.,/-]+$/.test(text)) return text;
  if (unit !== "ft_in") return `${text} ${unit}`;
  const [, feet, rest] = text.match(/^(\d+)\s+(.+)$/) || [];
  return feet && !/^\d+\s*\/\s*\d+$/.test(rest) ? `${feet}' ${rest}"` : `${text} ft`;
}
