// Members beyond the walls (plate, joists, purlins, ridge, posts, gable logs): which log each is made of, and taking that back.

import { all, ask, get } from "../crews/api.js";
import { askSure, askWhy } from "../crews/dialog.js";
import { choices, fill, find, make, row, saveForm, tell } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { unitsOf, unitWords } from "../crews/lengths.js";
import { putLength, lengthIn } from "../crews/measures.js";
import { run } from "../crews/shell.js";

let me, cabin, planned;

/** Show the members of a cabin whose layout has any, and install or take back one. */
export async function offerMembers(givenMe, givenCabin) {
  [me, cabin] = [givenMe, givenCabin];
  const wanted = membersOf(await get(`cabins/${cabin.id}/layout`));
  if (!wanted.length) return;
  find("members-part").hidden = false;
  find("install-unit").textContent = `(${unitWords(unitsOf(me.crew).long)})`;
  planned = await plannedMembers();
  await showMembers(wanted);
  find("install-member").addEventListener("change", proposePlanned);
  find("install").addEventListener("submit", (event) => { event.preventDefault(); run(() => install(wanted)); });
}

/** Each member by its own name: of several of a size every one, and what the roof line gives. */
function membersOf({ layout, gable_logs: gables }) {
  const named = ({ id, count }) => (count === 1 ? [id] : Array.from({ length: count }, (_, at) => `${id} ${at + 1}`));
  const listed = layout.members.flatMap((one) => named(one).map((name) => ({ ...one, name })));
  return [...listed, ...gables.map((one) => ({ ...one, name: one.member }))];
}

/** What the plan in force makes each member of, by its name; none without a plan. */
async function plannedMembers() {
  const [plan] = (await get(`plans?cabin=${cabin.id}&state=adopted&limit=1`)).items;
  if (!plan) return {};
  const pieces = await all(`plans/${plan.id}/pieces?cabin=${cabin.id}&for_members=true`);
  return Object.fromEntries(pieces.map((one) => [one.member, one]));
}

async function showMembers(wanted) {
  const made = Object.fromEntries((await all(`roof-members?cabin=${cabin.id}&undone=false`)).map((one) => [one.member, one]));
  const { long, thick } = me.length;
  const open = wanted.filter((one) => !made[one.name]);
  find("members-done").textContent = `${wanted.length - open.length} of ${wanted.length} installed.`;
  fill("members", wanted.map((one) => row(one.name, logOf(made[one.name], planned[one.name]), [long(one.length_mm), "number"], [thick(one.least_middle_mm), "number"],
    made[one.name] ? takeBackButton(made[one.name], wanted) : installButton(one))));
  find("install").hidden = !open.length;
  choices(find("install-member"), open.map((one) => [one.name, one.name]));
  proposePlanned();
}

const logLink = (one) => make("a", { href: `/logs/${one.log}` }, one.log_number);

function logOf(made, plan) {
  if (made) return make("span", {}, logLink(made), ", installed");
  return plan ? make("span", {}, logLink(plan), ", as planned") : "none yet";
}

const installButton = (one) => make("button", { type: "button", click: () => {
  find("install-member").value = one.name;
  proposePlanned();
  find("install-heading").focus();
} }, "Install", make("span", { class: "unseen" }, ` ${one.name}`));

/** The log and the cut that the plan has for the member stand in the fields. */
function proposePlanned() {
  const plan = planned[find("install-member").value];
  find("install-log").value = plan?.log_number ?? "";
  putLength(find("install-from"), plan?.from_butt_mm, unitsOf(me.crew).long, me.crew.fraction);
  find("install-metal").checked = false;
}

async function install(wanted) {
  const form = find("install");
  const member = find("install-member").value;
  const log = await logNamed(find("install-log").value.trim(), planned[member]);
  const body = { cabin: cabin.id, member, log, from_butt_mm: lengthIn(find("install-from"), unitsOf(me.crew).long), metal_removed: find("install-metal").checked, installed_at: new Date().toISOString() };
  const id = newId();
  const send = (more) => ask("PUT", `roof-members/${id}`, { ...body, ...more });
  const made = await saveForm(form, () => sendDoubtedOnce(send, member));
  if (!made) return;
  tell([`${member} is installed.`, ...made.warnings.map((one) => one.detail)].join(" "));
  await showMembers(wanted);
}

/** What is doubtful is asked once; null if the person does not want it after all. */
async function sendDoubtedOnce(send, member) {
  try {
    return await send({});
  } catch (error) {
    if (error.kind !== "doubts-unconfirmed") throw error;
    const doubts = make("ul", {}, error.errors.map((one) => make("li", {}, one.detail)));
    return await askSure(`Look again: is ${member} made so?`, { yes: "It is right", more: [doubts] }) ? send({ confirm_doubtful: true }) : null;
  }
}

/** The id of the crew's log of this number; of several the one that the plan means. */
async function logNamed(number, plan) {
  if (plan?.log_number === number) return plan.log;
  const found = await all(`logs?number=${encodeURIComponent(number)}`);
  const usable = found.filter((one) => one.state !== "gone");
  if (!usable.length) throw new Error(`No log ${number} is charted.`);
  if (usable.length > 1) throw new Error(`${usable.length} yards have a log ${number}; give the log of this cabin another number first.`);
  return usable[0].id;
}

const takeBackButton = (one, wanted) => make("button", { type: "button", click: () => run(async () => {
  const reason = await askWhy(`Why is ${one.member} not installed?`, { yes: "Take back" });
  if (!reason) return;
  await ask("POST", `roof-members/${one.id}/undo`, { reason });
  tell(`${one.member} is taken back.`);
  await showMembers(wanted);
}) }, "Take back", make("span", { class: "unseen" }, ` ${one.member}`));
