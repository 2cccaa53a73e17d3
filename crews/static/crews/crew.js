// The crew: how it writes lengths and cuts logs, who is in it, their keys, and leaving this browser.

import { ask, get } from "./api.js";
import { bothVersions } from "./both.js";
import { showCuts } from "./cuts.js";
import { facts, fill, find, saveForm, tell } from "./dom.js";
import { forgetKept } from "./kept.js";
import { unsent } from "./outbox.js";
import { offerPeople, showPeople } from "./people.js";
import { weighsIn } from "./lengths.js";
import { run, start } from "./shell.js";
import { offerWebhooks } from "./webhooks.js";

const NAMES = ["name", "length_unit", "fraction", "weight_unit"];
const form = find("units");
let crew, me;

run(async () => {
  find("sign-out").addEventListener("submit", async (event) => {
    event.preventDefault();
    try { await forgetKept(); } finally { event.target.submit(); }
  });
  me = await start();
  crew = me.crew;
  facts("facts", [["You are", me.member.name], ["This key allows what a member may who is", me.role]]);
  showCrew();
  form.hidden = !me.may("lead");
  find("units-words").hidden = me.may("lead");
  form.addEventListener("submit", (event) => { event.preventDefault(); run(changeCrew); });
  await showCuts(me, crew);
  if (me.may("lead")) await Promise.all([offerPeople(me), offerWebhooks()]);
  else await showPeople();
  const left = (await unsent()).length;
  find("kept").hidden = left === 0;
  find("kept").textContent = `${left} entries are not sent yet. They stay in this browser and are sent once someone of your crew signs in here again.`;
});

const words = (name, value) => {
  if (name === "name") return value;
  return [...form.elements.namedItem(name).options].find((one) => one.value === String(value ?? ""))?.textContent;
};

function showCrew() {
  find("name").textContent = find("crew").textContent = crew.name;
  for (const name of NAMES) form.elements.namedItem(name).value = String(crew[name] ?? "");
  find("units-words").textContent = `Lengths are written in ${words("length_unit", crew.length_unit)}, inches to ${words("fraction", crew.fraction)}, weights in ${words("weight_unit", weighsIn(crew))}.`;
}

async function changeCrew() {
  const mine = Object.fromEntries(NAMES.map((name) => [name, form.elements.namedItem(name).value]));
  try {
    crew = await saveForm(form, () => ask("PATCH", "crew", { ...mine, fraction: Number(mine.fraction), weight_unit: mine.weight_unit || null }, { version: crew.version }));
  } catch (error) {
    if (error.status !== 412) throw error;
    await showBoth(mine);
    return;
  }
  showCrew();
  await showCuts(me, crew);
  tell("Kept. Every page now writes so.");
}

async function showBoth(mine) {
  const stored = await get("crew");
  const said = { name: "Name", length_unit: "Lengths in", fraction: "Inches to", weight_unit: "Weights in" };
  const close = () => { crew = stored; fill("changed-meanwhile"); };
  fill("changed-meanwhile", bothVersions(NAMES.map((name) => [said[name], words(name, mine[name]), words(name, stored[name])]),
    { keepMine: () => { close(); return run(changeCrew); }, takeTheirs: () => { close(); showCrew(); } }));
  find("both").focus();
}
