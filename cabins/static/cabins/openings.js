// Doors and windows of a layout, each a group of fields.

import { choices, fill, find, make } from "../crews/dom.js";
import { unitWords } from "../crews/lengths.js";
import { lengthIn, putLength } from "../crews/measures.js";

const LENGTHS = [["offset_mm", "From the wall's start"], ["width_mm", "Width"], ["sill_mm", "Sill above the deck"], ["head_mm", "Head above the deck"]];
const THRESHOLDS = [["cut_through", "cut through like any log"], ["flattened", "kept, flattened"], ["kept", "kept as it lies"]];
let added = 0;

const boxes = () => [...document.querySelectorAll(".opening")];

/** Add one, empty or as stored. `changed` is called when it is taken away. */
export function addOpening(one, { unit, fraction, changed }) {
  const at = added;
  added += 1;
  const field = (name, words, input, kind = "field") => make("div", { class: kind }, make("label", { for: `${name}-${at}` }, words), input);
  const kinds = ["door", "window", "other"].map((kind) => make("option", { value: kind, selected: kind === (one?.kind || "window") }, kind));
  const thresholds = THRESHOLDS.map(([value, words]) => make("option", { value, selected: value === (one?.threshold || "cut_through") }, words));
  const flatten = make("input", { id: `flatten_mm-${at}`, name: `flatten_mm-${at}`, autocomplete: "off" });
  if (one?.flatten_mm) putLength(flatten, one.flatten_mm, unit, fraction);
  const lengths = LENGTHS.map(([name, words]) => {
    const input = make("input", { id: `${name}-${at}`, name: `${name}-${at}`, required: true, autocomplete: "off" });
    putLength(input, one?.[name], unit, fraction);
    return field(name, `${words} (${unitWords(unit)})`, input);
  });
  const away = () => { box.remove(); changed(); find("add-opening").focus(); };
  const box = make("fieldset", { class: "opening", "data-at": at }, make("legend", {}, `Opening ${at + 1}`), make("div", { class: "row" },
    field("id", "Name", make("input", { id: `id-${at}`, name: `id-${at}`, value: one?.id || `opening ${at + 1}`, maxlength: 40, required: true, autocomplete: "off" })),
    field("kind", "Kind", make("select", { id: `kind-${at}`, name: `kind-${at}` }, kinds)),
    field("wall", "Wall", make("select", { id: `wall-${at}`, name: `wall-${at}`, class: "on-wall", "data-wall": one?.wall })), lengths,
    field("threshold", "The log at a door's foot", make("select", { id: `threshold-${at}`, name: `threshold-${at}` }, thresholds), "field broad"),
    field("flatten_mm", `Flatten it by (${unitWords(unit)})`, flatten)),
  make("div", { class: "help" }),
  make("button", { type: "button", click: away }, `Remove opening ${at + 1}`));
  find("openings").append(box);
  return box;
}

/** Every opening may lie in one of these walls. */
export function offerWalls(ids) {
  for (const select of document.querySelectorAll(".on-wall")) choices(select, ids.map((id) => [id, id]), select.value || select.dataset.wall);
}

/** The openings as the API takes them. */
export function openingsTyped(unit) {
  return boxes().map((box) => {
    const value = (name) => find(`${name}-${box.dataset.at}`);
    return {
      id: value("id").value.trim(), kind: value("kind").value, wall: value("wall").value,
      ...Object.fromEntries(LENGTHS.map(([name]) => [name, lengthIn(value(name), unit)])),
      threshold: value("threshold").value, flatten_mm: value("flatten_mm").value.trim() ? lengthIn(value("flatten_mm"), unit) : 0,
    };
  });
}

/** Beside each opening: how it falls on the courses, and heights that need less, each to be taken with a tap. */
export function showHelp(told, { unit, fraction, changed }) {
  boxes().forEach((box, place) => {
    const one = told.openings[place];
    fill(box.querySelector(".help"), one ? [
      make("p", { class: "hint" }, `Hole to leave ${one.hole_asked_text}, with ${one.space_text} settling space.`),
      make("ul", {}, [one.sill, one.header].filter((cut) => cut !== null).map((cut) => make("li", {}, cut.words)),
        one.threshold ? make("li", {}, one.threshold) : ""),
      one.out_of_order.map((wrong) => make("p", { class: "caution" }, wrong.detail)),
      one.other_heights.map((other) => make("button", { type: "button", click: () => {
        putLength(find(`${other.line}_mm-${box.dataset.at}`), other.height_mm, unit, fraction);
        changed();
      } }, other.words)),
    ] : []);
  });
}

/** The number on the page of the opening that comes at this place in the document. */
export const numberOf = (place) => boxes()[place]?.dataset.at;
