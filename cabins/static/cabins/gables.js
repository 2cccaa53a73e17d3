// The gables of a cabin: each log with its length, cuts and height, and where purlins and ridge bear.

import { get } from "../crews/api.js";
import { fill, find, make, row } from "../crews/dom.js";

const table = (label, heads, rows) => make("div", { class: "table", tabindex: "0", role: "group", "aria-label": label }, make("table", {},
  make("thead", {}, make("tr", {}, heads.map((words) => make("th", { scope: "col" }, words)))), make("tbody", {}, rows)));
const cut = (one) => [one.plumb_mm > 1 ? `plumb ${one.plumb_text}, then ` : "", `${one.run_text} in`].join("");

/** Show the gables of a cabin that has a roof line; otherwise nothing. */
export async function showGables(place) {
  const told = await get(`${place}/gables`);
  if (!told.roof) return;
  fill("gables", make("h2", {}, "Gables"),
    make("p", {}, `The roof line, ${told.of_what}: ${told.roof.foot_text} high over the corners, ${told.roof.ridge_text} where it meets.`),
    told.gables.map(gable), bearings(told.bearings), told.cautions.map((words) => make("p", { class: "caution" }, words)));
  find("gables").hidden = false;
}

function gable(one) {
  const rows = one.logs.map((log) => row(String(log.round), log.log_number ?? "", [log.length_text, "one-line"], cut(log.start), cut(log.end), [log.underside_text, "one-line"], [log.top_text, "one-line"]));
  return [make("h3", {}, `Over wall ${one.wall}, from ${one.on_text} up`), one.notes.map((words) => make("p", { class: "caution" }, words)),
    rows.length ? table(`Gable over wall ${one.wall}`, ["Round", "Log", "Long points", "Slope cut, start", "Slope cut, end", "Underside", "Top"], rows) : "",
    make("ul", {}, one.seats.map((seat) => make("li", {}, seatWords(seat))))];
}

const seatWords = (one) => `${one.member}: ${one.at_text} along the wall, underside at ${one.underside_text}, ${one.depth_mm >= 0 ? `seat ${one.depth_text} deep in` : "packed up over"} ${one.lies_in}`;

function bearings(all) {
  if (!all.length) return "";
  const rows = all.map((one) => row(one.member, one.log_number ?? "", [one.diameter_text, "one-line"], [one.underside_text, "one-line"], [one.top_text, "one-line"]));
  return [make("h3", {}, "Purlins and ridge"), table("Purlins and ridge", ["Member", "Log", "Middle", "Underside", "Top"], rows)];
}
