// Other programs that are told at once what happens in the crew: where to, of what, and how it went. For leads.

import { all, ask, get } from "./api.js";
import { askSure } from "./dialog.js";
import { checkbox, fill, find, make, row, saveForm, tell, ticked } from "./dom.js";
import { EVENT_WORDS } from "./event_words.js";
import { newId } from "./ids.js";
import { showSecret } from "./secret.js";
import { run } from "./shell.js";
import { when } from "./times.js";

const LAST = 10;
const STATES = { waiting: "to be sent", delivered: "taken", given_up: "given up" };
const SECRET_WORDS = "It is shown this once. Give it to the program that listens there: with it the program knows what comes from this crew.";

/** Show where events are sent, and ready the form for one more. */
export async function offerWebhooks() {
  fill("webhook-kinds", Object.entries(EVENT_WORDS).map(([kind, words]) => checkbox("webhook-kind", { id: kind, name: words })));
  find("new-webhook").addEventListener("submit", (event) => { event.preventDefault(); run(add); });
  await show();
}

async function show() {
  const items = (await all("webhooks")).filter((one) => !one.removed_at);
  fill("webhooks", items.length ? items.map(card) : make("li", { class: "nothing" }, "No other program is told."));
}

function card(one) {
  const named = make("span", { class: "unseen" }, ` ${one.url}`);
  const button = (words, act) => make("button", { type: "button", click: () => run(act) }, words, named.cloneNode(true));
  return make("li", { class: "card" }, make("h3", { class: "address" }, one.url), make("p", {}, `Told when: ${one.kinds.map((kind) => EVENT_WORDS[kind]).join(", ")}.`),
    one.old_secret_until && new Date(one.old_secret_until) > new Date() ? make("p", { class: "hint" }, `The secret before the last works until ${when(one.old_secret_until)}.`) : "",
    button("New secret", () => rotate(one)), button("Remove", () => remove(one)), deliveriesOf(one));
}

async function add() {
  const form = find("new-webhook");
  const kinds = ticked("webhook-kind");
  if (!kinds.length) throw new Error("Tick what the program is told of.");
  const url = find("webhook-url").value.trim();
  const { secret } = await saveForm(form, () => ask("PUT", `webhooks/${newId()}`, { url, kinds }));
  form.reset();
  await show();
  showSecret(secret, `The secret for ${url}`, SECRET_WORDS);
}

async function rotate(one) {
  if (!await askSure(`Make a new secret for ${one.url}? The one it has works for another day.`, { yes: "Make it" })) return;
  const { secret } = await ask("POST", `webhooks/${one.id}/rotate-secret`);
  await show();
  showSecret(secret, `The new secret for ${one.url}`, SECRET_WORDS);
}

async function remove(one) {
  if (!await askSure(`Send nothing to ${one.url} any more?`, { yes: "Remove it" })) return;
  await ask("DELETE", `webhooks/${one.id}`);
  tell("Nothing is sent there any more.");
  await show();
}

/** What was sent there last, fetched once it is opened. */
function deliveriesOf(one) {
  const told = make("div", {});
  const showLast = async () => {
    const { items } = await get(`webhook-deliveries?webhook=${one.id}&order=-created_at&limit=${LAST}`);
    const details = await Promise.all(items.map(({ id }) => get(`webhook-deliveries/${id}`)));
    fill(told, details.length ? table(one, details, showLast) : make("p", { class: "nothing" }, "Nothing was sent there yet."));
  };
  const part = make("details", { toggle: () => { if (part.open) run(showLast); } }, make("summary", {}, "What was sent last"), told);
  return part;
}

function table(one, deliveries, again) {
  const heads = ["When", "What", "How it went"].map((words) => make("th", { scope: "col" }, words));
  const lines = deliveries.map((delivery) => row(when(delivery.created_at), EVENT_WORDS[delivery.kind], howItWent(delivery), sendAgain(delivery, again)));
  return make("div", { class: "table", tabindex: "0", role: "group", "aria-label": `Sent to ${one.url}` }, make("table", {}, make("thead", {}, make("tr", {}, heads, make("td", {}))), make("tbody", {}, lines)));
}

function howItWent({ state, attempts, due_at: due }) {
  const last = attempts.at(-1);
  const wrong = state !== "delivered" && last ? `: ${last.error || `answered ${last.status}`}` : "";
  return `${STATES[state]}${wrong}${state === "waiting" && last && due ? `; tried again ${when(due)}` : ""}`;
}

const sendAgain = (delivery, again) => make("button", { type: "button", click: () => run(async () => {
  await ask("POST", `webhook-deliveries/${delivery.id}/redeliver`);
  tell("It is sent again.");
  await again();
}) }, "Send again", make("span", { class: "unseen" }, `: ${EVENT_WORDS[delivery.kind]}, ${when(delivery.created_at)}`));
