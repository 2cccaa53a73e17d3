// The cut list of a cabin: where the saw goes, log by log, and a box to tap for what is done.

import { ask, get, getOrKept } from "../crews/api.js";
import { askWhy } from "../crews/dialog.js";
import { choices, fill, find, make, tell } from "../crews/dom.js";
import { fileLink, onPaper } from "../crews/file.js";
import { newId } from "../crews/ids.js";
import { keep, onChange, unsent } from "../crews/outbox.js";
import { here, idHere, nothing, run, sendWaiting, start } from "../crews/shell.js";
import { showAskedBack } from "./asked_back.js";
import { roundChoices } from "./rounds.js";

const id = idHere();
const cabin = `cabins/${id}`;
const MARKS = { sawn: "Sawn", peeled: "Peeled", notched: "Notched", at_wall: "At the wall" };
let me, told;

run(async () => {
  me = await start();
  const one = await here("cabins", getOrKept);
  find("name").textContent = `Cut list of ${one.name}`;
  document.title = `${find("name").textContent} – Roundlay`;
  if (one.rounds === null) { fill("logs", nothing("It is not laid out yet, so there is nothing to saw.")); return; }
  choices(find("round"), [["", "all rounds"], ...roundChoices(await getOrKept(`${cabin}/layout`)).map(([value, words]) => [value, `up to ${words}`])]);
  find("round").addEventListener("change", () => run(show));
  document.addEventListener("sent", () => run(fetchAndShow));
  onChange(() => run(() => Promise.all([showAskedBack(me.crew), show()])));
  await showAskedBack(me.crew);
  await fetchAndShow();
});

async function fetchAndShow() {
  try {
    told = await getOrKept(`${cabin}/cut-list`);
  } catch (error) {
    if (error.kind !== "no-plan-yet") throw error;
    fill("logs", make("p", { class: "nothing" }, "No plan has been adopted for this cabin. ", make("a", { href: `/plans?cabin=${id}` }, "Plan it"), "."));
    return;
  }
  for (const part of ["how-to", "round-field"]) find(part).hidden = false;
  fill("print", fileLink(`${cabin}/sheets/cut-list?${onPaper(me.crew)}`, "Print it", "cut-list.pdf"));
  fill("lost", told.lost.map((one) => make("p", { class: "caution danger" }, one.detail)));
  fill("cautions", told.cautions.map((words) => make("p", { class: "caution" }, words)));
  await show();
}

async function show() {
  if (!told) return;
  const waiting = (await unsent()).filter((one) => one.kind === "prepared" && one.state === "waiting").map((one) => spotOf(one.body));
  const upTo = find("round").value;
  const due = (piece) => upTo === "" || (piece.round !== null && piece.round <= Number(upTo));
  const logs = told.logs.map((log) => ({ ...log, pieces: log.pieces.filter(due) })).filter((log) => log.pieces.length);
  fill("logs", logs.map((log) => logPart(log, waiting)), logs.length ? "" : nothing("Nothing is left to saw for these rounds."));
  find("unused-part").hidden = !told.unused.length;
  fill("unused", told.unused.map((one) => make("li", {}, make("span", {}, make("a", { href: `/logs/${one.log}` }, `Log ${one.log_number}`), `: ${one.near_butt_text} to ${one.near_tip_text}, ${one.length_text} long, sawn for ${one.made_for}`),
    make("button", { type: "button", click: () => run(() => takeBack(one, `log ${one.log_number}`)) }, "Take back", make("span", { class: "unseen" }, ` log ${one.log_number}`)))));
}

const spotOf = (one) => `${one.log} ${one.near_butt_mm}`;

function logPart(log, waiting) {
  const where = [log.yard_name, log.rack_name].filter(Boolean).join(", ");
  const metal = log.hazards.some((one) => one.kind === "metal");
  const out = make("input", { type: "checkbox" });
  return make("section", { class: "to-cut" },
    make("h2", {}, make("a", { href: `/logs/${log.log}` }, `Log ${log.log_number}`)),
    make("p", { class: "hint" }, `${where}; ${log.length_text} long, crown ${log.crown_text}.`),
    log.hazards.length ? make("p", { class: `caution ${metal ? "danger" : ""}` }, make("strong", {}, "Beware: "), log.hazards.map((one) => `${one.kind} ${me.length.long(one.from_butt_mm)} from the butt`).join("; ")) : "",
    log.cautions.map((words) => make("p", { class: "caution danger" }, words)),
    metal ? make("label", { class: "check" }, out, "The metal near a cut was taken out") : "",
    log.pieces.map((piece) => piecePart(log, piece, waiting.includes(spotOf({ ...piece, log: log.log })), out)));
}

function piecePart(log, piece, isWaiting, metalOut) {
  const marks = isWaiting ? [...piece.marks, "sawn"] : piece.marks;
  const words = `log ${log.log_number}, ${piece.goes_to}`;
  const buttons = Object.entries(MARKS).map(([mark, name]) => make("button", {
    type: "button", "aria-pressed": String(marks.includes(mark)), disabled: isWaiting || piece.is_across,
    click: () => run(() => tap(log, piece, mark, metalOut.checked)),
  }, marks.includes(mark) ? `✓ ${name}` : name, make("span", { class: "unseen" }, ` ${words}`)));
  return make("div", { class: "cut" },
    make("p", { class: "saw" }, make("strong", {}, piece.near_butt_text), " and ", make("strong", {}, piece.near_tip_text), " from the butt end"),
    make("p", {}, `${piece.length_text}: ${piece.goes_to}`),
    piece.opening_cuts.map((line) => make("p", {}, make("strong", {}, line))),
    make("p", {}, buttons));
}

async function tap(log, piece, mark, metalOut) {
  if (!piece.prepared_piece) { await record(log, piece, mark, metalOut); return; }
  if (mark === "sawn" && piece.marks.includes("sawn")) { await takeBack(piece, `log ${log.log_number}`); return; }
  const marks = piece.marks.includes(mark) ? piece.marks.filter((one) => one !== mark) : [...piece.marks, mark];
  if (!marks.length) { await takeBack(piece, `log ${log.log_number}`); return; }
  const held = await get(`prepared-pieces/${piece.prepared_piece}`);
  const names = ["log", "near_butt_mm", "near_tip_mm", "cabin", "wall", "round", "piece", "member", "metal_removed", "prepared_at", "prepared_by", "remarks"];
  const body = { ...Object.fromEntries(names.map((name) => [name, held[name]])), marks };
  await ask("PUT", `prepared-pieces/${piece.prepared_piece}`, body, { version: piece.version });
  tell(`Log ${log.log_number}: ${marks.map((one) => MARKS[one].toLowerCase()).join(", ")}.`);
  await fetchAndShow();
}

/** What is not recorded yet is kept on this phone first: a saw runs where there is no signal. */
async function record(log, piece, mark, metalOut) {
  const where = piece.member ? { member: piece.member } : { wall: piece.wall, round: piece.round, piece: piece.piece };
  const body = { log: log.log, near_butt_mm: piece.near_butt_mm, near_tip_mm: piece.near_tip_mm, cabin: id, ...where,
    marks: [mark], metal_removed: metalOut, prepared_at: new Date().toISOString(), prepared_by: me.member.id };
  await keep({ crew: me.crew.id, kind: "prepared", label: `Log ${log.log_number}, ${MARKS[mark].toLowerCase()}`, method: "PUT", path: `/api/v1/prepared-pieces/${newId()}`, body });
  tell(`Log ${log.log_number}: ${MARKS[mark].toLowerCase()}.`);
  await sendWaiting(me.crew);
}

async function takeBack(piece, words) {
  const reason = await askWhy(`Why is what was recorded of ${words} not so?`, { yes: "Take back" });
  if (!reason) return;
  await ask("POST", `prepared-pieces/${piece.prepared_piece}/undo`, { reason });
  tell(`The record of ${words} is taken back.`);
  await fetchAndShow();
}
