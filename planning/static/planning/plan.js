// One plan: its walls as drawings beside the sheet, and what would happen if a log lay elsewhere.

import { ask, get, Problem } from "../crews/api.js";
import { askSure } from "../crews/dialog.js";
import { choices, facts, fill, find, make, row, tell } from "../crews/dom.js";
import { draw, placesIn } from "../crews/drawing.js";
import { here, idHere, run, start } from "../crews/shell.js";
import { when } from "../crews/times.js";
import { showChanges } from "./changes.js";
import { chooseHere, offerWhatIf } from "./what_if.js";
import { number, PLAN_STATES, TERMS } from "./words.js";
import { roundChoices } from "../cabins/rounds.js";

const place = `plans/${idHere()}`;
let me, plan, cabins, layouts;

run(async () => {
  me = await start();
  plan = await here("plans");
  cabins = await Promise.all(plan.cabins.map((id) => get(`cabins/${id}`)));
  layouts = Object.fromEntries(await Promise.all(cabins.map(async (one) => [one.id, await get(`cabins/${one.id}/layout`)])));
  find("name").textContent = `Plan of ${when(plan.created_at)}`;
  document.title = `${find("name").textContent} – Roundlay`;
  showPlan();
  choices(find("cabin"), cabins.map((one) => [one.id, one.name]));
  find("cabin").addEventListener("change", () => run(showCabin));
  for (const id of ["wall", "round"]) find(id).addEventListener("change", () => run(showAtWall));
  find("adopt").addEventListener("click", () => run(adopt));
  await offerWhatIf({ here: place, plan, me, chosenCabin: () => find("cabin").value, showChosen });
  await Promise.all([showCabin(), showChanges(plan, { mayTake: me.may("lead") })]);
});

const total = (rows, name) => rows.reduce((sum, row) => sum + row[name], 0);

function showPlan() {
  const worst = plan.metrics.max_plate_out_of_level;
  facts("facts", [
    ["State", PLAN_STATES[plan.state]], ["Penalty", number(plan.objective)], ["Rules met", plan.feasible ? "yes" : "no"],
    ["All places filled", plan.complete ? "yes" : "no"], ["Logs used", plan.metrics.logs_used],
    ["Spare logs left", plan.spare.length ? `${total(plan.spare, "left")} of ${total(plan.spare, "counted")}` : null],
    ["Waste", plan.metrics.waste_pct === undefined ? null : `${Math.round(plan.metrics.waste_pct)} %`],
    ["Plate out of level, at most", worst === undefined ? null : me.length.thick(worst)],
  ]);
  fill("next", plan.state === "adopted" ? cabins.map((one) => make("a", { class: "button main", href: `/cabins/${one.id}/wall` }, `At the wall: ${one.name}`)) : make("a", { class: "button", href: `/plans/side-by-side?one=${plan.id}` }, "Beside another plan"));
  fill("searched", plan.searched ? "" : make("div", { class: "caution" }, "Hardly more than a first guess: it was stopped before a whole search was made. Plan again."));
  find("adopt").hidden = plan.state !== "proposed" || !me.may("lead");
  fill("shortages", plan.shortages.length ? make("div", { class: "caution" }, make("strong", {}, "Logs are missing"), make("ul", {}, plan.shortages.map((one) =>
    make("li", {}, `${one.count} of ${me.length.long(one.length_mm)} or longer, middle ${me.length.thick(one.least_middle_mm)} or thicker`))),
    me.may("builder") ? make("a", { class: "button", href: `/orders?cabin=${plan.cabins[0]}` }, "Order them") : "") : "");
  const parts = Object.entries(plan.terms).filter(([, value]) => value > 0.5).sort((a, b) => b[1] - a[1]);
  fill("terms", parts.map(([term, value]) => row(TERMS[term] || term, [number(value), "number"])));
}

/** What a lead should know before the logs are reserved: that the plan is short, or that it replaces another. */
async function beforeAdopting() {
  const told = [];
  const missing = total(plan.shortages, "count");
  if (missing) told.push(`${missing} ${missing === 1 ? "log is" : "logs are"} missing: those places stay empty.`);
  else if (!plan.complete) told.push("Some places stay empty.");
  if (!plan.feasible) told.push("It breaks a rule of the wall.");
  const inForce = (await Promise.all(plan.cabins.map((id) => get(`plans?state=adopted&cabin=${id}`)))).flatMap((page) => page.items);
  const replaced = new Map(inForce.filter((one) => one.id !== plan.id).map((one) => [one.id, one]));
  for (const one of replaced.values()) told.push(`It replaces the plan of ${when(one.created_at)}; logs that only that one uses become free.`);
  return told;
}

async function adopt() {
  const told = await beforeAdopting();
  if (told.length && !await askSure("Adopt this plan?", { yes: "Adopt plan", more: [make("ul", {}, told.map((words) => make("li", {}, words)))] })) return;
  plan = await ask("POST", `${place}/adopt`);
  showPlan();
  await showChanges(plan, { mayTake: true });
  tell("The plan is adopted; its logs are reserved.");
}

async function showCabin() {
  const { layout } = layouts[find("cabin").value];
  choices(find("wall"), [...layout.walls, ...layout.partitions].map((one) => [one.id, one.id]));
  choices(find("round"), roundChoices(layouts[find("cabin").value]));
  await Promise.all([
    showAtWall(), showOutsideBand(), draw(find("levels"), `cabins/${find("cabin").value}/levels-drawing?plan=${plan.id}`, { label: "Level of each wall, round by round", instead: "There is no drawing of the levels." })]);
}

/** Warn of the logs that lie too near to the one below, or too far from it, somewhere along the wall. */
async function showOutsideBand() {
  let found = [];
  try {
    found = (await get(`${place}/heights?cabin=${find("cabin").value}`)).outside_band;
  } catch (error) {
    if (!(error instanceof Problem)) throw error; // the sheet below says why there are no heights
  }
  const named = (one) => `Log ${one.log_number}, wall ${one.wall}, round ${one.round}${one.piece ? `, place ${one.piece + 1}` : ""}`;
  fill("outside-band", found.length ? make("details", { class: "caution" },
    make("summary", {}, found.length === 1 ? "Under one log the gap leaves its band along the wall" : `Under ${found.length} logs the gap leaves its band along the wall`),
    make("p", {}, "Between the corners a log comes nearer to the one below, or farther from it, by taper and bow. Turn it, take a straighter one, or chink and scribe for it."),
    make("ul", {}, found.map((one) => make("li", {}, `${named(one)}. ${one.detail}`)))) : "");
}

const showAtWall = () => Promise.all([showElevation(), showSheet()]);

async function showElevation() {
  const wall = find("wall").value;
  const svg = await draw(find("elevation"), `cabins/${find("cabin").value}/elevation?wall=${encodeURIComponent(wall)}&plan=${plan.id}`, { label: `Wall ${wall} as planned` });
  if (!svg) return;
  svg.setAttribute("role", "group");
  for (const { part, words, ...place } of placesIn(svg)) {
    const choose = () => run(() => chooseHere({ cabin: find("cabin").value, ...place }, words));
    part.classList.add("pick");
    for (const [name, value] of [["tabindex", "0"], ["role", "button"], ["aria-label", words], ["data-place", `${place.wall} ${place.round} ${place.piece}`]]) part.setAttribute(name, value);
    part.addEventListener("click", choose);
    part.addEventListener("keydown", (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); choose(); } });
  }
}

async function showSheet() {
  const round = find("round").value;
  let sheet;
  try {
    sheet = await get(`${place}/setting-sheet?cabin=${find("cabin").value}&round=${round}`);
  } catch (error) {
    fill("sheet");
    fill("cautions", make("p", { class: "nothing" }, error.message));
    return;
  }
  if (round !== find("round").value) return; // another round was chosen before this one's sheet came
  const { layout } = layouts[find("cabin").value];
  fill("sheet", sheet.rows.map((one) => sheetRow(one, layout)));
  fill("cautions", sheet.lost.map((one) => make("p", { class: "caution danger" }, one.detail)), make("div", { class: "caution" }, make("ul", {}, sheet.cautions.map((words) => make("li", {}, words)))));
}

function sheetRow(one, layout) {
  const { long, thick, weight } = me.length;
  const wall = [...layout.walls, ...layout.partitions].find((other) => other.id === one.wall);
  const end = wall[one.butt_at === "start" ? "from" : "to"];
  const words = `log ${one.log_number}, wall ${one.wall}, round ${one.round}, piece ${one.piece}`;
  const place = { cabin: find("cabin").value, wall: one.wall, round: one.round, piece: one.piece };
  const made = row(make("a", { href: `/logs/${one.log}` }, one.log_number),
    make("button", { type: "button", click: () => run(() => chooseHere(place, words)) }, "Choose", make("span", { class: "unseen" }, ` ${words}`)),
    one.wall, typeof end === "string" ? end : `wall ${end.wall}`,
    `${long(one.cut_near_butt_mm)} to ${long(one.cut_near_tip_mm)}`, one.corners.map((corner) => `${corner.crossing} ${corner.notch_mm === null ? "none" : thick(corner.notch_mm)}`).join(", "),
    [make("div", { class: "plain" }, make("ul", {}, [`Crown: ${one.crown_text}`, ...one.lying.lines].map((line) => make("li", {}, line)))), "wordy"],
    one.lift.weight_low_kg === null ? one.lift.why_no_weight : `${weight(one.lift.weight_low_kg)} to ${weight(one.lift.weight_high_kg)}: ${one.lift.hangs_text}`,
    one.hazards.map((hazard) => `${hazard.kind} at ${long(hazard.from_butt_mm)}`).join(", "));
  made.dataset.place = `${one.wall} ${one.round} ${one.piece}`;
  return made;
}

/** Mark the chosen places in drawing and table. */
function showChosen(places) {
  const marks = places.map((one) => `${one.wall} ${one.round} ${one.piece}`);
  for (const part of document.querySelectorAll("[data-place]")) part.classList.toggle("chosen", marks.includes(part.dataset.place));
}
