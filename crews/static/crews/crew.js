// The crew: who is in it, how it writes lengths, and leaving this browser.

import { all, ask, get } from "./api.js";
import { facts, fill, find, row, tell } from "./dom.js";
import { unsent } from "./outbox.js";
import { run, start } from "./shell.js";

run(async () => {
  const me = await start();
  find("name").textContent = me.crew.name;
  facts("facts", [["You are", me.member.name], ["This key allows what a member may who is", me.role]]);
  find("length-unit").value = me.crew.length_unit;
  find("fraction").value = String(me.crew.fraction);
  find("units").hidden = !me.may("lead");
  find("units").addEventListener("submit", (event) => {
    event.preventDefault();
    run(changeUnits);
  });
  const members = await all("members");
  fill("members", members.filter((one) => !one.left_at).map((one) => row(one.name, one.role)));
  const left = (await unsent()).length;
  find("kept").hidden = left === 0;
  find("kept").textContent = `${left} entries are not sent yet. They stay in this browser and are sent once someone of your crew signs in here again.`;
});

async function changeUnits() {
  const crew = await get("crew");
  const body = { length_unit: find("length-unit").value, fraction: Number(find("fraction").value) };
  await ask("PATCH", "crew", body, { version: crew.version });
  tell("Kept. Every page now writes lengths so.");
}
