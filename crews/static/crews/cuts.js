// How the crew cuts its logs: read by everybody, chosen by a lead; what nobody chose stays the usual value.

import { ask, get } from "./api.js";
import { facts, find, saveForm, tell } from "./dom.js";
import { unitsOf, writer } from "./lengths.js";
import { lengthIn, putLength } from "./measures.js";
import { run } from "./shell.js";

const LENGTHS = ["trim_each_end_mm", "kerf_mm", "hazard_clear_mm"];
const NAMES = [...LENGTHS, "most_pieces"];
const form = find("cuts");
let crew, settings;

const field = (name) => form.elements.namedItem(name);
const words = (name, value) => (LENGTHS.includes(name) ? writer(crew).thick(value) : `${value}`);
const chosen = (name) => settings.chosen.includes(name);

/** Show them, and to a lead in fields; called again, in the crew's new unit. */
export async function showCuts(me, givenCrew) {
  crew = givenCrew;
  if (!settings) form.addEventListener("submit", (event) => { event.preventDefault(); run(save); });
  settings = await get("wall-settings");
  form.hidden = !me.may("lead");
  find("cuts-words").hidden = !form.hidden;
  show();
}

function show() {
  for (const name of NAMES) {
    const value = chosen(name) ? settings[name] : null;
    if (LENGTHS.includes(name)) putLength(field(name), value, unitsOf(crew).thick, crew.fraction);
    else field(name).value = value ?? "";
    find(`${field(name).id}-usual`).textContent = `usual: ${words(name, settings.defaults[name])}`;
  }
  facts("cuts-words", NAMES.map((name) => [form.querySelector(`label[for=${field(name).id}]`).textContent, words(name, settings[name])]));
}

async function save() {
  const typed = (name) => (LENGTHS.includes(name) ? lengthIn(field(name), unitsOf(crew).thick) : Number(field(name).value));
  const given = Object.fromEntries(NAMES.map((name) => [name, field(name).value.trim() === "" ? null : typed(name)]));
  settings = await saveForm(form, () => ask("PATCH", "wall-settings", given, { version: settings.version }));
  show();
  tell("Kept. The wall and new plans go by it.");
}
