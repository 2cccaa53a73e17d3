// The crew's cabins and how far each is.

import { ask, get, getOrKept } from "../crews/api.js";
import { facts, fill, find, make, saveForm } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { nothing, run, start } from "../crews/shell.js";

run(async () => {
  const me = await start();
  const { cabins } = await getOrKept("progress");
  fill("cabins", cabins.map((cabin) => card(cabin, me)));
  find("new-cabin").addEventListener("submit", (event) => { event.preventDefault(); run(takeUp); }); // before it can be pressed
  find("take-up").hidden = !me.may("builder");
  find("take-up").open = !cabins.length;
  if (!cabins.length) await showFirstSteps(me);
});

function card(cabin, me) {
  const to = `/cabins/${cabin.cabin}`;
  const told = make("dl", { class: "facts" });
  const worst = Math.max(0, ...cabin.walls.map((wall) => Math.abs(wall.out_of_level_mm ?? 0)));
  if (cabin.places) {
    facts(told, [
      ["Rounds complete", `${cabin.rounds_complete} of ${cabin.rounds}`],
      ["Logs set", `${cabin.logs_set} of ${cabin.places}`],
      ["Height now", cabin.logs_set ? me.length.long(cabin.height_mm) : null],
      ["Most out of level", cabin.logs_set ? me.length.thick(worst) : null],
    ]);
  }
  return make("li", { class: "card" },
    make("h2", {}, make("a", { href: to }, cabin.cabin_name)),
    cabin.places
      ? [make("progress", { max: cabin.places, value: cabin.logs_set, "aria-label": `Logs set in ${cabin.cabin_name}` }), told]
      : nothing("Not laid out yet."),
    cabin.places && cabin.logs_left
      ? make("a", { class: "button main", href: `${to}/wall` }, "At the wall", make("span", { class: "unseen" }, ` of ${cabin.cabin_name}`))
      : null,
    cabin.places ? null : make("a", { class: "button", href: `${to}/layout` }, `Lay out ${cabin.cabin_name}`));
}

async function takeUp() {
  const form = find("new-cabin");
  const id = newId();
  await saveForm(form, () => ask("PUT", `cabins/${id}`, { name: form.elements.namedItem("name").value }));
  location.assign(`/cabins/${id}/layout`);
}

/** A crew that begins: what comes first, and where. */
async function showFirstSteps(me) {
  find("first").hidden = false;
  const { items: yards } = await get("yards?limit=1");
  const { items: logs } = await get("logs?limit=1");
  const done = [yards.length > 0, logs.length > 0, false, false];
  find("first-steps").querySelectorAll("li").forEach((step, at) => { if (done[at]) step.append(make("span", { class: "good" }, " Done.")); });
  find("ask-lead").hidden = me.may("builder");
}
