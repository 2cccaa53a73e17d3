// One log's sheet: where it lies, which end goes where, where to cut, how deep to notch, what to beware of.

import { facts, make, row } from "../crews/dom.js";

/** The sheet as elements. `steering` is null where the heights as measured are not at hand. */
export function sheet(log, steering, { from, to, length }) {
  const { long, thick, weight } = length;
  const buttAt = log.butt_at === "start" ? from : to;
  const told = make("dl", { class: "facts" });
  facts(told, [
    ["Lies at", [log.yard_name, log.rack_name].filter(Boolean).join(", ")], ["Butt at", buttAt],
    ["Cut from the butt end", log.cut_near_tip_mm === null ? log.cut_near_butt_mm : `${long(log.cut_near_butt_mm)} to ${long(log.cut_near_tip_mm)}`], ["Length in the wall", long(log.length_mm)],
    ["Crown", log.crown_text],
    ["Weight, plan on", log.lift.weight_high_kg === null ? log.lift.why_no_weight : `${weight(log.lift.weight_high_kg)} (${weight(log.lift.weight_low_kg)} at least)`],
    ["Hangs as", log.lift.hangs_text],
    ["Balances from the butt end at", log.lift.balance_from_butt_mm === null ? null : long(log.lift.balance_from_butt_mm)],
  ]);
  return make("div", { class: "log-sheet" },
    make("p", { class: "which" }, make("strong", {}, `Log ${log.log_number}`), ` wall ${log.wall}, round ${log.round}${log.position ? `, ${log.position}` : ""}`),
    log.hazards.map((one) => make("p", { class: `caution ${one.kind === "metal" ? "danger" : ""}` }, make("strong", {}, `Beware: ${one.kind}`), ` ${long(one.from_butt_mm)} from the butt.`)),
    ofThisLog(log), cornersTable(log, steering, length), told, log.rip ? make("p", { class: "notice" }, make("strong", {}, "Half log: "), `rip along the middle; leave ${thick(log.rip.leave_near_butt_mm)} at the butt cut, ${thick(log.rip.leave_near_tip_mm)} at the tip cut. Flat side down.`) : "", openings(log),
    howItLies(log.lying),
    steering ? make("div", { class: "plain" }, make("h3", {}, "What to do"), make("ul", {}, steering.advice.map((words) => make("li", {}, words))))
      : make("p", { class: "notice" }, "Heights as on the sheet when it was fetched; measure before you cut."),
    cautions(log, steering));
}

/** What it is cut into for openings, and how it ends at their jambs. */
function openings(log) {
  const words = [...log.opening_cuts.map((cut) => cut.words), ...log.at_jambs];
  return words.length ? make("div", { class: "plain" }, make("h3", {}, "Openings"), make("ul", {}, words.map((one) => make("li", {}, one)))) : "";
}

function cornersTable(log, steering, { long, thick, error }) {
  const heads = ["Corner", "Diameter", "Notch", "Notch, % of diameter", "Top comes to"];
  const rows = steering?.ends.length
    ? steering.ends.map((end) => row(end.crossing, [thick(end.diameter_mm), "number"], [end.notch_mm === null ? "none" : thick(end.notch_mm), "number"],
      [share(end.notch_share, end.is_within_limit), "number"], [`${long(end.top_mm)} ±${error(end.error_mm)}`, "number"]))
    : log.corners.map((one) => row(one.crossing, [thick(one.diameter_mm), "number"], [one.notch_mm === null ? "none" : thick(one.notch_mm), "number"],
      [share(one.notch_share, one.notch_state !== "beyond"), "number"], [`${long(one.top_mm)} ±${error(one.top_error_mm)}`, "number"]));
  return make("div", { class: "table", tabindex: "0", role: "group", "aria-label": "Corners of this log" }, make("table", {},
    make("thead", {}, make("tr", {}, heads.map((words, at) => make("th", { scope: "col", class: at ? "number" : "" }, words)))), make("tbody", {}, rows)));
}

/** How the log is laid and scribed; a sheet kept from before may not say. */
function howItLies({ lines = [] }) {
  return lines.length ? make("div", { class: "plain" }, make("h3", {}, "How it lies"), make("ul", {}, lines.map((words) => make("li", {}, words)))) : "";
}

const share = (part, sound) => (part === null ? "–" : make("span", { class: sound ? "" : "bad" }, `${Math.round(part * 100)} %${sound ? "" : ", too deep"}`));

/** What holds for this log alone stands first and apart. */
function ofThisLog(log) {
  return log.cautions.length ? make("div", { class: "caution danger" }, make("ul", {}, [...new Set(log.cautions)].map((one) => make("li", {}, one)))) : "";
}

const READ_ON = "cautions read on";

/** What holds for every log: open for the first reading of a day, then folded. */
function cautions(log, steering) {
  const words = [...new Set([...(steering?.cautions || []), ...log.lift.cautions])].filter((one) => !log.cautions.includes(one));
  const today = new Date().toLocaleDateString("sv");
  const isFirst = localStorage.getItem(READ_ON) !== today;
  const keepFolded = (event) => { if (!event.target.open) localStorage.setItem(READ_ON, today); };
  return make("details", { class: "caution", open: isFirst, toggle: keepFolded }, make("summary", {}, "Before you lift and cut"), make("ul", {}, words.map((one) => make("li", {}, one))));
}
