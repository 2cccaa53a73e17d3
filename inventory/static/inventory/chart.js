// Charting at the rack: one log after the other, with or without a signal. The API reads what was typed.

import { ask, get, getOrKept } from "../crews/api.js";
import { bothVersions } from "../crews/both.js";
import { askSure } from "../crews/dialog.js";
import { choices, clearFaults, fill, find, make, row, showFaults, tell } from "../crews/dom.js";
import { isNumberTaken, rememberNumbers } from "../crews/kept.js";
import { newId } from "../crews/ids.js";
import { unitsOf, unitWords, written } from "../crews/lengths.js";
import { lengthIn, putLength } from "../crews/measures.js";
import { confirm, drop, isDoubt, keep, onChange, replace, unsent } from "../crews/outbox.js";
import { run, sendWaiting, start } from "../crews/shell.js";
import { findingsOf } from "./line_checks.js";
import { readSpokenLine } from "./spoken_line.js";

const UNITS = ["mm", "cm", "m", "ft_in", "in"];
const MEASURES = { length_mm: "long", butt_mm: "thick", middle_mm: "thick", tip_mm: "thick", crown_mm: "thick" };
// Where a log is oval, a second reading a quarter turn round it.
const ACROSS = { butt_across: "butt", middle_across: "middle", tip_across: "tip" };
const WORDS = { butt_across: "Butt across", middle_across: "Middle across", tip_across: "Tip across", length_mm: "Length", butt_mm: "Butt", middle_mm: "Middle", tip_mm: "Tip", crown_mm: "Crown", crown_side: "Bows to", number: "Number", rack: "Rack", yard: "Yard", hazards: "Hazards", seasoning: "How dry", felled_on: "Felled on" };
const BESIDE = ["crown_side", "grain_hand", "grain_slope", "mill_tag", "remarks", "line"];
const TYPED = [...Object.keys(MEASURES), ...Object.keys(ACROSS)];
const FINEST = 32; // of an inch: what was said is shown as it was said
const KEPT = ["yard", "rack", "species", "seasoning", "felled_on", "charted_by", "long-unit", "thick-unit"];
const form = find("chart");
let me, racks, hazards = [], mending = null, held = null, confirmed = null;

run(async () => {
  me = await start();
  await offerPlaces();
  takeKept();
  for (const id of [...KEPT, "peeled"]) find(id).addEventListener("change", keepPlace);
  find("yard").addEventListener("change", showRacks);
  find("add-hazard").addEventListener("click", addHazard);
  find("read-line").addEventListener("click", readLine);
  find("line").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); readLine(); } });
  find("make-yard").addEventListener("click", () => run(makeYard));
  find("send").addEventListener("click", () => run(() => sendWaiting(me.crew)));
  form.addEventListener("submit", (event) => { event.preventDefault(); run(keepLog); });
  form.addEventListener("input", keepDraft);
  document.addEventListener("sent", (event) => showSent(event.detail.accepted));
  onChange(() => run(showUnsent));
  await showUnsent();
  const again = new URLSearchParams(location.search).get("log");
  if (again) await measureAgain(again);
  else takeDraft();
});

async function offerPlaces() {
  let yards, species;
  [yards, racks, species] = await Promise.all(["yards*", "racks*", "species*"].map(getOrKept));
  choices(find("yard"), yards.map((one) => [one.id, one.name]));
  choices(find("species"), [["", "not known"], ...species.map((one) => [one.id, one.name])]);
  for (const [id, kind] of [["long-unit", "long"], ["thick-unit", "thick"]]) {
    choices(find(id), UNITS.map((unit) => [unit, unitWords(unit)]), unitsOf(me.crew)[kind]);
  }
  find("first-yard").hidden = yards.length > 0 || !me.may("builder");
  find("no-yard").hidden = yards.length > 0 || me.may("builder");
  find("where").open = !JSON.parse(localStorage.getItem("place") || "{}").yard;
}

function showRacks() {
  const here = racks.filter((one) => one.yard === find("yard").value);
  choices(find("rack"), [["", "not on a rack"], ...here.map((one) => [one.id, one.name])]);
  keepPlace();
}

/** Units that were kept go with the crew and the units it writes: another crew's, or older ones, are not taken up. */
const unitsOfPlace = () => `${me.crew.id} ${me.crew.length_unit}`;

function takeKept() {
  const place = JSON.parse(localStorage.getItem("place") || "{}");
  if (place.unitsOf !== unitsOfPlace()) for (const id of ["long-unit", "thick-unit"]) delete place[id];
  if (place.yard) find("yard").value = place.yard;
  showRacks();
  for (const id of KEPT) {
    if (place[id] !== undefined && (["charted_by", "felled_on"].includes(id) || [...find(id).options].some((one) => one.value === place[id]))) find(id).value = place[id];
  }
  find("charted_by").value ||= me.member.name;
  keepPlace();
  showLast();
}

function keepPlace() {
  localStorage.setItem("place", JSON.stringify({ unitsOf: unitsOfPlace(), ...Object.fromEntries(KEPT.map((id) => [id, find(id).value])) }));
  const chosen = (id) => find(id).selectedOptions[0]?.textContent;
  find("where-words").textContent = [chosen("yard"), chosen("rack"), find("species").value && chosen("species"), find("charted_by").value].filter(Boolean).join(", ") || "not chosen yet";
  for (const place of document.querySelectorAll(".unit")) place.textContent = `(${unitWords(find(`${place.dataset.kind}-unit`).value)})`;
  for (const [name, kind] of TYPED.map((one) => [one, kindOf(one)])) form.elements[name].inputMode = find(`${kind}-unit`).value.includes("in") ? "text" : "decimal";
}

const kindOf = (name) => (ACROSS[name] ? "thick" : MEASURES[name] || "long");
const typed = (name) => lengthIn(form.elements[name], find(`${kindOf(name)}-unit`).value);
const readTwice = (log, station) => log.read_across?.find((one) => one.station === station);

/** The field that an error of the API belongs to: of a second reading the one that it was typed in. */
const fieldOf = (body) => (pointer) => {
  const [name, place, part] = pointer.slice(1).split("/");
  if (name !== "read_across" || place === undefined) return name;
  const { station } = body.read_across[place];
  return part === "first_mm" ? `${station}_mm` : `${station}_across`;
};

function body() {
  const told = {
    yard: find("yard").value, rack: find("rack").value || null, species: find("species").value || null,
    number: form.elements.number.value.trim(), charted_by: find("charted_by").value.trim(),
    charted_on: new Date().toLocaleDateString("sv"), peeled: find("peeled").checked, seasoning: find("seasoning").value || null, felled_on: find("felled_on").value || null, hazards, remarks: form.elements.remarks.value.trim(),
    crown_mm: typed("crown_mm") === "" ? null : typed("crown_mm"), crown_side: form.elements.crown_side.value || null,
    grain_hand: form.elements.grain_hand.value || null, grain_slope: form.elements.grain_slope.value.trim() || null,
    mill_tag: form.elements.mill_tag.value.trim(),
  };
  for (const name of ["length_mm", "butt_mm", "middle_mm", "tip_mm"]) told[name] = typed(name);
  told.read_across = Object.entries(ACROSS).filter(([name]) => form.elements[name].value.trim())
    .map(([name, station]) => ({ station, first_mm: typed(`${station}_mm`), across_mm: typed(name) }));
  return told;
}

async function keepLog() {
  clearFaults(form);
  if (form.elements["hazard-at"].value.trim()) addHazard();
  const missing = ["number", "length_mm", "butt_mm", "middle_mm", "tip_mm"].filter((name) => !form.elements[name].value.trim());
  if (missing.length) { showFaults(form, missing.map((name) => ({ pointer: `/${name}`, detail: "Still to be filled in." }))); return; }
  if (!find("yard").value) { find("where").open = true; throw new Error("Choose a yard first."); }
  const told = body();
  if (!await isClear(told)) return;
  if (mending) await replace(mending, told);
  else if (held) await keep({ crew: me.crew.id, kind: "log", label: `Log ${told.number} again`, method: "PUT", path: `/api/v1/logs/${held.id}`, if_match: held.version, body: told });
  else await keep({ crew: me.crew.id, kind: "log", label: `Log ${told.number}`, method: "PUT", path: `/api/v1/logs/${newId()}`, body: told });
  tell(`Log ${told.number} is kept on this phone.`);
  localStorage.setItem("last", JSON.stringify(told));
  clearForm(nextNumber(told.number));
  const { refused } = await sendWaiting(me.crew);
  if (refused.length) tell(`${refused.map((one) => one.label).join(", ")}: needs checking, see above.`);
}

/** Whether nothing is to be asked of the log before the next one; what is asked stands at its field. */
async function isClear(told) {
  const units = { long: find("long-unit").value, thick: find("thick-unit").value };
  const found = findingsOf(told, { units, fraction: me.crew.fraction, inset_mm: held?.station_inset_mm });
  if (!found.length && await isTaken(told)) found.push({ pointer: "/number", detail: `Log ${told.number} is charted in this yard already.`, doubtful: true });
  const asked = JSON.stringify([told, found]);
  fill("line-asked");
  if (!found.length) return true;
  showFaults(form, found);
  if (!found.every((one) => one.doubtful)) return false;
  const sure = () => { confirmed = asked; form.requestSubmit(); };
  if (confirmed === asked) {
    clearFaults(form);
    told.confirm_doubtful = true;
    return true;
  }
  fill("line-asked", make("p", {}, "Look again: correct it, or say that it is right."), make("button", { type: "button", click: sure }, "It is right"));
  return false;
}

/** Whether the yard has this number already, sent or still on this phone. */
async function isTaken({ yard, number }) {
  const own = mending?.id;
  if (held?.number === number) return false;
  const waiting = (await unsent()).filter((one) => one.kind === "log" && one.id !== own && one.crew === me.crew.id && one.body.yard === yard);
  return waiting.some((one) => one.body.number === number) || isNumberTaken(yard, number);
}

/** Fill the fields from the line that was said; what is not sure is asked at its field. */
function readLine() {
  if (!find("line").value.trim()) { find("line").focus(); return; }
  const units = { long: find("long-unit").value, thick: find("thick-unit").value };
  const { fields, questions } = readSpokenLine(find("line").value, { units, fraction: me.crew.fraction });
  const across = Object.fromEntries((fields.read_across ?? []).map((one) => [`${one.station}_across`, one.across_mm]));
  for (const [name, value] of Object.entries({ ...fields, ...across })) {
    if (TYPED.includes(name)) putLength(form.elements[name], value, units[kindOf(name)], FINEST);
    else if (name === "peeled") find("peeled").checked = value;
    else if (name === "hazards") hazards = [...hazards, ...value.filter((one) => !hazards.some((held) => JSON.stringify(held) === JSON.stringify(one)))];
    else if (name !== "read_across") form.elements[name].value = value;
  }
  if ([...Object.keys(fields), ...questions.map((one) => one.pointer.slice(1))].some((name) => /^(grain|hazards|read_across|remarks)/.test(name))) find("dangers").open = true;
  showHazards();
  keepDraft();
  showFaults(form, questions, (pointer) => (pointer === "/hazards" ? "hazard-at" : pointer.slice(1)));
  if (questions.length) return;
  tell("Filled in: look it over, then save it.");
  find("keep").focus();
}

const nextNumber = (number) => number.replace(/\d+$/, (digits) => String(Number(digits) + 1).padStart(digits.length, "0"));

function clearForm(number = "") {
  for (const name of [...TYPED, ...BESIDE, "hazard-at"]) form.elements[name].value = "";
  form.elements.number.value = number;
  [hazards, mending, held, confirmed] = [[], null, null, null];
  fill("line-asked");
  find("heading").textContent = "Chart at the rack";
  find("keep").textContent = "Save this log";
  showHazards();
  showLast();
  keepDraft();
  form.elements[number ? "length_mm" : "number"].focus();
}

function showLast() {
  const last = JSON.parse(localStorage.getItem("last") || "null");
  for (const [name, kind] of Object.entries(MEASURES).filter(([one]) => !one.startsWith("crown"))) find(`last-${name}`).textContent = last ? `last ${inWords(last[name], kind)}` : "\u00a0";
}

function keepDraft() {
  const names = [...TYPED, "number", ...BESIDE];
  const draft = Object.fromEntries(names.map((name) => [name, form.elements[name].value]));
  if (!mending && !held) localStorage.setItem("draft", JSON.stringify({ ...draft, hazards }));
}

function takeDraft() {
  const { hazards: seen = [], ...draft } = JSON.parse(localStorage.getItem("draft") || "{}");
  for (const [name, value] of Object.entries(draft)) form.elements[name].value = value;
  hazards = seen;
  showHazards();
}

function addHazard() {
  const at = typed("hazard-at");
  if (!at) { find("hazard-at").focus(); return; }
  hazards = [...hazards, { kind: find("hazard-kind").value, from_butt_mm: at, face: find("hazard-face").value || null }];
  find("hazard-at").value = "";
  showHazards();
  keepDraft();
}

function showHazards() {
  if (hazards.length) find("dangers").open = true;
  const away = (one) => () => { hazards = hazards.filter((other) => other !== one); showHazards(); keepDraft(); };
  fill("hazards", hazards.map((one) => make("li", {},
    make("span", {}, `${one.kind}, ${inWords(one.from_butt_mm, "long")} from the butt${one.face ? `, ${one.face}` : ""}`),
    make("button", { type: "button", click: away(one) }, `Remove ${one.kind}`))));
}

const inWords = (value, kind) => (typeof value === "number" ? written(value, find(`${kind}-unit`).value, me.crew.fraction) : value);

async function makeYard() {
  const id = newId();
  await ask("PUT", `yards/${id}`, { name: find("new-yard").value.trim() });
  await offerPlaces();
  find("yard").value = id;
  showRacks();
}

async function showUnsent() {
  const entries = await unsent();
  const back = entries.filter((one) => one.state === "refused");
  const waiting = entries.filter((one) => one.state === "waiting");
  find("unsent-count").textContent = String(entries.length);
  find("unsent-words").textContent = entries.length
    ? `${waiting.length} wait for a signal, ${back.length} are asked back. They are safe on this phone.` : "Everything you kept is with the service.";
  find("send").hidden = !waiting.length;
  fill("waiting", waiting.map((one) => make("li", {}, make("span", {}, one.label, one.crew === me.crew.id ? "" : " (of another crew: sign in there to send it)"), one.kind === "log" ? correctButton(one) : "")));
  fill("asked-back", back.map(askedBack));
}

const correctButton = (entry) => make("button", { type: "button", click: () => correct(entry) }, "Correct", make("span", { class: "unseen" }, ` ${entry.label}`));

/** What the API doubts or refuses, beside what can be done about it. */
function askedBack(entry) {
  if (entry.kind === "log" && entry.problem.current) return bothLogs(entry);
  const doubt = isDoubt(entry);
  const errors = entry.problem.errors?.length ? entry.problem.errors : [{ pointer: "", detail: entry.problem.detail }];
  const told = errors.map((one) => {
    const name = fieldOf(entry.body)(one.pointer);
    const value = ACROSS[name] ? readTwice(entry.body, ACROSS[name]).across_mm : entry.body[name];
    return make("li", {}, WORDS[name] ? make("strong", {}, `${WORDS[name]}${typeof value === "string" ? ` ${value}` : ""}: `) : "", one.detail);
  });
  const away = () => run(async () => { if (await askSure(`Throw ${entry.label} away? It is not with the service.`, { yes: "Throw away" })) await drop(entry.id); });
  return make("div", { class: "caution danger" },
    make("strong", {}, doubt ? `${entry.label}: look again` : `${entry.label} was not taken`), make("ul", {}, told),
    doubt ? make("button", { type: "button", class: "main", click: () => run(async () => { await confirm(entry); await sendWaiting(me.crew); }) }, "It is right", make("span", { class: "unseen" }, `: ${entry.label}`)) : "",
    entry.kind === "log" ? correctButton(entry) : "",
    make("button", { type: "button", click: away }, "Throw away", make("span", { class: "unseen" }, ` ${entry.label}`)));
}

const inFull = (value, kind) => (value === null ? "nobody looked" : value ? inWords(value, kind) : "none");

/** The log was measured by someone else meanwhile: both measures side by side. */
function bothLogs(entry) {
  const { current, current_version: version } = entry.problem;
  const measure = (log, name) => (ACROSS[name] ? readTwice(log, ACROSS[name])?.across_mm : readTwice(log, name.replace("_mm", ""))?.first_mm ?? log[name]);
  const say = (log, name) => inFull(measure(log, name), kindOf(name));
  const lines = TYPED.map((name) => [WORDS[name], say(entry.body, name), say(current, name)]);
  const keepMine = () => run(async () => { await replace({ ...entry, if_match: version }, entry.body); await sendWaiting(me.crew); });
  return make("div", {}, make("h2", {}, entry.label), bothVersions(lines, { keepMine, takeTheirs: () => run(() => drop(entry.id)), id: `both-${entry.id}` }));
}

function show(log) {
  for (const [name, kind] of Object.entries(MEASURES)) {
    const input = form.elements[name];
    if (typeof log[name] === "number") putLength(input, log[name], find(`${kind}-unit`).value, me.crew.fraction);
    else input.value = log[name] || "";
  }
  for (const [name, station] of Object.entries(ACROSS)) {
    const twice = readTwice(log, station);
    for (const [field, value] of [[`${station}_mm`, twice?.first_mm], [name, twice?.across_mm]]) {
      if (typeof value === "number") putLength(form.elements[field], value, find("thick-unit").value, me.crew.fraction);
      else if (value !== undefined || field === name) form.elements[field].value = value ?? "";
    }
    if (twice) find("dangers").open = true;
  }
  for (const name of ["number", ...BESIDE]) form.elements[name].value = log[name] || "";
  for (const id of ["yard", "rack", "species"]) { find(id).value = log[id] || ""; if (id === "yard") showRacks(); }
  find("peeled").checked = log.peeled;
  for (const id of ["seasoning", "felled_on"]) find(id).value = log[id] || "";
  hazards = log.hazards;
  showHazards();
  keepPlace();
}

function correct(entry) {
  show(entry.body);
  [mending, held] = [entry, null];
  clearFaults(form);
  if (entry.problem) showFaults(form, entry.problem.errors || [], fieldOf(entry.body));
  find("keep").textContent = `Keep ${entry.label} corrected`;
  form.scrollIntoView();
  form.elements.length_mm.focus();
}

async function measureAgain(id) {
  held = await get(`logs/${id}`);
  show(held);
  find("heading").textContent = `Measure log ${held.number} again`;
  find("keep").textContent = "Save the new measures";
}

function showSent(entries) {
  const logs = entries.filter((one) => one.kind === "log").map((one) => one.answer);
  find("sent").prepend(...logs.reverse().map((log) => row(make("a", { href: `/logs/${log.id}` }, log.number), [inWords(log.length_mm, "long"), "number"],
    ...["butt_mm", "middle_mm", "tip_mm"].map((name) => [inWords(log[name], "thick"), "number"]))));
  rememberNumbers(logs);
  if (logs.length) tell(`${logs.length === 1 ? `Log ${logs[0].number} is` : `${logs.length} logs are`} with the service.`);
}
