// A chart from a file: looked through whole before anything is stored, its faults by row, its doubts asked once.

import { ask } from "../crews/api.js";
import { choices, fill, find, make, row, tell } from "../crews/dom.js";
import { fileLink } from "../crews/file.js";
import { run } from "../crews/shell.js";

const MOST_SHOWN = 200;
let takenIn;

/** Ready the form; `done` shows the yard anew once a chart was taken in. */
export function offerChartFile(me, species, done) {
  takenIn = done;
  const form = find("chart-file");
  find("file-unit").value = me.crew.length_unit;
  choices(find("file-species"), [["", "none"], ...species.map((one) => [one.id, one.name])]);
  form.addEventListener("submit", (event) => { event.preventDefault(); run(lookThrough); });
  // What was found belongs to the file and the choices it was looked through with.
  form.addEventListener("change", () => fill("chart-file-told"));
  const giveOut = () => fill("chart-file-out", fileLink(`yards/${find("yard").value}/chart`, "This yard's chart as a file (CSV)", "chart.csv"));
  find("yard").addEventListener("change", () => { fill("chart-file-told"); giveOut(); });
  if (find("yard").value) giveOut();
}

async function lookThrough() {
  const [chosen] = find("file").files;
  const file = new Blob([await chosen.arrayBuffer()]); // what is stored is what was looked through
  const asked = new URLSearchParams({ unit: find("file-unit").value, new_racks: find("file-new-racks").checked });
  for (const name of ["rack", "species"]) if (find(`file-${name}`).value) asked.set(name, find(`file-${name}`).value);
  const chart = { file, asked, path: `yards/${find("yard").value}/chart` };
  const found = await send(chart, { check_only: true });
  if (found) showFound(chart, found);
}

/** What the service says; null if it has faults or new doubts, which are shown. */
async function send({ file, asked, path }, more) {
  fill("chart-file-told");
  try {
    return await ask("POST", `${path}?${new URLSearchParams({ ...Object.fromEntries(asked), ...more })}`, file, { type: "text/csv" });
  } catch (error) {
    if (!error.errors?.length) throw error;
    if (error.kind === "doubts-unconfirmed") showFound({ file, asked, path }, { doubts: error.errors });
    else fill("chart-file-told", make("p", { class: "fault" }, `${error.message} Put the file right and choose it again.`), table("What is wrong", error.errors));
    return null;
  }
}

function showFound(chart, { added, changed, unchanged, new_racks: newRacks = [], doubts }) {
  const logs = (count) => `${count} ${count === 1 ? "log" : "logs"}`;
  const nothing = added === 0 && changed === 0;
  const counts = added === undefined ? "" : nothing ? "All of it is here already; there is nothing to take in."
    : `${logs(added)} new, ${changed} changed, ${unchanged} as they were.${newRacks.length ? ` New racks: ${newRacks.join(", ")}.` : ""} Nothing is stored yet.`;
  const store = () => run(async () => {
    const stored = await send(chart, { confirm_doubtful: doubts.length > 0 });
    if (!stored) return;
    find("chart-file").reset();
    find("file-unit").value = chart.asked.get("unit");
    tell(`${logs(stored.added)} taken in, ${stored.changed} changed.`);
    await takenIn();
  });
  fill("chart-file-told", make("p", {}, counts),
    doubts.length ? [make("p", { class: "notice" }, make("strong", {}, "Look again: "), "this can be so, but it is out of the ordinary."), table("What is doubtful", doubts)] : "",
    nothing ? "" : make("button", { type: "button", class: "main", click: store }, doubts.length ? "It is right, take it in" : "Take it in"));
}

function table(words, ones) {
  const heads = ["Row", "Column", "It reads", "What to look at"].map((one) => make("th", { scope: "col" }, one));
  const lines = ones.slice(0, MOST_SHOWN).map((one) => row(one.row ? String(one.row) : "all", one.column, one.read, one.detail));
  const more = ones.length - lines.length;
  return [make("div", { class: "table", tabindex: "0", role: "group", "aria-label": words }, make("table", {}, make("thead", {}, make("tr", {}, heads)), make("tbody", {}, lines))),
    more > 0 ? make("p", {}, `And ${more} more.`) : ""];
}
