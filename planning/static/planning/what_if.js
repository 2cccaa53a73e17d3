// What would happen if a log were turned, swapped, pinned or another one. Nothing is stored but a new job.

import { all, ask, get } from "../crews/api.js";
import { choices, fill, find, make, row, tell } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { run } from "../crews/shell.js";
import { number, TERMS } from "./words.js";

let given, chosen = null, swapping = false, pins = [];

export async function offerWhatIf(page) {
  given = page;
  const job = await get(`planning-jobs/${page.plan.job}`);
  const free = (await Promise.all(job.yards.map((yard) => all(`logs?yard=${yard}&free=true`)))).flat();
  choices(find("other"), free.map((log) => [log.id, `${log.number}: ${page.me.length.thick(log.middle_mm)}, ${page.me.length.long(log.length_mm)}`]));
  find("turn").addEventListener("click", () => run(() => attempt([{ kind: "turn", place: chosen.place }], `${chosen.words} turned`)));
  find("move").addEventListener("click", () => run(() => attempt([{ kind: "move", place: chosen.place, log: find("other").value }], `log ${find("other").selectedOptions[0].textContent} there`)));
  find("swap").addEventListener("click", () => startSwap(!swapping));
  find("pin").addEventListener("click", () => run(pin));
  find("pin-ever").addEventListener("click", () => run(pinForEver));
  find("pin-ever").hidden = !page.me.may("lead");
  find("why").addEventListener("click", () => run(why));
  find("again").addEventListener("click", () => run(() => planAgain(job)));
  find("pin").hidden = !page.me.may("builder");
}

/** A log was clicked: choose it, or swap the chosen one with it. */
export async function chooseHere(place, words) {
  if (swapping && chosen) {
    startSwap(false);
    const first = chosen;
    given.showChosen([first.place, place]);
    await attempt([{ kind: "swap", place: first.place, with_place: place }], `${first.words} swapped with ${words}`);
    return;
  }
  chosen = { place, words };
  find("chosen").textContent = `Chosen: ${words}.`;
  find("actions").hidden = false;
  fill("effect");
  given.showChosen([place]);
}

function startSwap(on) {
  swapping = on;
  find("swap").setAttribute("aria-pressed", String(on));
  if (on) tell("Now choose the other log, in any wall or round.");
}

async function attempt(changes, words) {
  fill("effect"); // a refusal must not stand beside the effect of something else
  const { effect } = await ask("POST", `${given.here}/what-if`, { changes });
  showEffect(effect, words);
}

function showEffect(effect, words) {
  const { thick } = given.me.length;
  const by = effect.objective_change;
  const most = [...effect.tops].sort((a, b) => Math.abs(b.change_mm) - Math.abs(a.change_mm))[0];
  const parts = Object.entries(effect.term_changes).filter(([, value]) => Math.abs(value) >= 0.5);
  const signed = (value) => `${value > 0 ? "+" : "−"}${number(Math.abs(value))}`;
  fill("effect", make("h3", {}, words),
    make("p", { class: by > 0 ? "bad" : "good" }, Math.abs(by) < 0.5 ? "Makes no difference." : `${by > 0 ? "Worse" : "Better"}: penalty ${signed(by)}.`),
    effect.feasible ? "" : make("div", { class: "caution danger" }, make("strong", {}, "Not allowed"), make("ul", {}, effect.faults.map((one) => make("li", {}, one)))),
    most ? make("p", {}, `Tops move by ${thick(Math.abs(most.change_mm))} at most: wall ${most.wall}, round ${most.round}, ${most.change_mm > 0 ? "higher" : "lower"}.`) : "",
    effect.notches_beyond.length ? make("p", { class: "bad" }, `${effect.notches_beyond.length} notches would go beyond what a log bears.`) : "",
    parts.length ? make("div", { class: "table", tabindex: "0", role: "group", "aria-label": "What changes" }, make("table", {}, make("tbody", {}, parts.map(([term, value]) => row(TERMS[term] || term, [signed(value), "number"]))))) : "");
}

async function why() {
  const { cabin, wall, round, piece } = chosen.place;
  const told = await get(`${given.here}/why?${new URLSearchParams({ cabin, wall, round, piece })}`);
  const parts = Object.entries(told.terms).filter(([, value]) => value >= 0.5).map(([term, value]) => `${TERMS[term] || term} ${number(value)}`);
  const other = told.alternative;
  fill("effect", make("h3", {}, `Why log ${told.log_number} lies here`),
    make("p", {}, parts.length ? `Its share of the penalty: ${parts.join(", ")}.` : "It costs no penalty here."),
    other ? make("p", {}, `The best other log is ${other.log_number}${other.turned ? ", turned" : ""}${other.swapped_with ? `, swapped from wall ${other.swapped_with.wall}, round ${other.swapped_with.round}` : ""}: penalty ${other.effect.objective_change >= 0 ? "+" : "−"}${number(Math.abs(other.effect.objective_change))}.`) : make("p", {}, "No other log fits here."));
}

async function pieceChosen() {
  const { cabin, wall, round, piece } = chosen.place;
  const { items } = await get(`${given.here}/pieces?${new URLSearchParams({ cabin, wall, round, limit: 50 })}`);
  const found = items.find((one) => one.piece === piece);
  if (!found) throw new Error("No log lies there in this plan.");
  return found;
}

/** The lead's word, kept with the log; what else was said of it stays, but what it was kept for. */
async function pinForEver() {
  const found = await pieceChosen();
  const log = await get(`logs/${found.log}`);
  const stays = log.instructions.filter((one) => one.kind === "peel_first" || one.kind === "never_in_wall").map(({ kind }) => ({ kind }));
  const instructions = [...stays, { kind: "pin", ...chosen.place, from_butt_mm: found.from_butt_mm, butt_at: found.butt_at }];
  const stored = await ask("PUT", `logs/${log.id}/instructions`, { instructions }, { version: log.version });
  tell(`Log ${log.number}: ${stored.instructions.map((one) => one.text).join(" ")}`);
}

async function pin() {
  const { cabin, wall, round, piece } = chosen.place;
  const found = await pieceChosen();
  pins = [...pins.filter((one) => one.words !== chosen.words), {
    words: chosen.words, pinned: { cabin, wall, round, piece, log: found.log, from_butt_mm: found.from_butt_mm, butt_at: found.butt_at } }];
  showPins();
}

function showPins() {
  find("pins-part").hidden = !pins.length;
  fill("pins", pins.map((one) => make("li", {}, make("span", {}, one.words),
    make("button", { type: "button", click: () => { pins = pins.filter((other) => other !== one); showPins(); } }, "Let go", make("span", { class: "unseen" }, ` ${one.words}`)))));
}

async function planAgain(job) {
  const id = newId();
  const { cabins, yards, excluded, preset, seconds } = job;
  await ask("POST", "planning-jobs", { id, cabins, yards, excluded, preset, seconds, pinned: [...job.pinned, ...pins.map((one) => one.pinned)] });
  location.assign(`/plans?job=${id}`);
}
