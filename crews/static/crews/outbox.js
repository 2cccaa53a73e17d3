// What was recorded and is not yet with the service: kept in this browser until the batch endpoint took it.

import { ask, NoNetwork, Problem } from "./api.js";
import { newId } from "./ids.js";

const MOST_AT_ONCE = 100;
const changed = new EventTarget();

let opened;
function store(mode, work) {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open("roundlay", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return opened.then((base) => new Promise((done, failed) => {
    const act = base.transaction("entries", mode);
    const request = work(act.objectStore("entries"));
    act.oncomplete = () => done(request.result);
    act.onerror = act.onabort = () => failed(act.error);
  }));
}

/** Every entry that was not accepted yet, oldest first. `state`: waiting, or refused with its `problem`. */
export async function unsent() {
  const entries = await store("readonly", (entries) => entries.getAll());
  return entries.sort((a, b) => a.made_at.localeCompare(b.made_at));
}

/** Keep an entry; it is on the disk when this resolves, with its id. */
export async function keep(entry) {
  const kept = { id: newId(), made_at: new Date().toISOString(), state: "waiting", problem: null, ...entry };
  await store("readwrite", (entries) => entries.put(kept));
  changed.dispatchEvent(new Event("change"));
  return kept.id;
}

export async function drop(id) {
  await store("readwrite", (entries) => entries.delete(id));
  changed.dispatchEvent(new Event("change"));
}

/** Call back whenever an entry came, went, or was refused. */
export const onChange = (tell) => changed.addEventListener("change", tell);

/** Send what waits, of this crew. Returns `{ accepted, refused, later }`: entries with their answers, and those that wait on. */
export async function send(crew) {
  const done = { accepted: [], refused: [], later: [] };
  await alone(async () => {
    while (!done.later.length) {
      const waiting = (await unsent()).filter((one) => one.state === "waiting" && one.crew === crew.id);
      if (!waiting.length) return;
      await sendSome(waiting.slice(0, MOST_AT_ONCE), done);
    }
  });
  return done;
}

// The entry itself may be right: the service was busy with it, had too much to do, or failed.
const asksAgain = ({ status, body }) => status === 429 || status >= 500 || (status === 409 && (body?.type || "").endsWith("/idempotency-key-busy"));

// Without HTTPS a browser has no locks: then two open pages may send the same at once, and the batch's ids
// keep it from being done twice.
const alone = (work) => (navigator.locks ? navigator.locks.request("roundlay-outbox", work) : work());

async function sendSome(some, done) {
  const entries = some.map(({ id, made_at, method, path, body, if_match }) => ({
    id, made_at, method, path, body, ...(if_match === undefined ? {} : { if_match }),
  }));
  const answer = await ask("POST", "batch", { entries });
  for (const [at, told] of answer.entries.entries()) {
    const entry = some[at];
    if (told.status < 400) {
      await store("readwrite", (kept) => kept.delete(entry.id));
      done.accepted.push({ ...entry, answer: told.body });
    } else if (asksAgain(told) || (done.later.length && !isDoubt({ problem: told.body }))) {
      // Also what came after one that waits: it may lean on it, as a height leans on its log.
      done.later.push(entry);
    } else {
      const problem = { status: told.status, ...told.body };
      await store("readwrite", (kept) => kept.put({ ...entry, state: "refused", problem }));
      done.refused.push({ ...entry, problem });
    }
  }
  changed.dispatchEvent(new Event("change"));
}

/** Whether the service only wants to hear that someone looked again. */
export const isDoubt = (entry) => (entry.problem?.type || "").endsWith("/doubts-unconfirmed");

/** Send it again as it is, confirmed: someone looked again. */
export const confirm = (entry) => replace(entry, { ...entry.body, confirm_doubtful: true });

/** Send it again with another body. It is a new entry: the service remembers the first by its id. */
export async function replace(entry, body, changed = {}) {
  await store("readwrite", (kept) => kept.delete(entry.id));
  return keep({ ...entry, ...changed, id: newId(), state: "waiting", problem: null, body });
}

/** Why sending did not work, in words; null if it is only the network. */
export function whyNot(error) {
  if (error instanceof NoNetwork) return null;
  return error instanceof Problem ? error.message : String(error);
}
