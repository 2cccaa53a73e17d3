// What lies in a yard: chosen, sorted, one log opened by its number.

import { all, ask, get } from "../crews/api.js";
import { choices, clearFaults, facts, fill, find, make, row, saveForm, showFaults, tell } from "../crews/dom.js";
import { fileLink, onPaper } from "../crews/file.js";
import { draw } from "../crews/drawing.js";
import { newId } from "../crews/ids.js";
import { meant, unitsOf, unitWords } from "../crews/lengths.js";
import { run, start } from "../crews/shell.js";
import { offerChartFile } from "./chart_file.js";
import { STATES } from "./words.js";

const PAGE = 50;
const LENGTHS = { length_at_least: "long", middle_at_least: "thick", middle_at_most: "thick" };
let me, racks, next;

run(async () => {
  me = await start();
  const [yards, allRacks, species] = await Promise.all([all("yards"), all("racks"), all("species")]);
  racks = allRacks;
  const units = unitsOf(me.crew);
  document.querySelectorAll(".long-unit").forEach((place) => { place.textContent = `(${unitWords(units.long)})`; });
  document.querySelectorAll(".thick-unit").forEach((place) => { place.textContent = `(${unitWords(units.thick)})`; });
  choices(find("yard"), [...yards.map((one) => [one.id, one.name])]);
  choices(find("species"), [["", "all"], ...species.map((one) => [one.id, one.name])]);
  takeAddress();
  showRacks();
  find("yard").addEventListener("change", () => { showRacks(); run(showYard); });
  for (const id of ["rack", "order"]) find(id).addEventListener("change", () => run(showLogs));
  for (const button of document.querySelectorAll("button.sorts")) button.addEventListener("click", () => run(() => sortBy(button.dataset.sorts)));
  find("filter").addEventListener("submit", (event) => { event.preventDefault(); run(showLogs); });
  find("more-logs").addEventListener("click", () => run(() => showLogs({ more: true })));
  offerPlaces(yards);
  offerChartFile(me, species, takenIn);
  if (yards.length) await showYard();
});

/** New yards and racks; without a yard there is nothing else on the page. */
function offerPlaces(yards) {
  find("first-yard").hidden = yards.length > 0;
  find("here").hidden = !yards.length;
  find("places").hidden = !me.may("builder");
  find("places").open = !yards.length;
  find("new-rack").hidden = !yards.length;
  find("new-yard").addEventListener("submit", (event) => { event.preventDefault(); run(makeYard); });
  find("new-rack").addEventListener("submit", (event) => { event.preventDefault(); run(makeRack); });
}

/** What a chart brought is shown: its racks can be chosen, its logs stand in the table. */
async function takenIn() {
  racks = await all("racks");
  showRacks();
  await showYard();
}

async function makeYard() {
  const id = newId();
  const form = find("new-yard");
  await saveForm(form, () => ask("PUT", `yards/${id}`, { name: form.elements.namedItem("name").value.trim() }));
  location.assign(`/yard?yard=${id}`);
}

async function makeRack() {
  const form = find("new-rack");
  const name = form.elements.namedItem("name").value.trim();
  await saveForm(form, () => ask("PUT", `racks/${newId()}`, { yard: find("yard").value, name }));
  racks = await all("racks");
  showRacks();
  form.reset();
  tell(`${name} is made.`);
}

function showSheets() {
  const rack = find("rack").value;
  const paper = onPaper(me.crew);
  const sheet = (name, words) => fileLink(`yards/${find("yard").value}/sheets/${name}?${paper}${rack ? `&rack=${rack}` : ""}`, words, `${name}.pdf`);
  fill("sheets", sheet("chart", "Chart of what lies here"), sheet("labels", "Labels with a code for each log"), fileLink(`sheets/blank-chart?${paper}`, "Blank chart to fill in", "blank-chart.pdf"));
}

function takeAddress() {
  for (const [name, value] of new URLSearchParams(location.search)) {
    const input = find("filter").elements.namedItem(name);
    if (input?.type === "checkbox") input.checked = true;
    else if (input) input.value = value;
  }
}

function showRacks() {
  const here = racks.filter((one) => one.yard === find("yard").value);
  choices(find("file-rack"), [["", "none"], ...here.map((one) => [one.id, one.name])]);
  choices(find("rack"), [["", "all"], ...here.map((one) => [one.id, one.name])], new URLSearchParams(location.search).get("rack"));
}

async function showYard() {
  await showLogs();
  const yard = `yards/${find("yard").value}`;
  const told = await get(`${yard}/summary`);
  facts("summary", [
    ["Logs lying here", told.lying.count],
    ["Free", told.lying.free],
    ["Mean middle", told.lying.mean_middle_mm === null ? null : me.length.thick(told.lying.mean_middle_mm)],
    ["Middles from", told.middles && `${me.length.thick(told.middles.least_mm)} to ${me.length.thick(told.middles.most_mm)}`],
    ["Lengths from", told.lengths && `${me.length.long(told.lengths.least_mm)} to ${me.length.long(told.lengths.most_mm)}`],
  ]);
  if (told.lying.count) await draw(find("drawing"), `${yard}/drawing`, { label: "Middles and lengths of the yard" });
  else fill("drawing");
}

/** A heading sorts by its column, thickest and longest first; pressed again the other way round. */
async function sortBy(column) {
  const order = find("order");
  const [first, second] = column === "number" ? ["number", "-number"] : [`-${column}`, column];
  order.value = order.value === first ? second : first;
  await showLogs();
}

function showSorted() {
  const order = find("order").value;
  for (const button of document.querySelectorAll("button.sorts")) {
    const way = { [button.dataset.sorts]: "ascending", [`-${button.dataset.sorts}`]: "descending" }[order];
    if (way) button.closest("th").setAttribute("aria-sort", way);
    else button.closest("th").removeAttribute("aria-sort");
  }
}

function question() {
  const asked = new URLSearchParams();
  for (const input of find("filter").elements) {
    if (!input.name || input.value === "" || (input.type === "checkbox" && !input.checked)) continue;
    const value = input.type === "checkbox" ? "true" : input.value;
    asked.set(input.name, input.name in LENGTHS ? meant(value, unitsOf(me.crew)[LENGTHS[input.name]]) : value);
  }
  return asked;
}

async function showLogs({ more = false } = {}) {
  clearFaults(find("filter"));
  const asked = question();
  const shown = new URLSearchParams(asked);
  history.replaceState(null, "", `?${shown}`);
  showSheets();
  showSorted();
  asked.set("limit", PAGE);
  if (more) asked.set("after", next);
  let page;
  try {
    page = await get(`logs?${asked}`);
  } catch (error) {
    if (!error.errors?.length) throw error;
    const rest = showFaults(find("filter"), error.errors, (pointer) => pointer.replace(/^[?/]/, ""));
    if (rest.length) throw error;
    return;
  }
  if (!more) fill("logs");
  find("logs").append(...page.items.map(line));
  next = page.next;
  find("more-logs").hidden = !next;
  const count = find("logs").children.length;
  find("table").hidden = !count;
  const narrowed = [...shown.keys()].some((name) => !["yard", "order"].includes(name));
  if (!count && !narrowed) { fill("count", "No log is charted here yet. ", make("a", { class: "button main", href: "/chart" }, "Chart the first")); return; }
  const told = `${count} ${count === 1 ? "log" : "logs"} shown`;
  find("count").textContent = count ? `${next ? `The first ${told}; there are more` : told}.` : "No log is like that.";
}

function line(log) {
  const beware = log.hazards.map((one) => one.kind);
  return row(make("a", { href: `/logs/${log.id}` }, log.number),
    [me.length.thick(log.middle_mm), "number"], [me.length.long(log.length_mm), "number"], [STATES[log.state], "one-line"], log.rack_name,
    [me.length.thick(log.butt_mm), "number"], [me.length.thick(log.tip_mm), "number"], [log.crown_mm === null ? "?" : log.crown_mm ? me.length.thick(log.crown_mm) : "", "number"],
    [[...new Set(beware)].join(", "), beware.includes("metal") ? "bad" : ""], log.species_name, log.instructions.map((one) => one.text).join(" "));
}
