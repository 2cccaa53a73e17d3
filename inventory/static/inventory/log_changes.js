// The columns of a log that its history tells, and how what one held is written.

import { HAZARDS, STATES } from "./words.js";

const LENGTHS = { length_mm: "length", butt_mm: "butt", middle_mm: "middle", tip_mm: "tip", crown_mm: "crown", crown_at_mm: "place of the crown", crook_mm: "crook", crook_at_mm: "place of the crook" };
const LONG = ["length_mm", "crown_at_mm", "crook_at_mm"];
const ONLY_THAT_IT_CHANGED = { rack_id: "rack", species_id: "species", read_across: "readings across", further_stations: "further diameters", instructions: "the lead's word" };

/** The columns by their words; `plain` are those of the chart that a page shows as they are: [column, words]. */
export const columnsOf = (plain) => ({
  number: "number", state: "state", cull_reason: "put aside because", gone_reason: "written off because", ...LENGTHS, crown_side: "side of the crown",
  grain_hand: "grain", grain_slope: "slope of the grain, 1 in", hazards: "hazards", ...ONLY_THAT_IT_CHANGED, ...Object.fromEntries(plain.map(([column, words]) => [column, words.toLowerCase()])),
});

/** What a column held, in the crew's units; undefined where only the fact of the change is told. */
export const writeColumn = (me) => (column, stored) => {
  if (column in ONLY_THAT_IT_CHANGED) return undefined;
  if (column === "state") return STATES[stored];
  if (column === "hazards") return (stored ?? []).map((one) => `${HAZARDS[one.kind]} ${me.length.long(one.from_butt_mm)} from the butt`).join(", ");
  if (column in LENGTHS) return stored === null ? "" : me.length[LONG.includes(column) ? "long" : "thick"](stored);
  if (typeof stored === "boolean") return stored ? "yes" : "no";
  return String(stored ?? "").replace("partly_dry", "partly dry");
};
