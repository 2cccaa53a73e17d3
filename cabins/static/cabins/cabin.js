// One cabin: its walls as they stand, its level and its rounds.

import { get } from "../crews/api.js";
import { choices, facts, fill, find, make, row } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { idHere, nothing, run, start } from "../crews/shell.js";

const cabin = `cabins/${idHere()}`;

run(async () => {
  const me = await start();
  const told = await get(cabin);
  document.title = `${told.name} – Roundlay`;
  find("name").textContent = told.name;
  find("remarks").textContent = told.remarks;
  const way = (to, words, kind = "") => make("a", { class: `button ${kind}`, href: `/${cabin}/${to}` }, words);
  if (told.rounds === null) {
    fill("ways", way("layout", "Lay it out", "main"));
    for (const place of ["elevation", "floor"]) fill(place, nothing("Drawn once the cabin is laid out."));
    find("wall").closest(".field").hidden = true;
    return;
  }
  fill("ways", way("wall", "At the wall", "main"), way("layout", "Layout"), make("a", { class: "button", href: `/plans?cabin=${told.id}` }, "Plans"));
  await Promise.all([showProgress(me), showWalls(), draw(find("floor"), `${cabin}/floor-plan`, { label: "Floor plan" })]);
});

async function showProgress(me) {
  const far = await get(`${cabin}/progress`);
  facts("facts", [
    ["Rounds complete", `${far.rounds_complete} of ${far.rounds}`],
    ["Logs set", `${far.logs_set} of ${far.places}`],
    ["Height now", far.logs_set ? me.length.long(far.height_mm) : null],
    ["Height wanted", me.length.long(far.wall_height_mm)],
    ["Rounds still needed", far.rounds_needed],
  ]);
  if (!far.logs_set) return;
  find("levels-part").hidden = false;
  const { rounds } = await get(`${cabin}/rounds`);
  fill("rounds", rounds.filter((one) => one.filled).map((one) => row(String(one.round), `${one.filled} of ${one.places}`,
    one.is_complete ? "yes" : "no", [worst(one, me), "number"])));
  await draw(find("levels"), `${cabin}/levels-drawing?as_built=true`, { label: "Level of each wall, round by round" });
}

function worst(round, me) {
  const most = round.walls.reduce((a, b) => (Math.abs(b.out_of_level_mm ?? 0) > Math.abs(a.out_of_level_mm ?? 0) ? b : a));
  return `${me.length.thick(Math.abs(most.out_of_level_mm ?? 0))} (wall ${most.wall})`;
}

async function showWalls() {
  const { layout } = await get(`${cabin}/layout`);
  const walls = [...layout.walls, ...layout.partitions];
  choices(find("wall"), walls.map((wall) => [wall.id, wall.id]));
  const show = () => draw(find("elevation"), `${cabin}/elevation?wall=${encodeURIComponent(find("wall").value)}&as_built=true`,
    { label: `Wall ${find("wall").value} as it stands` });
  find("wall").addEventListener("change", () => run(show));
  await show();
}
