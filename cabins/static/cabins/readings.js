// What was read of each top, which readings are worth repeating, and whether the rest must be planned again.

import { ask, get, NoNetwork } from "../crews/api.js";
import { askWhy } from "../crews/dialog.js";
import { choices, fill, find, make, tell } from "../crews/dom.js";
import { run } from "../crews/shell.js";

const SHOWN = 8;

/** Fills the part of the page under the heights; without a signal it stays empty. */
export async function showReadings(cabin, me, cornersOf) {
  let told;
  const at = (one) => `wall ${one.wall}, round ${one.round}, at ${{ start: cornersOf(one.wall)[0], end: cornersOf(one.wall)[1] }[one.end] ?? one.end}`;
  const again = () => showReadings(cabin, me, cornersOf);
  try { told = await get(`cabins/${cabin}/readings`); } catch (error) {
    if (!(error instanceof NoNetwork)) throw error;
    return;
  }
  fill("again", planAgain(told, cabin), worthAgain(told, at));
  find("tops-read").hidden = !told.tops.length;
  find("read-to").textContent = `Readings of one top are kept together; their mean counts. Errors: ${told.uncertainty}.`;
  fill("tops", told.tops.slice(-SHOWN).reverse().map((top) => line(top, at, again)));
  await showWays(me, again);
}

function planAgain({ plan_again: again }, cabin) {
  if (!again.length) return "";
  return make("div", { class: "caution danger" }, again.map((words) => make("p", {}, words)), make("a", { href: `/plans?cabin=${cabin}` }, "Plan again"));
}

/** The few tops and logs that are worth a second reading, in millimetres at the plate or after the first round. */
function worthAgain({ worth, cautions }, at) {
  if (!worth || !(worth.tops.length + worth.logs.length + worth.first_logs.length)) return "";
  const top = (one) => `${upper(at(one))}: ${one.times_read ? "read it again" : "read it twice once it lies"}, ${one.worth_text}`;
  const log = (one) => `Log ${one.log_number} (wall ${one.wall}, round ${one.round}): measure its diameters again, ${one.worth_text}`;
  const together = worth.tops.length > 1 ? ` These tops together: ${worth.tops_together_text}.` : "";
  return make("details", { class: "plain" }, make("summary", {}, "Worth a second reading"),
    make("p", { class: "hint" }, `The worst wall is expected to be ${worth.plate_text} out of level at the plate; a second reading makes it surer by so much.${together}`),
    make("ul", {}, worth.tops.map((one) => make("li", {}, top(one))), worth.logs.map((one) => make("li", {}, log(one)))),
    worth.first_logs.length ? [
      make("p", { class: "hint" }, `The first logs lie on the deck and have no gap to steer by: there the worst wall is expected to be ${worth.first_round_text} out of level.`),
      make("ul", {}, worth.first_logs.map((one) => make("li", {}, log(one)))),
    ] : "",
    make("p", { class: "hint" }, cautions.join(" ")));
}

const upper = (words) => words[0].toUpperCase() + words.slice(1);

function line(top, at, again) {
  const last = top.readings.at(-1);
  const of = top.times_read > 1 ? `, mean of ${top.times_read}, ${top.spread_text} apart` : "";
  return make("li", {}, make("span", {}, `${upper(at(top))}: ${top.height_text} ±${top.error_text}${of}. Read by ${top.measured_by_name}.`),
    make("button", { type: "button", click: () => run(() => takeBack(last, at(top), again)) }, top.times_read > 1 ? `Take back ${last.height_text}` : "Take back", make("span", { class: "unseen" }, ` of ${at(top)}`)));
}

async function takeBack(reading, where, again) {
  const reason = await askWhy(`Why does the reading of ${reading.height_text} not count?`, { yes: "Take back" });
  if (!reason) return;
  await ask("POST", `heights/${reading.id}/undo`, { reason });
  tell(`The reading of ${where} is taken back.`);
  await again();
}

/** With what the crew reads tops; a lead says so once for the crew. */
async function showWays(me, again) {
  if (!me.may("lead") || !find("reading-field").hidden) return;
  let settings = await get("wall-settings");
  const select = find("top_reading");
  choices(select, settings.measuring.ways.map((way) => [way.top_reading, way.words]), settings.top_reading);
  find("reading-field").hidden = false;
  select.addEventListener("change", () => run(async () => {
    settings = await ask("PATCH", "wall-settings", { top_reading: select.value }, { version: settings.version });
    await again();
  }));
}
