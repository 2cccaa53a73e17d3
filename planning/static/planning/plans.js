// Ask for a plan, watch it being made, and see the plans there are.

import { all, ask, get, NoNetwork, Problem } from "../crews/api.js";
import { checkbox, fill, find, make, row, showFaults, tell, ticked } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { run, start } from "../crews/shell.js";
import { when } from "../crews/times.js";
import { number, PLAN_STATES } from "./words.js";

const EVERY_MS = 1000;
const given = new URLSearchParams(location.search);
let cabins, jobs, watched;

run(async () => {
  const me = await start();
  let yards;
  [cabins, yards, jobs] = await Promise.all([all("cabins"), all("yards"), get("planning-jobs?limit=50&order=-created_at").then((page) => page.items)]);
  const laidOut = cabins.filter((one) => one.rounds !== null);
  fill("cabins", laidOut.map((one) => checkbox("cabins", one, one.id === given.get("cabin") || laidOut.length === 1)));
  fill("yards", yards.map((one) => checkbox("yards", one, true)));
  const [noCabin, noYard] = [!laidOut.length, !yards.length];
  find("needs-cabin").hidden = !noCabin;
  find("needs-yard").hidden = !noYard;
  find("not-yet").hidden = !(noCabin || noYard);
  find("ask").hidden = noCabin || noYard || !me.may("builder");
  find("ask").addEventListener("submit", (event) => { event.preventDefault(); run(askForPlan); });
  find("stop").addEventListener("click", () => run(() => ask("POST", `planning-jobs/${watched}/cancel`)));
  await showPlans();
  const going = jobs.find((one) => !one.ended_at);
  if (given.get("job") || going) await watch(given.get("job") || going.id);
});

async function askForPlan() {
  const body = { id: newId(), cabins: ticked("cabins"), yards: ticked("yards"), preset: find("preset").value, seconds: Number(find("seconds").value), starts: Number(find("starts").value) };
  if (!body.cabins.length || !body.yards.length) throw new Error("Choose at least one cabin and one yard.");
  try {
    await ask("POST", "planning-jobs", body);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const rest = showFaults(find("ask"), error.errors);
    throw new Error(rest.join(" ") || error.message, { cause: error });
  }
  await watch(body.id);
}

async function watch(id) {
  watched = id;
  find("watch").hidden = false;
  history.replaceState(null, "", `?job=${id}`);
  find("watch").scrollIntoView();
  for (;;) {
    const job = await jobNow(id);
    if (!job) continue;
    find("far").value = job.fraction;
    find("stop").disabled = Boolean(job.ended_at) || job.cancel_asked;
    find("far-words").textContent = job.state === "waiting" ? "Waiting for its turn." : `${Math.round(job.fraction * 100)} %${job.objective === null ? "" : `, best penalty so far ${number(job.objective)}`}`;
    if (job.ended_at) { await showEnd(job); return; }
    await new Promise((later) => { setTimeout(later, EVERY_MS); });
  }
}

/** The job as it is; null, after a while, if there is no signal or the service has too much to do: planning itself goes on. */
async function jobNow(id) {
  try {
    return await get(`planning-jobs/${id}`);
  } catch (error) {
    const passes = error instanceof NoNetwork || error.status === 429 || error.status >= 500;
    if (!passes) throw error;
    find("far-words").textContent = "No answer just now; the plan is still being made. This page goes on asking.";
    await new Promise((later) => { setTimeout(later, 2 * EVERY_MS); });
    return null;
  }
}

async function showEnd(job) {
  history.replaceState(null, "", location.pathname);
  if (!job.plan_id) { find("far-words").textContent = `No plan: ${job.reason || job.state}`; return; }
  fill("far-words", "The plan is made. ", make("a", { href: `/plans/${job.plan_id}`, class: "button main" }, "Open the plan"));
  tell("The plan is made.");
  jobs = (await get("planning-jobs?limit=50&order=-created_at")).items;
  await showPlans();
}

async function showPlans() {
  const { items } = await get("plans?limit=50&order=-created_at");
  const names = (plan) => (jobs.find((job) => job.id === plan.job)?.cabins || []).map((id) => cabins.find((one) => one.id === id)?.name).filter(Boolean).join(", ");
  fill("plans", items.map((plan) => row(make("a", { href: `/plans/${plan.id}` }, when(plan.created_at)), PLAN_STATES[plan.state], names(plan),
    [number(plan.objective), "number"], plan.feasible ? "yes" : ["no", "bad"], plan.complete ? "yes" : ["no", "bad"])));
  find("plans-table").hidden = !items.length;
  find("no-plans").hidden = items.length > 0;
  find("beside").hidden = items.length < 2;
}
