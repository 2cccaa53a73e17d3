// One log: what is known of it, what to beware of, what it weighs.

import { all, ask, get } from "../crews/api.js";
import { askWhy } from "../crews/dialog.js";
import { choices, facts, fill, find, make, row, saveForm, tell } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { historyOf } from "../crews/history.js";
import { newId } from "../crews/ids.js";
import { meant, unitsOf, unitWords } from "../crews/lengths.js";
import { logNowOrKept } from "../crews/kept.js";
import { here, idHere, run, start } from "../crews/shell.js";
import { day } from "../crews/times.js";
import { columnsOf, writeColumn } from "./log_changes.js";
import { movesOf } from "./log_moves.js";
import { HAZARDS, STATES } from "./words.js";

run(async () => {
  const me = await start();
  const { log, isKept } = await here("logs", () => logNowOrKept(idHere()));
  find("no-signal").hidden = !isKept;
  find("with-signal").hidden = isKept;
  showLog(log, me, { isKept });
  if (isKept) return;
  const place = `logs/${log.id}`;
  await Promise.all([
    draw(find("drawing"), `${place}/drawing`, { label: `Log ${log.number}` }), showFigures(place, me), showMeasurements(place, me), showPieces(log, me)]);
  document.querySelectorAll(".unit").forEach((one) => { one.textContent = `(${unitWords(unitsOf(me.crew).long)})`; });
  await showWord(log, me);
  find("saw").addEventListener("submit", (event) => { event.preventDefault(); run(() => recordSawn(log, me)); });
});

/** What is known of it, and what can be done with it now. */
function showLog(log, me, { isKept = false } = {}) {
  document.title = `Log ${log.number} – Roundlay`;
  find("name").textContent = `Log ${log.number}`;
  const { long, thick } = me.length;
  facts("facts", [
    ["State", STATES[log.state]], ["Rack", log.rack_name], ["Species", log.species_name], ["Length", long(log.length_mm)],
    ...[["Butt", "butt"], ["Middle", "middle"], ["Tip", "tip"]].map(([words, station]) => [words, diameter(log, station, thick)]), ["Crown", me.length.crown(log.crown_mm, log.crown_side)],
    ["Grain", grain(log)], ["Put aside because", log.cull_reason], ["Written off because", log.state === "gone" ? log.gone_reason : ""],
    ...JSON.parse(find("facts").dataset.columns).map(([field, heading]) => [heading, inWords(log[field])]),
  ]);
  fill("history", historyOf("log", log.id, { words: columnsOf(JSON.parse(find("facts").dataset.columns)), value: writeColumn(me), made: "charted" }));
  const moved = async (stored) => { showLog(stored, me); await showWord(stored, me); };
  fill("ways", make("a", { class: "button", href: `/chart?log=${log.id}` }, "Measure it again"), isKept ? "" : movesOf(log, me, moved));
  fill("hazards", log.hazards.map((one) => make("p", { class: `caution ${one.kind === "metal" ? "danger" : ""}` },
    make("strong", {}, `Beware: ${HAZARDS[one.kind]}`), ` ${long(one.from_butt_mm)} from the butt${one.face ? `, ${one.face}` : ""}.`)));
}

/** What a plain column of the chart holds, as people say it. */
function inWords(value) {
  if (typeof value === "boolean") return value ? "yes" : "no";
  return typeof value === "string" ? value.replace("partly_dry", "partly dry") : value;
}

/** A diameter; the mean of two readings with both and how far they are apart. */
function diameter(log, station, thick) {
  const twice = log.read_across.find((one) => one.station === station);
  const mean = thick(log[`${station}_mm`]);
  return twice ? `${mean} (${thick(twice.first_mm)} and across ${thick(twice.across_mm)}, ${thick(twice.difference_mm)} apart)` : mean;
}

/** What a lead said of it, and for leads what can be said. */
async function showWord(log, me) {
  fill("said", log.instructions.map((one) => make("li", {}, one.text)), log.instructions.length ? "" : make("li", { class: "nothing" }, "Nothing was said of it."));
  find("word").hidden = !me.may("lead");
  if (!me.may("lead")) return;
  const cabins = await all("cabins");
  const kept = log.instructions.find((one) => one.kind === "keep_for");
  const pin = log.instructions.find((one) => one.kind === "pin");
  const has = (kind) => log.instructions.some((one) => one.kind === kind);
  choices(find("use"), [...(pin ? [["pin", pin.text]] : []), ["", "nothing in particular"], ["sill", "a sill log"], ["plate", "a plate log"], ["ridge", "the ridge"], ["cabin", "one cabin, wherever in it"]], kept?.use ?? (pin ? "pin" : ""));
  choices(find("use-cabin"), [["", "any cabin"], ...cabins.map((one) => [one.id, one.name])], kept?.cabin ?? "");
  find("peel_first").checked = has("peel_first");
  find("never_in_wall").checked = has("never_in_wall");
  find("word-form").onsubmit = (event) => { event.preventDefault(); run(() => say(log, me, pin)); };
}

async function say(log, me, pin) {
  const use = find("use").value;
  const cabin = find("use-cabin").value || null;
  if (use === "cabin" && !cabin) throw new Error("Choose the cabin it is kept for.");
  const told = ["peel_first", "never_in_wall"].filter((kind) => find(kind).checked).map((kind) => ({ kind }));
  if (use === "pin") told.push(pinOf(pin));
  else if (use) told.push({ kind: "keep_for", use, cabin });
  const stored = await ask("PUT", `logs/${log.id}/instructions`, { instructions: told }, { version: log.version });
  tell("It holds for every later plan.");
  await showWord(stored, me);
}

/** A pin as it is sent: what is shown of it besides is made of it. */
const pinOf = ({ kind, cabin, wall, round, piece, member, from_butt_mm, butt_at }) => ({ kind, cabin, wall, round, piece, member, from_butt_mm, butt_at });

const MARKS = { sawn: "sawn", peeled: "peeled", notched: "notched", at_wall: "at the wall" };

/** What is set or made of it, what is prepared, and what is left. */
async function showPieces(log, me) {
  const told = await get(`logs/${log.id}/pieces`);
  const { long } = me.length;
  const span = (one) => `${long(one.near_butt_mm)} to ${long(one.near_tip_mm)}`;
  const aim = (one) => (one.member || (one.wall ? `wall ${one.wall}, round ${one.round}` : ""));
  const back = (one) => make("button", { type: "button", click: () => run(() => takeBack(one, log, me)) }, "Take back", make("span", { class: "unseen" }, ` ${span(one)}`));
  fill("pieces",
    told.pieces.map((one) => make("li", {}, `${span(one)}: ${one.member ? "made into" : "set in"} ${aim(one)} of ${one.cabin_name}`)),
    told.prepared.map((one) => make("li", {}, make("span", {}, `${span(one)}: ${one.marks.map((mark) => MARKS[mark]).join(", ")}${one.cabin_name ? `, for ${[aim(one), one.cabin_name].filter(Boolean).join(" of ")}` : ", for no place yet"}`), back(one))),
    told.left.map((one) => make("li", { class: "nothing" }, `${span(one)}: left, up to ${long(one.length_mm)}${one.is_half ? ", the other half" : ""}`)));
}

async function recordSawn(log, me) {
  const [near, tip] = ["near_butt_mm", "near_tip_mm"].map((name) => meant(find(name).value, unitsOf(me.crew).long));
  await saveForm(find("saw"), () => ask("PUT", `prepared-pieces/${newId()}`, { log: log.id, near_butt_mm: near, near_tip_mm: tip, metal_removed: find("metal_removed").checked, prepared_at: new Date().toISOString() }));
  find("saw").reset();
  tell("It is a piece of its own from now on.");
  await showPieces(log, me);
}

async function takeBack(one, log, me) {
  const reason = await askWhy("Why is that not so?", { yes: "Take back" });
  if (!reason) return;
  await ask("POST", `prepared-pieces/${one.prepared_piece}/undo`, { reason });
  await showPieces(log, me);
}

const NOT_LOOKED_AT = "nobody looked yet";
const grain = (log) => [log.grain_hand ?? NOT_LOOKED_AT, log.grain_slope ? `1 in ${log.grain_slope}` : ""].filter(Boolean).join(", ");

async function showFigures(place, me) {
  const told = await get(`${place}/figures`);
  facts("weight", [
    ["Weight, from", told.weight ? `${me.length.weight(told.weight.low_kg)} to ${me.length.weight(told.weight.high_kg)}` : told.why_no_weight],
    ["Balances from the butt end at", `${me.length.long(told.balance.from_butt_end_mm)}`],
    ["somewhere between", `${me.length.long(told.balance.low_mm)} and ${me.length.long(told.balance.high_mm)}`],
  ]);
  const cautions = [...new Set([...(told.weight?.cautions || []), ...told.balance.cautions, ...told.cautions])];
  fill("cautions", make("div", { class: "caution" }, make("strong", {}, "Before it is lifted"), make("ul", {}, cautions.map((one) => make("li", {}, one)))));
}

async function showMeasurements(place, me) {
  const { long, thick } = me.length;
  const items = await all(`${place}/measurements`);
  fill("measurements", items.map((one) => row(day(one.charted_on || one.created_at), one.charted_by, [long(one.length_mm), "number"],
    [thick(one.butt_mm), "number"], [thick(one.middle_mm), "number"], [thick(one.tip_mm), "number"], me.length.crown(one.crown_mm, one.crown_side))));
}
