// The sheets of a cabin's openings: each drawn, with the hole to leave, what is cut of which log, and the jambs.

import { get } from "../crews/api.js";
import { facts, fill, find, make, row } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { fileLink, onPaper } from "../crews/file.js";
import { here, nothing, run, start } from "../crews/shell.js";

run(async () => {
  const me = await start();
  const cabin = await here("cabins");
  const place = `cabins/${cabin.id}`;
  find("name").textContent = `Openings of ${cabin.name}`;
  document.title = `${find("name").textContent} – Roundlay`;
  if (cabin.rounds === null) {
    fill("sheets", nothing("It has no layout yet: doors and windows are laid out with its walls."));
    return;
  }
  const told = await get(`${place}/openings`);
  find("of-what").textContent = `${told.of_what}; settling space by ${told.rule_source}.`;
  if (!told.openings.length) {
    fill("sheets", nothing("It has no doors or windows."));
    return;
  }
  const drawn = told.openings.map((one) => [one, make("div")]);
  fill("sheets", drawn.map(([one, picture]) => sheet(one, picture, fileLink(`${place}/sheets/opening?opening=${encodeURIComponent(one.opening)}&${onPaper(me.crew)}`, "Print it", `opening-${one.opening}.pdf`))));
  await Promise.all(drawn.map(([one, picture]) => draw(picture, `${place}/opening-drawing?opening=${encodeURIComponent(one.opening)}`, { label: `${one.opening} with the logs around it` })));
});

function sheet(one, picture, print) {
  const figures = make("dl", { class: "facts" });
  facts(figures, [
    ["Asked", `${one.width_text} x ${one.height_text}`], ["Sill and head", `${one.sill_text} and ${one.head_text}`],
    ["Settling space above", one.space_text], ["Hole to leave", one.hole_asked_text],
    ["Hole on the day", one.hole_near_text === one.hole_far_text ? one.hole_near_text : `${one.hole_near_text} near jamb, ${one.hole_far_text} far jamb`],
    ["Jambs", `${one.near_text} and ${one.far_text} along wall ${one.wall}`],
  ]);
  const cuts = [one.sill, one.header].filter((cut) => cut !== null);
  return make("section", {}, make("h2", {}, `${one.opening}, wall ${one.wall}`), picture,
    one.out_of_order.map((wrong) => make("p", { class: "caution danger" }, wrong.detail)), figures,
    make("ul", {}, cuts.map((cut) => make("li", {}, cut.log_number ? make("strong", {}, `Log ${cut.log_number}: `) : "", cut.words)), one.threshold ? make("li", {}, one.threshold) : ""),
    jambs(one.jambs), make("p", {}, one.keyway), one.cautions.map((words) => make("p", { class: "caution" }, words)), make("p", {}, print));
}

function jambs(pieces) {
  if (!pieces.length) return "";
  const all = pieces.every((one) => one.needs_brace);
  const heads = ["Piece", "Log", "Jamb line", ...(all ? [] : [""])];
  const rows = pieces.map((one) => row(`Round ${one.round}, ${one.position}`, one.log_number ?? "", [one.jamb_text, "one-line"], ...(all ? [] : [one.needs_brace ? "brace" : ""])));
  const wild = pieces[0].run_wild_mm > 0 ? `may run ${pieces[0].run_wild_text} past its jamb line until it is cut plumb` : "is cut plumb at its jamb line";
  return [make("p", {}, `Each piece ${wild}.${all ? " Brace each until the jambs are in." : ""}`), make("div", { class: "table", tabindex: "0", role: "group", "aria-label": "Pieces that end at its jambs" }, make("table", {},
    make("thead", {}, make("tr", {}, heads.map((words) => make("th", { scope: "col" }, words)))), make("tbody", {}, rows)))];
}
