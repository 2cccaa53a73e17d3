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
  await showNextThings(cabins, me);
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
    make("div", { class: "next-thing", "data-cabin": cabin.cabin },
      cabin.places ? null : nextButton({ to: `${to}/layout`, words: `Lay out ${cabin.cabin_name}` }, cabin)));
}

/** The one next thing of each cabin, in words and one tap away; its space is kept until it is known. */
async function showNextThings(cabins, me) {
  await Promise.all(cabins.filter((one) => one.places && one.logs_left).map(async (cabin) => {
    const next = await nextThing(cabin, me);
    fill(document.querySelector(`.next-thing[data-cabin="${cabin.cabin}"]`), nextButton(next, cabin));
  }));
}

const nextButton = ({ to, words }, cabin) => make("a", { class: "button main", href: to }, words, make("span", { class: "unseen" }, ` – ${cabin.cabin_name}`));

async function nextThing(cabin, me) {
  const place = `cabins/${cabin.cabin}`;
  const wall = `/${place}/wall`;
  let told;
  try {
    told = await getOrKept(`${place}/next-log`);
  } catch (error) {
    if (error.kind === "no-plan-yet") return { to: `/plans?cabin=${cabin.cabin}`, words: "Plan it" };
    return { to: wall, words: "At the wall" };
  }
  if (told.lost.length) return { to: `/plans?cabin=${cabin.cabin}`, words: "Plan again" };
  if (toMeasure(cabin, told.row)) return { to: `${wall}#heights-heading`, words: `Measure round ${cabin.rounds_complete}` };
  if (told.row) return { to: wall, words: `Set log ${told.row.log_number} on wall ${told.row.wall}` };
  const missing = await logsMissing(cabin.cabin);
  if (missing && me.may("builder")) return { to: `/orders?cabin=${cabin.cabin}`, words: `Order ${missing} ${missing === 1 ? "log" : "logs"}` };
  return { to: wall, words: "At the wall" };
}

/** Whether the round that was filled last is not measured all round, and the next one not begun. */
const toMeasure = (cabin, row) => cabin.rounds_complete > 0 && (!row || row.round === cabin.rounds_complete + 1)
  && cabin.walls.every((one) => one.rounds_up === cabin.rounds_complete) && cabin.walls.some((one) => !one.start_is_measured || !one.end_is_measured);

/** How many logs the plan in force lacks. */
async function logsMissing(id) {
  const { items } = await getOrKept(`plans?state=adopted&cabin=${id}`);
  if (!items.length) return 0;
  const { shortages } = await getOrKept(`plans/${items[0].id}`);
  return shortages.reduce((sum, one) => sum + one.count, 0);
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
