// The public API, asked as any other front end asks it. The key lies in a cookie that no script can read.

/** A refusal: the API's problem document as an error. */
export class Problem extends Error {
  constructor(status, told) {
    super(told.detail || told.title || `The service answered ${status}.`);
    this.status = status;
    this.kind = (told.type || "").split("/").pop();
    this.errors = told.errors || [];
    this.told = told;
  }
}

/** The service cannot be reached: no signal, or it is not running. */
export class NoNetwork extends Error {
  constructor(method) {
    super(method === "GET" ? "No network. This needs a signal." : "No network. Nothing was sent.");
  }
}

let hasSignal = navigator.onLine;
const signal = new EventTarget();

/** Whether the service answered last time; the browser's own word counts as soon as it says that there is no network. */
export const isReachable = () => hasSignal && navigator.onLine;

/** Call back whenever the signal came or went. */
export const onSignal = (tell) => signal.addEventListener("change", tell);

function tellSignal(has) {
  const changed = hasSignal !== has;
  hasSignal = has;
  if (changed) signal.dispatchEvent(new Event("change"));
}

addEventListener("offline", () => tellSignal(false));
addEventListener("online", () => tellSignal(true));

/** One request; a file goes as its own `type`. Resolves to the answer's JSON; rejects with Problem or NoNetwork. */
export async function ask(method, path, body, { version, as = "json", type = "application/json" } = {}) {
  const headers = { "X-Roundlay-Page": "1" };
  if (body !== undefined) headers["Content-Type"] = type;
  if (version !== undefined) headers["If-Match"] = `"${version}"`;
  let answer;
  try {
    answer = await fetch(`/api/v1/${path}`, {
      method, headers, body: body === undefined || body instanceof Blob ? body : JSON.stringify(body), credentials: "same-origin",
    });
  } catch {
    tellSignal(false);
    throw new NoNetwork(method);
  }
  tellSignal(true);
  if (answer.ok) return answer.status === 204 ? null : answer[as]();
  const told = await answer.json().catch(() => ({}));
  if (answer.status === 401) signInFirst();
  throw new Problem(answer.status, told);
}

/** The page that was wanted is shown after signing in. */
function signInFirst() {
  sessionStorage.setItem("wanted", location.pathname + location.search);
  location.assign("/sign-in?refused");
}

export const get = (path) => ask("GET", path);

/** Every item of a list, page by page. */
export async function all(path) {
  const items = [];
  let next = null;
  do {
    const mark = path.includes("?") ? "&" : "?";
    const page = await get(`${path}${mark}limit=200${next ? `&after=${encodeURIComponent(next)}` : ""}`);
    items.push(...page.items);
    next = page.next;
  } while (next);
  return items;
}

/** The last answer to a question is kept in the browser, so that a page is of use without a signal. */
export async function getOrKept(path) {
  const place = `kept ${path}`;
  try {
    const answer = path.endsWith("*") ? await all(path.slice(0, -1)) : await get(path);
    localStorage.setItem(place, JSON.stringify(answer));
    return answer;
  } catch (lost) {
    const kept = localStorage.getItem(place);
    if (lost instanceof NoNetwork && kept) return JSON.parse(kept);
    throw lost;
  }
}
