// What a plan changes against the one in force: each change with what it gains, to be taken one by one.

import { ask, get } from "../crews/api.js";
import { fill, find, make } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { run } from "../crews/shell.js";
import { number } from "./words.js";

let place, told;

/** Show the changes of a plan that is not adopted yet; those who may take some of them. */
export async function showChanges(plan, { mayTake }) {
  place = `plans/${plan.id}`;
  find("changes-part").hidden = plan.state !== "proposed";
  if (plan.state !== "proposed") return;
  told = await get(`${place}/changes`);
  find("changes-part").hidden = !told.against.length;
  find("unchanged").textContent = `${told.unchanged} places stay as they are.`;
  fill("changes", told.changes.map((one) => line(one, mayTake)));
  find("no-changes").hidden = told.changes.length > 0;
  find("take").hidden = !mayTake || !told.changes.length;
  find("take-hint").hidden = find("take").hidden;
  find("take").onclick = () => run(take);
}

const signed = (value) => `${value > 0 ? "+" : "−"}${number(Math.abs(value))}`;

function line(one, mayTake) {
  const by = one.objective_change;
  const box = mayTake ? make("input", { type: "checkbox", name: "change", value: one.number, checked: one.is_forced || by < 0, disabled: one.is_forced }) : "";
  const gains = one.gains.map((gain) => make("li", { class: gain.points < 0 ? "good" : "bad" }, gain.words));
  return make("li", { class: "change" }, make("label", { class: "check" }, box, make("span", {}, one.is_forced ? make("strong", {}, "Must be: ") : "", one.text)),
    make("div", { class: "plain" }, make("ul", {}, gains, make("li", {}, Math.abs(by) < 0.5 ? "Hardly a difference." : `Penalty ${signed(by)}`))));
}

async function take() {
  const chosen = [...document.querySelectorAll("input[name=change]:checked")].map((one) => Number(one.value));
  const made = await ask("POST", `${place}/changes`, { id: newId(), against: told.against, changes: chosen });
  location.assign(`/plans/${made.id}`);
}
