// The lines of a draft as fields, written by hand or filled in from what cabins need.

import { all, ask, get } from "../crews/api.js";
import { bothVersions } from "../crews/both.js";
import { checkbox, choices, clearFaults, fill, find, make, saveForm, tell, ticked } from "../crews/dom.js";
import { unitsOf, unitWords } from "../crews/lengths.js";
import { lengthIn, putLength } from "../crews/measures.js";
import { run } from "../crews/shell.js";

const LENGTHS = { length_mm: "long", least_middle_mm: "thick", largest_middle_mm: "thick" };
const FIELDS = [["count", "Logs"], ["length_mm", "Length"], ["least_middle_mm", "Middle from"], ["largest_middle_mm", "Middle up to"], ["price", "Price"], ["note", "Note"]];
const STEPS_MM = { inches: { class_step: 24 * 25.4, middle_step: 25.4 }, metric: { class_step: 500, middle_step: 25 } };
let page, units, species, version, added = 0, ready = false;

/** Show the lines of `page.order` in fields. */
export async function writeLines(given) {
  page = given;
  units = unitsOf(page.me.crew);
  ({ version } = page.lines);
  if (!ready) await prepare();
  ready = true;
  showLines(page.lines.items);
}

async function prepare() {
  let cabins, yards;
  [species, cabins, yards] = await Promise.all([all("species"), all("cabins"), all("yards")]);
  const wanted = new URLSearchParams(location.search).get("cabin");
  const laidOut = cabins.filter((one) => one.rounds !== null);
  fill("cabins", laidOut.length ? laidOut.map((one) => checkbox("cabin", one, one.id === wanted)) : make("p", { class: "nothing" }, "No cabin is laid out."));
  fill("yards", yards.length ? yards.map((one) => checkbox("yard", one, true)) : make("p", { class: "nothing" }, "There is no yard."));
  choices(find("species-wanted"), woodsOf());
  for (const [id, mm] of Object.entries(STEPS_MM[units.thick === "in" ? "inches" : "metric"])) putLength(find(id), mm, units[id === "class_step" ? "long" : "thick"], page.me.crew.fraction);
  for (const kind of ["long", "thick"]) document.querySelectorAll(`.${kind}-unit`).forEach((place) => { place.textContent = `(${unitWords(units[kind])})`; });
  find("take-off-part").open = Boolean(wanted);
  find("take-off").addEventListener("submit", (event) => { event.preventDefault(); run(takeOff); });
  find("lines-form").addEventListener("submit", (event) => { event.preventDefault(); run(keepLines); });
  find("add-line").addEventListener("click", () => addLine({}).querySelector("input").focus());
}

const woodsOf = () => [["", "choose"], ...species.map((one) => [one.name, one.name])];
const boxes = () => [...document.querySelectorAll("#line-fields fieldset")];

function showLines(lines) {
  fill("line-fields");
  lines.forEach(addLine);
}

function addLine(line) {
  const at = added;
  added += 1;
  const field = (name, words, input) => make("div", { class: "field" }, make("label", { for: `${name}-${at}` }, words), input);
  const fields = FIELDS.map(([name, words]) => {
    const input = make("input", { id: `${name}-${at}`, name: `${name}-${at}`, autocomplete: "off", required: name !== "price" && name !== "note", inputmode: { count: "numeric", price: "decimal" }[name] });
    if (name in LENGTHS) putLength(input, line[name], units[LENGTHS[name]], page.me.crew.fraction);
    else input.value = line[name] ?? "";
    return field(name, name in LENGTHS ? `${words} (${unitWords(units[LENGTHS[name]])})` : words, input);
  });
  const woods = make("select", { id: `species-${at}`, name: `species-${at}`, required: true });
  choices(woods, woodsOf(), line.species || boxes().at(-1)?.querySelector("select").value);
  const box = make("fieldset", { "data-at": at, "data-sawn": line.sawn_thickness_mm ?? "" }, make("legend", {}, `Line ${boxes().length + 1}`),
    make("div", { class: "row" }, fields, field("species", "Species", woods)),
    make("button", { type: "button", click: () => { box.remove(); numberLines(); find("add-line").focus(); } }, "Remove", make("span", { class: "unseen" }, " this line")));
  find("line-fields").append(box);
  return box;
}

const numberLines = () => boxes().forEach((box, at) => { box.querySelector("legend").textContent = `Line ${at + 1}`; });

function lineTyped(box) {
  const input = (name) => find(`${name}-${box.dataset.at}`);
  const count = input("count").value.trim();
  return {
    species: input("species").value, count: Number(count) || count, price: input("price").value.trim().replace(",", ".") || null, note: input("note").value.trim(),
    sawn_thickness_mm: box.dataset.sawn ? Number(box.dataset.sawn) : null,
    ...Object.fromEntries(Object.entries(LENGTHS).map(([name, kind]) => [name, lengthIn(input(name), units[kind])])),
  };
}

async function keepLines() {
  const lines = boxes().map(lineTyped);
  const fieldOf = (pointer) => {
    const [, , at, name] = pointer.split("/");
    return `${name || "count"}-${boxes()[Number(at)]?.dataset.at}`;
  };
  try {
    await saveForm(find("lines-form"), () => ask("PUT", `orders/${page.order.id}/lines`, { lines }, { version }), fieldOf);
  } catch (error) {
    if (error.status !== 412) throw error;
    await showBoth(lines);
    return;
  }
  fill("counted");
  tell("The lines are kept.");
  await page.again();
}

async function showBoth(mine) {
  const stored = await get(`orders/${page.order.id}/lines`);
  const { long, thick } = page.me.length;
  const say = (value, write) => (typeof value === "number" ? write(value) : value);
  const words = (one) => (one ? `${one.count} of ${say(one.length_mm, long)}, ${say(one.least_middle_mm, thick)} to ${say(one.largest_middle_mm, thick)}, ${one.species}${one.price === null ? "" : ` at ${Number(one.price)}`}${one.note ? ` (${one.note})` : ""}` : "none");
  const most = Math.max(mine.length, stored.items.length);
  const pairs = Array.from({ length: most }, (_, at) => [`Line ${at + 1}`, words(mine[at]), words(stored.items[at])]);
  const close = () => { ({ version } = stored); fill("changed-meanwhile"); };
  fill("changed-meanwhile", bothVersions(pairs, { keepMine: () => { close(); return run(keepLines); }, takeTheirs: () => { close(); clearFaults(find("lines-form")); showLines(stored.items); } }));
  find("both").focus();
}

async function takeOff() {
  const form = find("take-off");
  if (!ticked("cabin").length) throw new Error("Choose at least one cabin.");
  const rounds = find("spare").value.trim();
  const body = {
    cabins: ticked("cabin"), yards: ticked("yard"), species: find("species-wanted").value, spare: { rounds: Number(rounds) || (rounds === "0" ? 0 : rounds) },
    class_step_mm: lengthIn(find("class_step"), units.long), middle_step_mm: lengthIn(find("middle_step"), units.thick),
  };
  const told = await saveForm(form, () => ask("POST", "take-offs", body));
  fill("counted", make("div", { class: "notice" },
    make("p", {}, `${told.logs} logs and ${told.spare} to spare are needed. Your yards cover ${told.covered}; ${told.to_order} are left to order.`),
    told.order.length ? make("p", {}, "The lines below are filled in from it; they are stored once you keep them.") : "",
    make("ul", {}, [...told.advice, told.uncertainty, ...told.cautions].filter(Boolean).map((words) => make("li", {}, words)))));
  if (told.order.length) showLines(told.order.map((line) => ({ ...line, species: line.species || find("species-wanted").value })));
  find("counted").scrollIntoView();
}
