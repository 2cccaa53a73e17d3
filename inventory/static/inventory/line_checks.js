// What the service would ask about a charted log, asked at the rack before the next one: inventory/core/chart_rules.py has
// the same limits. What this leaves out is still asked by the service.

import { written } from "../crews/lengths.js";
import { BadLength, readLength } from "../crews/reading.js";

export const LIMITS = {
  shortest_log_mm: 300, longest_log_mm: 30_000, short_log_mm: 1_000, long_log_mm: 16_000,
  thinnest_mm: 40, thickest_mm: 1_500, thin_mm: 100, thick_mm: 700,
  middle_over_butt_share: 0.10, middle_over_butt_mm: 25, middle_under_tip_share: 0.05, middle_under_tip_mm: 12,
  strong_taper: 0.025, large_bow_share: 0.02, largest_bow_share: 0.10,
};
export const USUAL_INSET_MM = 305; // inventory/core/profile.py
const STATIONS = ["butt_mm", "middle_mm", "tip_mm"];
const MEASURES = ["length_mm", ...STATIONS];

/**
 * Faults and doubts of a log as it was typed: `[{ pointer, detail, doubtful }]`, faults alone if there are any.
 * `line`: its values, numbers in mm or texts with their unit; `units`: `{ long, thick }`; `inset_mm`: how far from the ends.
 */
export function findingsOf(line, { units, fraction, inset_mm = USUAL_INSET_MM }) {
  const unreadable = [];
  const sizes = {};
  for (const name of [...MEASURES, "crown_mm"]) {
    const value = line[name];
    if (value === null || value === undefined || (typeof value === "string" && /x/i.test(value))) continue; // two readings across are read by the service
    try {
      sizes[name] = typeof value === "number" ? value : readLength(value, name === "length_mm" ? units.long : units.thick);
    } catch (error) {
      if (!(error instanceof BadLength)) throw error;
      unreadable.push({ pointer: `/${name}`, detail: `“${value}” cannot be read: ${error.message}.`, doubtful: false });
    }
  }
  if (unreadable.length) return unreadable;
  const say = { along: (value) => written(value, units.long, fraction), across: (value) => written(value, units.thick, fraction) };
  const faults = [...sizeFaults(sizes, say), ...(known(sizes, STATIONS) ? endFaults(sizes, say) : []), ...crownFaults(sizes, say)];
  return faults.length ? faults : [...sizeDoubts(sizes, say), ...(known(sizes, MEASURES) ? endDoubts(sizes, say, inset_mm) : []), ...crownDoubts(sizes, say)];
}

const known = (mm, names) => names.every((name) => mm[name] !== undefined);
const outside = (value, least, most) => value !== undefined && (value < least || value > most);
const finding = (doubtful) => (name, detail) => ({ pointer: `/${name}`, detail, doubtful });
const fault = finding(false), doubt = finding(true);

function sizeFaults(mm, say) {
  const told = [];
  if (outside(mm.length_mm, LIMITS.shortest_log_mm, LIMITS.longest_log_mm)) {
    told.push(fault("length_mm", `A log is ${say.along(LIMITS.shortest_log_mm)} to ${say.along(LIMITS.longest_log_mm)} long.`));
  }
  for (const name of STATIONS) {
    if (outside(mm[name], LIMITS.thinnest_mm, LIMITS.thickest_mm)) told.push(fault(name, `A log is ${say.across(LIMITS.thinnest_mm)} to ${say.across(LIMITS.thickest_mm)} thick.`));
  }
  return told;
}

function endFaults({ butt_mm: butt, middle_mm: middle, tip_mm: tip }, say) {
  if (butt < tip) return [fault("butt_mm", `The butt is thinner than the tip, ${say.across(tip)}.`)];
  const thinnest = tip - Math.max(LIMITS.middle_under_tip_mm, tip * LIMITS.middle_under_tip_share);
  const thickest = butt + Math.max(LIMITS.middle_over_butt_mm, butt * LIMITS.middle_over_butt_share);
  if (thinnest <= middle && middle <= thickest) return [];
  return [fault("middle_mm", `The middle lies outside its ends, ${say.across(butt)} and ${say.across(tip)}, by more than flare explains.`)];
}

function crownFaults({ crown_mm: crown, length_mm: length }, say) {
  return crown > length * LIMITS.largest_bow_share ? [fault("crown_mm", `So much in ${say.along(length)} is out of any reason.`)] : [];
}

function sizeDoubts(mm, say) {
  const told = [];
  if (outside(mm.length_mm, LIMITS.short_log_mm, LIMITS.long_log_mm)) {
    told.push(doubt("length_mm", `Most logs are ${say.along(LIMITS.short_log_mm)} to ${say.along(LIMITS.long_log_mm)} long.`));
  }
  for (const name of STATIONS) {
    if (outside(mm[name], LIMITS.thin_mm, LIMITS.thick_mm)) told.push(doubt(name, `Most logs are ${say.across(LIMITS.thin_mm)} to ${say.across(LIMITS.thick_mm)} thick.`));
  }
  return told;
}

function endDoubts({ length_mm: length, butt_mm: butt, middle_mm: middle, tip_mm: tip }, say, inset) {
  const told = [];
  if (middle > butt) told.push(doubt("middle_mm", `The middle is thicker than the butt, ${say.across(butt)}.`));
  else if (middle < tip) told.push(doubt("middle_mm", `The middle is thinner than the tip, ${say.across(tip)}.`));
  if (butt - tip > (length - 2 * inset) * LIMITS.strong_taper) told.push(doubt("tip_mm", `From butt ${say.across(butt)} it is an unusually strong taper.`));
  return told;
}

function crownDoubts({ crown_mm: crown, length_mm: length }, say) {
  return crown > length * LIMITS.large_bow_share ? [doubt("crown_mm", `It is unusually much in ${say.along(length)}.`)] : [];
}
