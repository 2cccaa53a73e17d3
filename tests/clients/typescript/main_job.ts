// The main job by the generated types alone: chart, cabin, layout, plan, sheet, logs set, heights.
// Run by the tests with the service's root and a key; prints what came of it as JSON.

import createClient from "openapi-fetch";
import type { components, paths } from "./schema.js";

declare const process: { argv: string[] };
type Layout = components["schemas"]["LayoutIn"];
type Top = components["schemas"]["TopOut"];

const [, , root, key, chart, layout] = process.argv as [string, string, string, string, string, string];
const api = createClient<paths>({ baseUrl: root, headers: { Authorization: `Bearer ${key}` } });
const AT = "2024-05-04T18:00:00Z";

/** The data of an answer; what was refused is thrown in the API's own words. */
async function got<T>(asked: Promise<{ data?: T; error?: components["schemas"]["Problem"] }>): Promise<T> {
  const { data, error } = await asked;
  if (error !== undefined || data === undefined) throw new Error(`${error?.title} ${error?.detail}`);
  return data;
}

async function chartedYard(): Promise<string> {
  const id = crypto.randomUUID();
  await got(api.PUT("/api/v1/yards/{id}", { params: { path: { id } }, body: { name: "North yard" } }));
  await got(api.POST("/api/v1/yards/{id}/chart", {
    params: { path: { id }, query: { unit: "mm", new_racks: true } },
    body: chart, bodySerializer: (text) => text, headers: { "Content-Type": "text/csv" },
  }));
  return id;
}

async function laidOutCabin(): Promise<string> {
  const id = crypto.randomUUID();
  const at = { params: { path: { id } } };
  await got(api.PUT("/api/v1/cabins/{id}", { ...at, body: { name: "Pond hut" } }));
  await got(api.PUT("/api/v1/cabins/{id}/layout", { ...at, body: JSON.parse(layout) as Layout }));
  return id;
}

async function adoptedPlan(cabin: string, yard: string): Promise<string> {
  const id = crypto.randomUUID();
  await got(api.POST("/api/v1/planning-jobs", { body: { id, cabins: [cabin], yards: [yard], seconds: 1, seed: 3 } }));
  for (let asked = 0; asked < 900; asked += 1) {
    const job = await got(api.GET("/api/v1/planning-jobs/{id}", { params: { path: { id } } }));
    if (job.plan_id !== null) {
      await got(api.POST("/api/v1/plans/{id}/adopt", { params: { path: { id: job.plan_id } } }));
      return job.plan_id;
    }
    if (job.ended_at !== null) throw new Error(job.reason);
    await new Promise((later) => setTimeout(later, 200));
  }
  throw new Error("The plan did not come.");
}

async function setRound(cabin: string, round: number): Promise<number> {
  const sheet = await got(api.GET("/api/v1/cabins/{id}/setting-sheet", { params: { path: { id: cabin }, query: { round } } }));
  for (const { wall, piece, log, butt_at, cut_near_butt_mm } of sheet.rows) {
    await got(api.PUT("/api/v1/set-logs/{id}", {
      params: { path: { id: crypto.randomUUID() } },
      body: { cabin, wall, round, piece, log, butt_at, from_butt_mm: cut_near_butt_mm, set_at: AT, gap_mm: "1/2 in" },
    }));
  }
  return sheet.rows.length;
}

async function measure(cabin: string, top: Top): Promise<void> {
  await got(api.PUT("/api/v1/heights/{id}", {
    params: { path: { id: crypto.randomUUID() } },
    body: { cabin, wall: top.wall, round: top.round, end: top.column ? "end" : "start", height_mm: top.top_mm + 4, measured_at: AT },
  }));
}

const [yard, cabin] = [await chartedYard(), await laidOutCabin()];
const plan = await adoptedPlan(cabin, yard);
const { tops } = await got(api.GET("/api/v1/plans/{id}/heights", { params: { path: { id: plan }, query: { cabin } } }));
const set = await setRound(cabin, 1);
const first = tops.filter((top) => top.round === 1);
for (const top of first) await measure(cabin, top);
console.log(JSON.stringify({ cabin, plan, set, measured: first.length }));
