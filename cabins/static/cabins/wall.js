// At the wall: the next log and its sheet, setting it, heights, and the level they make.

import { ask, get, getOrKept, NoNetwork } from "../crews/api.js";
import { askWhy } from "../crews/dialog.js";
import { choices, clearFaults, fill, find, make, row, showFaults, tell } from "../crews/dom.js";
import { draw, placesIn } from "../crews/drawing.js";
import { newId } from "../crews/ids.js";
import { meant, unitsOf, unitWords } from "../crews/lengths.js";
import { keep, onChange, replace, unsent } from "../crews/outbox.js";
import { keepDraft, takeDraft } from "./drafts.js";
import { offerOthers } from "./other_log.js";
import { asksAbout, backInFields, shownInFields } from "./heights_back.js";
import { here, idHere, nothing, run, sendWaiting, start } from "../crews/shell.js";
import { showAskedBack } from "./asked_back.js";
import { sheet } from "./sheet.js";
import { roundChoices } from "./rounds.js";
import { showReadings } from "./readings.js";

const id = idHere();
const cabin = `cabins/${id}`;
let me, walls, next, shown = null, chosen = null; // chosen: another log or place than the service would set next

run(async () => {
  me = await start();
  document.querySelectorAll(".unit").forEach((place) => { place.textContent = `(${unitWords(unitsOf(me.crew).thick)})`; });
  const told = await here("cabins", getOrKept);
  find("name").textContent = `At the wall: ${told.name}`;
  document.title = `At the wall: ${told.name} – Roundlay`;
  if (told.rounds === null) {
    fill("main", find("name"), nothing("It is not laid out yet, so there is no wall to set logs in."), make("a", { class: "button", href: `/${cabin}/layout` }, "To its layout"));
    return;
  }
  const [laid, members] = await Promise.all([getOrKept(`${cabin}/layout`), getOrKept("members*")]);
  walls = [...laid.layout.walls, ...laid.layout.partitions];
  choices(find("wall"), walls.map((one) => [one.id, one.id]));
  choices(find("round"), roundChoices(laid));
  const people = members.filter((one) => !one.left_at).map((one) => [one.id, one.name]);
  choices(find("set_by"), people, me.member.id);
  choices(find("checked_by"), [["", "nobody yet"], ...people]);
  find("wall").addEventListener("change", nameCorners);
  find("set").addEventListener("submit", (event) => { event.preventDefault(); run(setOnce); });
  find("heights").addEventListener("submit", (event) => { event.preventDefault(); run(keepHeights); });
  for (const name of ["set", "heights"]) find(name).addEventListener("input", () => keepDraft(id, shown));
  document.addEventListener("sent", (event) => run(async () => {
    showBack(event.detail.refused.find(asksAbout(id)), { focus: true });
    await showAll();
  }));
  onChange(() => run(() => showAskedBack(me.crew, shownInFields)));
  nameCorners();
  await showAll();
  takeDraft(id, shown, nameCorners);
  showBack((await unsent()).find((one) => one.state === "refused" && asksAbout(id)(one)));
  await showAskedBack(me.crew, shownInFields);
});

/** Heights that were refused or doubted lie in their fields again, with the question; nothing typed since is overwritten. */
function showBack(entry, { focus = false } = {}) {
  if (!entry) return;
  backInFields(entry, { crew: me.crew, showCorners: nameCorners, focus });
  run(() => showAskedBack(me.crew, shownInFields));
}

const showAll = () => Promise.all([showNext(), showLevels(), showLastSet(), showReadings(id, me, cornersOf)]);
const cornersOf = (wall) => {
  const { from, to } = walls.find((one) => one.id === wall);
  return [from, to].map((end) => (typeof end === "string" ? end : `wall ${end.wall}`));
};

function nameCorners() {
  const [from, to] = cornersOf(find("wall").value);
  document.querySelectorAll(".start-corner").forEach((place) => { place.textContent = from; });
  document.querySelectorAll(".end-corner").forEach((place) => { place.textContent = to; });
  const unit = unitWords(unitsOf(me.crew).thick);
  fill("tees", teesOf(find("wall").value).map((tee) => make("div", { class: "field" },
    make("label", { for: `tee-${tee}` }, `At ${tee} (${unit})`), make("input", { class: "big", id: `tee-${tee}`, name: tee, autocomplete: "off" }))));
}

/** Where partitions meet a wall between its ends, by the names that the API gives these tees. */
const teesOf = (wall) => walls.filter((one) => [one.from, one.to].some((end) => end.wall === wall)).map((one) => `${one.id}-${wall}`);

/** The next log by the API; without a signal, by the round's sheet as it was last fetched. */
async function showNext() {
  let found = null, steering = null, why = "";
  try {
    const told = await get(`${cabin}/next-log`);
    [found, steering] = [told.row, told.steering];
    fill("lost", told.lost.map((one) => make("p", { class: "caution danger" }, one.detail)));
    why = told.lost.length ? make("span", {}, "No log can be set before that. ", make("a", { href: `/plans?cabin=${id}` }, "Plan again"), ".") : "Every place is filled.";
    if (found) getOrKept(`${cabin}/setting-sheet?round=${found.round}`).catch(() => {});
    localStorage.setItem(`round of ${id}`, found?.round ?? "");
  } catch (error) {
    why = error.kind === "no-plan-yet" ? make("span", {}, "No plan has been adopted for this cabin. ", make("a", { href: `/plans?cabin=${id}` }, "Plan it"), ".") : error.message;
    if (error instanceof NoNetwork) found = await nextOnKeptSheet();
  }
  if (chosen) return; // what a person chose stays until it is set, however often the page asks again
  next = found;
  if (!next) { showNone(why); return; }
  // At once: what is entered while a drawing is fetched is for the log that is shown.
  await Promise.all([show(next, steering), offerOthers(id, next, unitsOf(me.crew).thick, (other) => { next = chosen = other; return show(other, null); })]);
}

function showNone(why) {
  find("set-fields").hidden = find("other").hidden = true;
  fill("next", nothing(why));
}

/** A log's sheet with its place in the wall; its form begins empty. */
async function show(log, steering) {
  find("set-fields").hidden = find("other").hidden = false;
  const [from, to] = cornersOf(log.wall);
  fill("next", sheet(log, steering, { from, to, length: me.length }));
  find("start-word").textContent = from;
  find("end-word").textContent = to;
  find("metal-field").hidden = !log.hazards.some((one) => one.kind === "metal");
  beginWith(log);
  const svg = await draw(find("elevation"), `${cabin}/elevation?wall=${encodeURIComponent(log.wall)}`, { label: `Wall ${log.wall}`, instead: "The drawing of the wall needs a signal." });
  if (svg) markPlace(svg, log);
}

/** Mark where the log lies in the drawing of its wall. */
function markPlace(svg, { wall, round, piece }) {
  for (const one of placesIn(svg)) if (one.wall === wall && one.round === round && one.piece === piece) one.part.classList.add("chosen");
}

/** An empty form for another log; what was typed for the one shown already stays, however often the page asks again. */
function beginWith({ wall, round, piece, log }) {
  const before = shown;
  shown = [wall, round, piece, log].join(" ");
  if (shown === before) return;
  find("set").reset();
  if (before) keepDraft(id, shown);
  find("set_by").value = me.member.id;
  if (!before) measureAt(wall, round);
}

function measureAt(wall, round) {
  find("wall").value = wall;
  find("round").value = String(round);
  nameCorners();
}

async function nextOnKeptSheet() {
  const kept = localStorage.getItem(`kept ${cabin}/setting-sheet?round=${localStorage.getItem(`round of ${id}`)}`);
  if (!kept) return null;
  const done = (await unsent()).filter((one) => one.kind === "set" && one.body.cabin === id).map(({ body }) => `${body.wall} ${body.round} ${body.piece}`);
  return JSON.parse(kept).rows.find((one) => !done.includes(`${one.wall} ${one.round} ${one.piece}`)) ?? null;
}

const thick = (name, form) => meant(form.elements[name].value, unitsOf(me.crew).thick) || null;

/** One press sets one log, also while the press before is still being sent. */
async function setOnce() {
  const button = find("set").querySelector("[type=submit]");
  if (button.disabled) return;
  button.disabled = true;
  try { await setNext(); } finally { button.disabled = false; }
}

async function setNext() {
  const form = find("set");
  const turned = form.elements.turned.checked;
  const other = { start: "end", end: "start" };
  const body = {
    cabin: id, wall: next.wall, round: next.round, piece: next.piece, log: next.log, from_butt_mm: next.cut_near_butt_mm,
    butt_at: turned ? other[next.butt_at] : next.butt_at, set_at: new Date().toISOString(), set_by: form.elements.set_by.value,
    checked_by: form.elements.checked_by.value || null, metal_removed: form.elements.metal_removed.checked,
    gap_mm: thick("gap_mm", form), notch_start_mm: thick("notch_start_mm", form), notch_end_mm: thick("notch_end_mm", form),
  };
  const { wall, round } = next;
  chosen = null;
  find("other").hidden = true; // until it is known what comes next
  // A piece beside an opening reaches one corner only.
  const reached = ["start", "end"].filter((_, at) => next.corners.some((one) => one.crossing === cornersOf(wall)[at]));
  await keep({ crew: me.crew.id, kind: "set", label: `Log ${next.log_number} set in wall ${wall}, round ${round}`, method: "PUT", path: `/api/v1/set-logs/${newId()}`, body });
  tell(`Log ${next.log_number} is set. Measure the height at ${reached.map((end) => cornersOf(wall)[end === "start" ? 0 : 1]).join(" and ") || "its ends"}.`);
  // Before the sending: who measures while it lasts may choose another wall.
  measureAt(wall, round);
  find("heights-heading").scrollIntoView();
  find(reached[0] || "start").focus();
  await sendWaiting(me.crew);
  if ((await unsent()).some((one) => one.kind === "set")) await showNext();
}

async function keepHeights() {
  const form = find("heights");
  clearFaults(form);
  const at = new Date().toISOString();
  const [wall, round] = [form.elements.wall.value, Number(form.elements.round.value)];
  const places = ["start", "end", ...teesOf(wall)];
  const heights = places.filter((end) => form.elements[end].value.trim()).map((end) => ({
    id: newId(), wall, round, end, height_mm: thick(end, form), measured_at: at, measured_by: me.member.id,
  }));
  if (!heights.length) { showFaults(form, [{ pointer: "/start", detail: "Fill in one end or both." }]); return; }
  const entry = await keepHeightsTyped({ crew: me.crew.id, kind: "heights", cabin: id, label: `Heights of wall ${wall}, round ${round}`, method: "POST", path: `/api/v1/${cabin}/heights`, body: { heights } });
  for (const end of places) form.elements[end].value = "";
  keepDraft(id, shown);
  tell("The heights are kept on this phone.");
  const { refused } = await sendWaiting(me.crew);
  if (refused.some((one) => one.id === entry)) return;
  if (!(await unsent()).some((one) => one.id === entry)) tell(`Heights of wall ${wall} are with the service: ${await levelOf(wall)}.`);
  await showReadings(id, me, cornersOf);
}

/** What is typed instead of heights that were asked back takes their place. */
async function keepHeightsTyped(entry) {
  const before = (await unsent()).find((one) => one.id === shownInFields.entry);
  shownInFields.clear();
  return before ? replace(before, entry.body, { label: entry.label }) : keep(entry);
}

async function levelOf(wall) {
  const { walls: tops } = await get(`${cabin}/progress`);
  return outOfLevel(tops.find((one) => one.wall === wall));
}

function outOfLevel(top) {
  const by = top.out_of_level_mm;
  if (by === null) return "not known yet";
  const [from, to] = cornersOf(top.wall);
  return Math.abs(by) < 0.5 ? "level" : `${me.length.thick(Math.abs(by))}, ${by > 0 ? to : from} is higher`;
}

async function showLevels() {
  const { walls: tops } = await getOrKept(`${cabin}/progress`);
  const top = (one, end) => {
    if (!one.rounds_up || one[`${end}_mm`] === null) return ["–", "number"];
    const error = one[`${end}_is_measured`] ? "" : ` reckoned, ±${me.length.error(one[`${end}_error_mm`])}`;
    return [`${me.length.long(one[`${end}_mm`])}${error}`, "number"];
  };
  fill("levels", tops.map((one) => row(one.wall, one.rounds_up ? outOfLevel(one) : "no log yet", String(one.rounds_up), top(one, "start"), top(one, "end"))));
}

async function showLastSet() {
  const { items } = await getOrKept(`set-logs?cabin=${id}&undone=false&limit=4&order=-set_at`);
  fill("last-set", items.map((one) => make("li", {},
    make("span", {}, `Log ${one.log_number}: wall ${one.wall}, round ${one.round}${one.piece ? `, place ${one.piece + 1}` : ""}, butt at ${cornersOf(one.wall)[one.butt_at === "start" ? 0 : 1]}. `, ...one.warnings.map((warning) => make("strong", { class: "bad" }, `${warning.detail} `))),
    make("button", { type: "button", click: () => run(() => takeBack(one)) }, "Take back", make("span", { class: "unseen" }, ` log ${one.log_number}`)))));
  if (!items.length) fill("last-set", make("li", { class: "nothing" }, "No log is set yet."));
}

async function takeBack(one) {
  const reason = await askWhy(`Why was log ${one.log_number} not set there?`, { yes: "Take back" });
  if (!reason) return;
  await ask("POST", `set-logs/${one.id}/undo`, { reason });
  tell(`Log ${one.log_number} removed from the wall record.`);
  await showAll();
}
