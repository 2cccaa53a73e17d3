// Who is in the crew, and for its leads: taking people in, their roles, their keys.

import { all, ask } from "./api.js";
import { askSure } from "./dialog.js";
import { choices, fill, find, make, row, saveForm, tell } from "./dom.js";
import { fileLink } from "./file.js";
import { newId } from "./ids.js";
import { showSecret } from "./secret.js";
import { run } from "./shell.js";
import { day } from "./times.js";

const ROLES = ["learner", "builder", "lead"];
let me, members;

/** The members as a list to read. */
export async function showPeople() {
  members = (await all("members")).filter((one) => !one.left_at);
  fill("members", members.map((one) => row(one.name, one.role, "")));
}

/** The same for a lead, who may change it. */
export async function offerPeople(given) {
  me = given;
  find("for-leads").hidden = false;
  fill("archive", fileLink("crew/archive", "Fetch it as one file (ZIP)", "crew.zip"));
  await showAll();
  const forms = { "take-in": takeIn, "new-key": newKey, found };
  for (const [id, act] of Object.entries(forms)) find(id).addEventListener("submit", (event) => { event.preventDefault(); run(() => act(find(id))); });
}

async function showAll() {
  await showPeople();
  fill("members", members.map(memberRow));
  choices(find("key-member"), members.map((one) => [one.id, one.name]), find("key-member").value);
  const keys = (await all("keys")).filter((one) => !one.revoked_at);
  fill("keys", keys.map(keyRow));
}

function memberRow(one) {
  if (one.id === me.member.id) return row(`${one.name} (you)`, one.role, "");
  const select = make("select", { "aria-label": `Role of ${one.name}` });
  choices(select, ROLES.map((role) => [role, role]), one.role);
  select.addEventListener("change", () => run(() => change(() => ask("PUT", `members/${one.id}`, { name: one.name, role: select.value }, { version: one.version }), `${one.name} is a ${select.value} now.`)));
  const leave = async () => {
    if (!await askSure(`Does ${one.name} leave the crew? Their keys stop working; what they recorded stays.`, { yes: "Remove from the crew" })) return;
    await change(() => ask("DELETE", `members/${one.id}`, undefined, { version: one.version }), `${one.name} has left the crew.`);
  };
  return row(one.name, select, make("button", { type: "button", click: () => run(leave) }, make("span", { class: "unseen" }, `${one.name} `), "Has left"));
}

function keyRow(one) {
  const whose = members.find((member) => member.id === one.member)?.name || "";
  const revoke = async () => {
    if (!await askSure(`Revoke the key “${one.name}” of ${whose} for good?`, { yes: "Revoke the key" })) return;
    await change(() => ask("POST", `keys/${one.id}/revoke`), "The key opens nothing any more.");
  };
  return row(one.name, whose, make("button", { type: "button", click: () => run(revoke) }, "Revoke", make("span", { class: "unseen" }, ` ${one.name} of ${whose}`)),
    one.role, `${one.hint}…`, one.last_used_at ? day(one.last_used_at) : "never", one.expires_at ? day(one.expires_at) : "no end date");
}

/** Do it, say so, and show how it stands; also if someone else was quicker. */
async function change(send, words) {
  try {
    await send();
    tell(words);
  } finally {
    await showAll();
  }
}

async function takeIn(form) {
  const [name, role] = [form.elements.namedItem("name").value.trim(), form.elements.namedItem("role").value];
  const member = newId();
  await saveForm(form, () => ask("PUT", `members/${member}`, { name, role }));
  const { secret } = await ask("PUT", `keys/${newId()}`, { member, name: "phone", role });
  form.reset();
  await showAll();
  showKey(secret, name);
}

async function newKey(form) {
  const value = (name) => form.elements.namedItem(name).value;
  const until = value("expires_at");
  const body = { member: value("member"), name: value("name").trim(), role: value("role"), expires_at: until ? new Date(`${until}T23:59:59`).toISOString() : null };
  const { secret } = await saveForm(form, () => ask("PUT", `keys/${newId()}`, body));
  form.reset();
  await showAll();
  showKey(secret, members.find((one) => one.id === body.member).name);
}

async function found(form) {
  const name = form.elements.namedItem("name").value.trim();
  const { key } = await saveForm(form, () => ask("PUT", `crews/${newId()}`, { name }));
  form.reset();
  showKey(key, `you in ${name}`);
}

const showKey = (secret, whose) => showSecret(secret, `The access key for ${whose}`, "It is shown this once. Type or paste it at sign-in now, or write it down.");
