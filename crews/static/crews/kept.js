// What the work needs without a signal is fetched ahead: open cabins' walls, the yard's chart, each log's page.

import { all, get, getOrKept, NoNetwork, Problem } from "./api.js";

const EVERY_MS = 10 * 60_000;
const MARK = "kept at";
const NUMBERS = "kept numbers";

/** Fetch it in the background, after signing in and then every ten minutes while pages are used. */
export async function keepForNoSignal(crew) {
  const [of, at] = (localStorage.getItem(MARK) || "").split(" ");
  if (of === crew.id && Date.now() - Number(at) < EVERY_MS) return;
  localStorage.setItem(MARK, `${crew.id} ${Date.now()}`); // before: another page that opens meanwhile asks nothing
  try {
    const { cabins } = await getOrKept("progress");
    await Promise.all(["members*", "yards*", "racks*", "species*"].map(getOrKept));
    for (const one of cabins.filter((cabin) => cabin.places && cabin.logs_left)) await keepWall(`cabins/${one.cabin}`, one.cabin);
    await keepLogs();
  } catch (error) {
    localStorage.removeItem(MARK); // the next page tries again
    if (!(error instanceof NoNetwork || error instanceof Problem)) throw error;
  }
}

async function keepWall(cabin, id) {
  await Promise.all([cabin, `${cabin}/layout`, `${cabin}/progress`, `set-logs?cabin=${id}&undone=false&limit=4&order=-set_at`].map(getOrKept));
  let next;
  try {
    next = await getOrKept(`${cabin}/next-log`);
  } catch (error) {
    if (error instanceof Problem) return; // it has no plan yet
    throw error;
  }
  localStorage.setItem(`round of ${id}`, next.row?.round ?? "");
  if (next.row) await getOrKept(`${cabin}/setting-sheet?round=${next.row.round}`);
}

/** One list for all log pages, and the numbers that are taken. */
async function keepLogs() {
  const logs = await all("logs");
  localStorage.setItem(NUMBERS, JSON.stringify(logs.map((one) => [one.yard, one.number, one.id])));
  await inStore("readwrite", (store) => { store.clear(); for (const one of logs) store.put(one); });
}

const sameNumber = (number) => number.trim().toLowerCase();

/** Whether a yard has a log of this number, as far as this phone knows. */
export const isNumberTaken = (yard, number) => JSON.parse(localStorage.getItem(NUMBERS) || "[]")
  .some(([of, taken]) => of === yard && sameNumber(taken) === sameNumber(number));

/** Logs that this phone sent are known from then on. */
export function rememberNumbers(logs) {
  localStorage.setItem(NUMBERS, JSON.stringify([...JSON.parse(localStorage.getItem(NUMBERS) || "[]"), ...logs.map((one) => [one.yard, one.number, one.id])]));
}

/** The ids of the crew's logs of this number: as this phone knows them, else as the service does just now. */
export async function logsOfNumber(number) {
  const known = () => JSON.parse(localStorage.getItem(NUMBERS) || "[]").filter(([, one]) => sameNumber(one) === sameNumber(number)).map(([, , id]) => id);
  if (!known().length) await keepLogs();
  return [...new Set(known())];
}

/** A log as it is now; without a signal as this phone last had it. */
export async function logNowOrKept(id) {
  try {
    return { log: await get(`logs/${id}`), isKept: false };
  } catch (error) {
    const log = error instanceof NoNetwork ? await keptLog(id) : null;
    if (!log) throw error;
    return { log, isKept: true };
  }
}

/** A log as it was last fetched; undefined if this phone never had it. */
export const keptLog = (id) => inStore("readonly", (store) => store.get(id));

/** Forget what this browser keeps of the crew's data to show without a signal. What is not sent yet stays. */
export async function forgetKept() {
  for (const place of Object.keys(localStorage)) {
    if (/^(kept|round of|draft of) /.test(place) || ["place", "last", "draft"].includes(place)) localStorage.removeItem(place);
  }
  await inStore("readwrite", (store) => store.clear());
}

let opened;
function inStore(mode, work) {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open("roundlay-kept", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("logs", { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return opened.then((base) => new Promise((done, failed) => {
    const act = base.transaction("logs", mode);
    const request = work(act.objectStore("logs"));
    act.oncomplete = () => done(request?.result);
    act.onerror = act.onabort = () => failed(act.error);
  }));
}
