// Two plans side by side: what a lead weighs before adopting one of them.

import { all, get } from "../crews/api.js";
import { choices, fill, find, make, row } from "../crews/dom.js";
import { run, start } from "../crews/shell.js";
import { when } from "../crews/times.js";
import { number, PLAN_STATES } from "./words.js";

const asked = new URLSearchParams(location.search);
let me, cabins;

run(async () => {
  me = await start();
  const [{ items }, named] = await Promise.all([get("plans?limit=50&order=-created_at"), all("cabins")]);
  cabins = Object.fromEntries(named.map((one) => [one.id, one.name]));
  find("too-few").hidden = items.length > 1;
  find("both-part").hidden = items.length < 2;
  if (items.length < 2) return;
  const pairs = items.map((one) => [one.id, `${when(one.created_at)}, ${PLAN_STATES[one.state]}`]);
  const adopted = items.find((one) => one.state === "adopted");
  const first = asked.get("one") ?? items[0].id;
  const second = asked.get("other") ?? [adopted?.id, items[1].id, items[0].id].find((id) => id && id !== first);
  choices(find("one"), pairs, first);
  choices(find("other"), pairs, second);
  for (const id of ["one", "other"]) find(id).addEventListener("change", () => run(show));
  await show();
});

async function show() {
  const [one, other] = ["one", "other"].map((id) => find(id).value);
  history.replaceState(null, "", `?${new URLSearchParams({ one, other })}`);
  const told = await get(`plans/${one}/side-by-side?other=${other}`);
  const { thick, long } = me.length;
  for (const [at, id] of ["one-name", "other-name"].entries()) fill(id, make("a", { href: `/plans/${told.plans[at].plan}` }, ["One", "Other"][at]));
  const yes = (value) => (value ? "yes" : "no");
  fill("figures", [
    ["State", "state", (value) => PLAN_STATES[value]], ["Rules met", "feasible", yes, -1], ["All places filled", "complete", yes, -1], ["Penalty", "usual_objective", number, 1],
    ["Plate out of level, on paper", "plate_out_of_level_mm", thick, 1], ["Plate out of level, expected as built", "expected_plate_error_mm", thick, 1],
    ["Worst level of any round", "out_of_level_mm", thick, 1], ["Plate tops apart", "plate_spread_mm", thick, 1],
    ["Corners climb unevenly, mean", "mean_corner_mm", thick, 1], ["Corners, worst", "worst_corner_mm", thick, 1],
    ["Notches not of the best depth", "notches_off", String, 1], ["Waste", "waste_mm", long, 1], ["Waste, of logs used", "waste_pct", (value) => `${Math.round(value)} %`, 1],
    ["Logs used", "logs_used", String, 1], ["Logs left", "logs_left", String, -1], ["Long logs left", "long_logs_left", String, -1], ["Longest log left", "longest_left_mm", long, -1],
    ["Places otherwise than in force", "changed_places", (value) => (value === null ? "none in force" : String(value)), 1],
  ].map((line) => figure(told.plans, ...line)));
  showLifts(told.plans);
  fill("cautions", told.cautions.map((words) => make("p", { class: "caution" }, words)));
}

/** `better`: 1 where less is better, -1 where more is, none where it is no matter of better. */
function figure(plans, words, name, say, better) {
  const values = plans.map((one) => one[name]);
  const gap = values.some((value) => value === null) ? 0 : (Number(values[1]) - Number(values[0])) * (better ?? 0);
  const [one, other] = values.map(say);
  const isTold = one !== other; // what reads the same is the same at the wall
  return row(words, [one, isTold && gap > 0 ? "number good" : "number"], [other, isTold && gap < 0 ? "number good" : "number"]);
}

function showLifts(plans) {
  const key = (one) => `${one.cabin} ${one.round ?? "members"}`;
  const keys = [...new Set(plans.flatMap((plan) => plan.lifts.map(key)))];
  const many = new Set(plans.flatMap((plan) => plan.cabins)).size > 1;
  const say = (one) => (one ? `${one.weight_high_kg === null ? "not known" : me.length.weight(one.weight_high_kg)} (log ${one.log_number}${one.unknown && one.weight_high_kg !== null ? `, ${one.unknown} not known` : ""})` : "");
  fill("lifts", keys.map((here) => {
    const found = plans.map((plan) => plan.lifts.find((one) => key(one) === here));
    const { cabin, round } = found.find(Boolean);
    return row(`${many ? `${cabins[cabin]}, ` : ""}${round ?? "members"}`, say(found[0]), say(found[1]));
  }));
}
