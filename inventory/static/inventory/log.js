// One log: what is known of it, what to beware of, what it weighs.

import { all, get } from "../crews/api.js";
import { facts, fill, find, make, row } from "../crews/dom.js";
import { draw } from "../crews/drawing.js";
import { here, run, start } from "../crews/shell.js";
import { HAZARDS, STATES } from "./words.js";

run(async () => {
  const me = await start();
  const log = await here("logs");
  const place = `logs/${log.id}`;
  document.title = `Log ${log.number} – Roundlay`;
  find("name").textContent = `Log ${log.number}`;
  const { long, thick } = me.length;
  facts("facts", [
    ["State", STATES[log.state]], ["Rack", log.rack_name], ["Species", log.species_name], ["Length", long(log.length_mm)],
    ["Butt", thick(log.butt_mm)], ["Middle", thick(log.middle_mm)], ["Tip", thick(log.tip_mm)], ["Crown", me.length.crown(log.crown_mm, log.crown_side)],
    ["Grain", grain(log)], ["Mill's tag", log.mill_tag],
    ["Charted by", log.charted_by], ["Put aside because", log.cull_reason], ["Remarks", log.remarks],
  ]);
  fill("ways", make("a", { class: "button", href: `/chart?log=${log.id}` }, "Measure it again"));
  fill("hazards", log.hazards.map((one) => make("p", { class: `caution ${one.kind === "metal" ? "danger" : ""}` },
    make("strong", {}, `Beware: ${HAZARDS[one.kind]}`), ` ${long(one.from_butt_mm)} from the butt${one.face ? `, ${one.face}` : ""}.`)));
  await Promise.all([
    draw(find("drawing"), `${place}/drawing`, { label: `Log ${log.number}` }), showFigures(place, me), showMeasurements(place, me)]);
});

const NOT_LOOKED_AT = "nobody looked yet";
const grain = (log) => [log.grain_hand ?? NOT_LOOKED_AT, log.grain_slope ? `1 in ${log.grain_slope}` : ""].filter(Boolean).join(", ");

async function showFigures(place, me) {
  const told = await get(`${place}/figures`);
  facts("weight", [
    ["Weight, from", told.weight ? `${me.length.weight(told.weight.low_kg)} to ${me.length.weight(told.weight.high_kg)}` : told.why_no_weight],
    ["Balances from the butt end at", `${me.length.long(told.balance.from_butt_end_mm)}`],
    ["somewhere between", `${me.length.long(told.balance.low_mm)} and ${me.length.long(told.balance.high_mm)}`],
  ]);
  const cautions = [...new Set([...(told.weight?.cautions || []), ...told.balance.cautions, ...told.cautions])];
  fill("cautions", make("div", { class: "caution" }, make("strong", {}, "Before it is lifted"), make("ul", {}, cautions.map((one) => make("li", {}, one)))));
}

async function showMeasurements(place, me) {
  const { long, thick } = me.length;
  const items = await all(`${place}/measurements`);
  fill("measurements", items.map((one) => row(one.charted_on || one.created_at.slice(0, 10), one.charted_by, [long(one.length_mm), "number"],
    [thick(one.butt_mm), "number"], [thick(one.middle_mm), "number"], [thick(one.tip_mm), "number"], me.length.crown(one.crown_mm, one.crown_side))));
}
