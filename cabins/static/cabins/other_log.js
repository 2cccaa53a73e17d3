// At the wall a crew takes the log that hangs: another place of the round, or another log into this place.

import { getOrKept, NoNetwork, Problem } from "../crews/api.js";
import { fill, find, make } from "../crews/dom.js";
import { logNowOrKept, logsOfNumber } from "../crews/kept.js";
import { meant } from "../crews/lengths.js";
import { unsent } from "../crews/outbox.js";
import { run } from "../crews/shell.js";

let offered; // the log that others are offered for: an answer for an earlier one comes too late

/** Offer what else can be set instead of `log`, from the moment it is shown; `take(row)` shows the one that is chosen. */
export async function offerOthers(cabin, log, unit, take) {
  const named = (one) => `Log ${one.log_number}: wall ${one.wall}, round ${one.round}${one.position ? `, ${one.position}` : ""}`;
  const choose = (one) => () => run(async () => {
    await Promise.all([take(one), offerOthers(cabin, one, unit, take)]);
    find("other").open = false;
    find("next-heading").scrollIntoView();
  });
  offered = log;
  find("other-log").onsubmit = (event) => { event.preventDefault(); run(() => takeLog(log, unit, choose)); };
  fill("other-places");
  const rows = await otherRows(cabin, log);
  if (offered !== log) return;
  fill("other-places", rows.length
    ? rows.map((one) => make("li", {}, make("span", {}, named(one)), make("button", { type: "button", click: choose(one) }, "Set this one", make("span", { class: "unseen" }, `: ${named(one)}`))))
    : make("li", { class: "nothing" }, "There is no other open place in this round."));
}

/** The round's other open places, as the plan fills them; what waits on this phone is done. */
async function otherRows(cabin, log) {
  let told;
  try {
    told = await getOrKept(`cabins/${cabin}/setting-sheet?round=${log.round}`);
  } catch (error) {
    if (error instanceof NoNetwork || error instanceof Problem) return [];
    throw error;
  }
  const place = (one) => `${one.wall} ${one.round} ${one.piece}`;
  const done = (await unsent()).filter((one) => one.kind === "set" && one.body.cabin === cabin).map(({ body }) => place(body));
  return told.rows.filter((one) => place(one) !== place(log) && !done.includes(place(one)));
}

/** Another log into the place that is shown: its own dangers count, and the service says where it departs from the plan. */
async function takeLog(log, unit, choose) {
  const number = find("other-number").value.trim();
  const logs = await Promise.all((await logsOfNumber(number)).map(async (id) => (await logNowOrKept(id)).log));
  const found = logs.find((one) => ["in_rack", "reserved"].includes(one.state));
  if (!found) throw new Error(`No log ${number} lies free in a yard.`);
  const cut = meant(find("other-from").value, unit) || log.cut_near_butt_mm;
  find("other-log").reset();
  const other = { ...log, log: found.id, log_number: found.number, cut_near_butt_mm: cut, cut_near_tip_mm: typeof cut === "number" ? cut + log.length_mm : null, hazards: found.hazards,
    yard_name: null, rack_name: found.rack_name, cautions: [], opening_cuts: [], at_jambs: [], rip: null, lying: { lines: [] }, corners: [], crown_text: null,
    lift: { weight_high_kg: null, why_no_weight: "see the log's own page", cautions: log.lift.cautions, hangs_text: null, balance_from_butt_mm: null } };
  await choose(other)();
}
