// What every page does first: who asks, how their crew writes lengths, what is unsent, the worker for no signal.

import { get, getOrKept, isReachable, NoNetwork, onSignal, Problem } from "./api.js";
import { fill, find, make, tell } from "./dom.js";
import { findLog } from "./find_log.js";
import { keepForNoSignal } from "./kept.js";
import { writer } from "./lengths.js";
import { onChange, send, unsent, whyNot } from "./outbox.js";

const EVERY_MS = 30_000;

/** Start a page: `{ crew, member, role, length, may }`; sends what waits, now and whenever there is a signal. */
export async function start() {
  navigator.serviceWorker?.register("/worker.js");
  markPlace();
  onChange(showUnsent);
  onSignal(showUnsent);
  await showUnsent();
  const me = await getOrKept("me");
  find("crew").textContent = me.crew.name;
  const again = () => sendWaiting(me.crew);
  find("find-log")?.addEventListener("submit", (event) => { event.preventDefault(); run(findLog); });
  addEventListener("online", again);
  setInterval(again, EVERY_MS);
  again();
  keepForNoSignal(me.crew);
  const may = (role) => ["learner", "builder", "lead"].indexOf(me.role) >= ["learner", "builder", "lead"].indexOf(role);
  return { ...me, length: writer(me.crew), may };
}

/** Send what waits; tells other scripts of the page by the event `sent`. Silent without a network. */
export async function sendWaiting(crew) {
  try {
    const done = await send(crew);
    if (done.accepted.length || done.refused.length) {
      document.dispatchEvent(new CustomEvent("sent", { detail: done }));
    }
    return done;
  } catch (error) {
    if (whyNot(error)) tell(`Not sent: ${whyNot(error)}`, "wrong");
    return { accepted: [], refused: [] };
  }
}

async function showUnsent() {
  const count = (await unsent()).length;
  const place = find("unsent");
  const away = !isReachable();
  place.hidden = count === 0 && !away;
  place.firstElementChild.textContent = away ? `No signal${count ? `, ${count} waiting` : ""}` : `${count} not sent`;
}

function markPlace() {
  const own = location.pathname;
  for (const link of document.querySelectorAll("nav a")) {
    const to = link.getAttribute("href");
    const here = to === "/" ? own === "/" || own.startsWith("/cabins") : own.startsWith(to);
    if (here || (to === "/yard" && own.startsWith("/logs"))) link.setAttribute("aria-current", "page");
  }
}

/** Run what a page does; what goes wrong is told in words, never swallowed. */
export function run(work) {
  return Promise.resolve().then(work).catch((error) => {
    const why = error instanceof Problem ? error.errors.map((one) => one.detail).join(" ") : "";
    tell(why || error.message, "wrong");
    // What a person can put right is a plain error; everything else is a mistake of ours.
    const expected = error instanceof Problem || error instanceof NoNetwork || error.constructor === Error;
    if (!expected) console.error(error);
  });
}

/** What to show where there is nothing yet. */
export const nothing = (words) => make("p", { class: "nothing" }, words);

/** The id in the page's address. */
export const idHere = () => location.pathname.split("/")[2];

/** What the page's address names, `here("cabins")`; if the crew has no such thing, the page says so instead. */
export async function here(kind, ask = get) {
  try {
    return await ask(`${kind}/${idHere()}`);
  } catch (error) {
    if (error.status === 404) {
      fill("main", make("h1", {}, "It is not here"),
        make("p", {}, "The address may be mistyped, or what it showed belongs to another crew. ", make("a", { href: "/" }, "Go to your cabins"), "."));
    }
    throw error;
  }
}
