// One cabin: its walls as they stand, its level and its rounds, and the ways to work on it.

import { ask, get, Problem } from "../crews/api.js";
import { bothVersions } from "../crews/both.js";
import { choices, facts, fill, find, make, row, saveForm, tell } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { fileLink, onPaper } from "../crews/file.js";
import { historyOf } from "../crews/history.js";
import { here, nothing, run, start } from "../crews/shell.js";
import { showGables } from "./gables.js";
import { offerMembers } from "./members.js";
import { roundChoices } from "./rounds.js";

let me, cabin, place;
const CHANGES = { name: "name", remarks: "remarks", layout: "layout", rounds: "rounds" };

run(async () => {
  me = await start();
  cabin = await here("cabins");
  place = `cabins/${cabin.id}`;
  showName();
  await showWays();
  find("change").hidden = !me.may("builder");
  find("change-form").addEventListener("submit", (event) => { event.preventDefault(); run(change); });
  fill("history", historyOf("cabin", cabin.id, { words: CHANGES, value: (column, stored) => (column === "layout" ? undefined : String(stored ?? "")), made: "taken up" }));
  find("laid-out").hidden = cabin.rounds === null;
  if (cabin.rounds === null) return;
  await Promise.all([showProgress(), showWhole(), showWalls(), showGables(place), offerMembers(me, cabin), showSheets(), draw(find("floor"), `${place}/floor-plan`, { label: "Floor plan" })]);
});

function showName() {
  document.title = `${cabin.name} – Roundlay`;
  find("name").textContent = find("cabin-name").value = cabin.name;
  find("remarks").textContent = find("cabin-remarks").value = cabin.remarks;
}

async function showWays() {
  const way = (to, words, kind = "") => make("a", { class: `button ${kind}`, href: to }, words);
  if (cabin.rounds === null) {
    fill("ways", me.may("builder") ? way(`/${place}/layout`, "Lay it out", "main") : nothing("It is not laid out yet; a builder or lead does that."));
    return;
  }
  const [main, plain] = (await isPlanned()) ? ["main", ""] : ["", "main"];
  fill("ways", way(`/${place}/wall`, "At the wall", main), way(`/${place}/layout`, "Layout"), way(`/${place}/openings`, "Openings"), way(`/${place}/cut-list`, "Cut list"), way(`/plans?cabin=${cabin.id}`, main ? "Plans" : "Plan it", plain),
    me.may("builder") ? way(`/orders?cabin=${cabin.id}`, "Order logs") : "");
}

async function change() {
  const mine = { name: find("cabin-name").value.trim(), remarks: find("cabin-remarks").value };
  try {
    cabin = await saveForm(find("change-form"), () => ask("PUT", place, mine, { version: cabin.version }));
  } catch (error) {
    if (error.status !== 412) throw error;
    await showBoth(mine);
    return;
  }
  showName();
  tell("Kept.");
}

async function showBoth(mine) {
  const stored = await get(place);
  const close = () => { cabin = stored; fill("changed-meanwhile"); };
  fill("changed-meanwhile", bothVersions([["Name", mine.name, stored.name], ["Remarks", mine.remarks, stored.remarks]],
    { keepMine: () => { close(); return run(change); }, takeTheirs: () => { close(); showName(); } }));
  find("both").focus();
}

async function showProgress() {
  const far = await get(`${place}/progress`);
  facts("facts", [
    ["Rounds complete", `${far.rounds_complete} of ${far.rounds}`],
    ["Logs set", `${far.logs_set} of ${far.places}`],
    ["Height now", far.logs_set ? me.length.long(far.height_mm) : null],
    ["Height wanted", me.length.long(far.wall_height_mm)],
    ["Rounds still needed", far.rounds_needed],
  ]);
  if (!far.logs_set) return;
  find("levels-part").hidden = false;
  const { rounds } = await get(`${place}/rounds`);
  fill("rounds", rounds.filter((one) => one.filled).map((one) => row(String(one.round), `${one.filled} of ${one.places}`,
    one.is_complete ? "yes" : "no", [worst(one), "number"])));
  await draw(find("levels"), `${place}/levels-drawing?as_built=true`, { label: "Level of each wall, round by round" });
}

function worst(round) {
  const most = round.walls.reduce((a, b) => (Math.abs(b.out_of_level_mm ?? 0) > Math.abs(a.out_of_level_mm ?? 0) ? b : a));
  return `${me.length.thick(Math.abs(most.out_of_level_mm ?? 0))} (wall ${most.wall})`;
}

async function showWalls() {
  const { layout } = await get(`${place}/layout`);
  const walls = [...layout.walls, ...layout.partitions];
  choices(find("wall"), walls.map((wall) => [wall.id, wall.id]));
  const show = () => draw(find("elevation"), `${place}/elevation?wall=${encodeURIComponent(find("wall").value)}&as_built=true`,
    { label: `Wall ${find("wall").value} as it stands` });
  find("wall").addEventListener("change", () => run(show));
  await show();
}

const SIDES = [1, 2, 3, 4];

/** The cabin from one of its four sides, and as a file for a 3D viewer once there is a log in it. */
async function showWhole() {
  let chosen = SIDES[0];
  const show = async () => {
    fill("sides", SIDES.map((side) => make("button", { type: "button", "aria-pressed": String(side === chosen), click: () => run(async () => { chosen = side; await show(); find("sides").children[side - 1].focus({ preventScroll: true }); }) }, `Side ${side}`)));
    await draw(find("whole"), `${place}/whole-drawing?side=${chosen}`, { label: `${cabin.name} from side ${chosen}` });
  };
  await show();
  fill("model", make("a", { class: "button", href: `/api/v1/${place}/model`, download: `${cabin.name}.glb` }, "3D file for any viewer (GLB)"));
}

async function isPlanned() {
  try {
    await get(`${place}/next-log`);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return error.kind !== "no-plan-yet";
  }
  return true;
}

/** What can be printed: the record always, the rest once a plan is adopted. */
async function showSheets() {
  const planned = await isPlanned();
  find("no-sheets").hidden = planned;
  find("no-sheets-way").href = `/plans?cabin=${cabin.id}`;
  find("round-field").hidden = !planned;
  choices(find("round"), roundChoices(await get(`${place}/layout`)));
  const link = (name, words, more = "") => fileLink(`${place}/sheets/${name}?${onPaper(me.crew)}${more}`, words, `${name}.pdf`);
  const show = () => {
    const round = find("round").value;
    fill("sheets", planned ? [link("setting", `Setting sheet of round ${round}`, `&round=${round}`), link("cut-list", "Cut list"), link("storey-pole", "Marks for the storey pole")] : "",
      link("record", "Record of the cabin"));
  };
  find("round").addEventListener("change", show);
  show();
}
