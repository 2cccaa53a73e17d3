// The layout editor: a rectangle or an L with openings, checked and drawn by the API's word while it is typed.

import { all, ask, get, Problem } from "../crews/api.js";
import { bothVersions } from "../crews/both.js";
import { checkbox, clearFaults, facts, fill, find, make, showFaults, ticked } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { unitsOf, unitWords, written } from "../crews/lengths.js";
import { lengthIn, putLength } from "../crews/measures.js";
import { here, run, start } from "../crews/shell.js";
import { sideBySide } from "./compare.js";
import { liveFloor, liveWalls } from "./live.js";
import { addOpening, numberOf, offerWalls, openingsTyped, showHelp } from "./openings.js";
import { beginningTyped, isTold, showBeginning, showFirst } from "./beginning.js";
import { gableWords, hasSlope, roofLineTyped, showRoofLine, showSlope } from "./roof_line.js";
import { fieldOf, lengthsOf, RUN_ONS, shapeOf, wallsOf } from "./shapes.js";

const WAIT_MS = 350;
const LONG = ["along", "across", "leg_across", "far_along", "wall_height_mm"];
const THICK = ["log_middle_mm", "overhang_mm"];
const GAP = ["smallest_mm", "target_mm", "largest_mm"];
// Where a new layout begins; every one of them can be changed.
const USUAL_MM = { metric: { wall_height_mm: 2500, log_middle_mm: 300, overhang_mm: 350, smallest_mm: 5, target_mm: 15, largest_mm: 40, flat_mm: 60 },
  inches: { wall_height_mm: 96 * 25.4, log_middle_mm: 12 * 25.4, overhang_mm: 14 * 25.4, smallest_mm: 0.25 * 25.4, target_mm: 0.5 * 25.4, largest_mm: 1.5 * 25.4, flat_mm: 2.5 * 25.4 } };
const form = find("layout");
let me, units, cabin, old = null, version, later, asked = 0;

run(async () => {
  me = await start();
  units = unitsOf(me.crew);
  for (const kind of ["long", "thick"]) document.querySelectorAll(`.${kind}-unit`).forEach((place) => { place.textContent = `(${unitWords(units[kind])})`; });
  const told = await here("cabins");
  cabin = `cabins/${told.id}`;
  find("name").textContent = `Layout of ${told.name}`;
  document.title = `${find("name").textContent} – Roundlay`;
  if (told.rounds === null) showUsual();
  else if (!await takeStored()) return;
  await offerYards();
  find("keep").hidden = !me.may("builder");
  find("only-try").hidden = me.may("builder");
  form.addEventListener("input", soon);
  form.addEventListener("change", soon);
  form.addEventListener("submit", (event) => { event.preventDefault(); run(layOut); });
  find("add-opening").addEventListener("click", () => { add().querySelector("input").focus(); soon(); });
  showShape();
  await check();
});

const shape = () => form.elements.shape.value;
const input = (name) => form.elements.namedItem(name);
const kindOf = (name) => (LONG.includes(name) ? "long" : "thick");
const put = (name, mm) => putLength(input(name), mm, units[kindOf(name)], me.crew.fraction);
const length = (name) => lengthIn(input(name), units[kindOf(name)]);
const add = (one) => addOpening(one, { unit: units.thick, fraction: me.crew.fraction, changed: soon });
const walls = () => wallsOf(shape(), {}, old).walls.map((wall) => wall.id);

function showUsual() {
  const usual = USUAL_MM[units.thick === "in" ? "inches" : "metric"];
  for (const [name, mm] of Object.entries(usual)) put(name, mm);
  fill("drawn", make("p", { class: "nothing" }, "Fill in length and width to see it."));
}

/** The yards whose logs the courses are expected of: every one, as where a plan is asked for. */
async function offerYards() {
  const yards = await all("yards");
  fill("yards", yards.map((one) => checkbox("yards", one, true)));
  find("from-yards").hidden = !yards.length;
}

/** Fill the form with what is stored; false if the form cannot show it. */
async function takeStored() {
  ({ layout: old, version } = await get(`${cabin}/layout`));
  const found = shapeOf(old);
  if (!found) {
    find("not-here").hidden = false;
    form.hidden = true;
    await draw(find("drawn"), `${cabin}/floor-plan`, { label: "Floor plan" });
    return false;
  }
  form.elements.shape.value = found.shape;
  for (const [name, mm] of Object.entries(found.typed)) put(name, mm);
  for (const [field] of RUN_ONS) input(field).checked = found.runsOn.includes(field);
  for (const name of ["wall_height_mm", ...THICK]) put(name, old[name]);
  for (const name of GAP) put(name, old.gap[name]);
  for (const name of ["notch", "rounds"]) input(name).value = old[name] ?? "";
  showBeginning(old, { input, put });
  showRoofLine(old, { input });
  fill("openings");
  old.openings.forEach(add);
  return true;
}

function showShape() {
  document.querySelectorAll(".for-l").forEach((field) => {
    field.hidden = shape() !== "l";
    field.querySelectorAll("input:not([type=checkbox])").forEach((one) => { one.required = shape() === "l"; });
  });
  find("across-wall").textContent = walls().at(shape() === "l" ? -1 : 1);
  if (shape() === "l") document.querySelectorAll("[data-wall-at]").forEach((place) => { place.textContent = walls()[place.dataset.wallAt]; });
  offerWalls(walls());
  showFirst(input);
  showSlope(input);
}

function asTyped() {
  const typed = Object.fromEntries([...lengthsOf(shape()).map((name) => [name, length(name)]), ...RUN_ONS.map(([name]) => [name, input(name).checked])]);
  const body = {
    ...wallsOf(shape(), typed, old), overhang_mm: length("overhang_mm"), notch: input("notch").value, ...beginningTyped(old, { input, length }),
    gap: Object.fromEntries(GAP.map((name) => [name, length(name)])), log_middle_mm: length("log_middle_mm"), wall_height_mm: length("wall_height_mm"),
    openings: openingsTyped(units.thick), roof_line: roofLineTyped(old, { input }),
  };
  const rounds = input("rounds").value.trim();
  return { ...body, rounds: rounds ? Number(rounds) || rounds : null };
}

function soon() {
  showShape();
  clearTimeout(later);
  later = setTimeout(() => run(check), WAIT_MS);
}

const isWhole = () => [...lengthsOf(shape()), "wall_height_mm", ...THICK, ...GAP].every((name) => input(name).value.trim()) && isTold(input) && hasSlope(input)
  && [...document.querySelectorAll(".opening input[required]")].every((one) => one.value.trim());

const ofYards = () => (ticked("yards").length ? `?${new URLSearchParams({ yard: ticked("yards").join(",") })}` : "");

async function check() {
  if (!isWhole()) return;
  const mine = (asked += 1);
  const body = asTyped();
  let told;
  try {
    told = await ask("POST", `${cabin}/layout/check${ofYards()}`, body);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    told = { faults: error.errors, places: [], columns: [], gable_logs: [], half_logs: [], wall_ends: [], set_logs_in_the_way: [], roof_members_in_the_way: [], openings: [], stubs: [], set_logs_cut: [] };
  }
  if (mine !== asked) return;
  const typing = document.activeElement;
  showWrong(told.faults);
  typing?.focus();
  showDrawn(told, body);
}

/** Faults stand beside their fields; those of no field before the button. */
function showWrong(errors) {
  clearFaults(form);
  const onPage = (pointer) => fieldOf(shape(), pointer).replace(/-(\d+)$/, (_, at) => `-${numberOf(Number(at))}`);
  const rest = showFaults(form, errors, onPage);
  find("faults").hidden = !rest.length;
  find("faults").textContent = rest.join(" ");
}

function showDrawn(told, body) {
  const logs = new Set(told.set_logs_in_the_way.map((one) => `log ${one.log_number}`));
  const members = told.roof_members_in_the_way.map((one) => one.member);
  fill("in-the-way", logs.size + members.length
    ? make("p", { class: "caution danger" }, make("strong", {}, "What is built already stands in the way: "), [...logs, ...members].join(", "), ".") : "");
  showHelp(told, { unit: units.thick, fraction: me.crew.fraction, changed: soon });
  fill("openings-told", told.set_logs_cut.map((one) => make("p", { class: "caution" }, one.words)), told.stubs.length
    ? make("details", {}, make("summary", {}, `${told.stubs.length} short or loose pieces beside openings`), make("ul", {}, told.stubs.map((one) => make("li", {}, one.words)))) : "");
  if (!told.places.length) return;
  facts("facts", [["Rounds", told.rounds], ["A round's height", me.length.thick(told.pitch_mm)], ["Places for logs", told.places.length],
    ["Walls end at", told.wall_ends.map((one) => `${one.start} ${me.length.long(one.top_mm)}`).join(", ")],
    ["Gable logs", gableWords(told.gable_logs, me.length.long)],
    ["Half logs", told.half_logs.map((one) => `wall ${one.wall}: ${me.length.long(one.length_mm)}`).join(", ")]]);
  fill("drawn", liveFloor(told, body.walls), liveWalls(told, body.walls, me.length.long).map(([svg, words]) => make("figure", {}, svg, make("figcaption", {}, words))));
}

async function layOut() {
  const body = asTyped();
  try {
    await ask("PUT", `${cabin}/layout`, body, version === undefined ? {} : { version });
  } catch (error) {
    if (error.status === 412 || error.status === 428) { await showBoth(body); return; }
    if (error.errors?.length) showWrong(error.errors);
    throw error;
  }
  location.assign(`/${cabin}`);
}

/** Someone else laid it out meanwhile. */
async function showBoth(mine) {
  const stored = await get(`${cabin}/layout`);
  const say = (value, kind) => (typeof value === "number" ? written(value, units[kind], me.crew.fraction) : value);
  const close = () => fill("changed-meanwhile");
  const keepMine = () => { ({ version } = stored); close(); return run(layOut); };
  const takeTheirs = () => { close(); return run(async () => { if (await takeStored()) { showShape(); await check(); } }); };
  fill("changed-meanwhile", bothVersions(sideBySide(mine, stored.layout, say), { keepMine, takeTheirs }));
  find("both").focus();
}
