// The trucks of an order: to come, their tallies read in, their logs laid on a rack, judged one by one.

import { all, ask } from "../crews/api.js";
import { askWhy } from "../crews/dialog.js";
import { choices, fill, find, make, row, tell } from "../crews/dom.js";
import { newId } from "../crews/ids.js";
import { run } from "../crews/shell.js";
import { day } from "../crews/times.js";
import { DELIVERY_STATES } from "./words.js";

const WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
let page, racks, ready = false;

export async function showDeliveries(given) {
  page = given;
  find("deliveries-part").hidden = page.order.state === "draft";
  if (page.order.state === "draft") return;
  const items = await all(`deliveries?of_order=${page.order.id}`);
  racks ??= (await Promise.all([all("racks"), all("yards")])).reduce((found, yards) => found.map((one) => ({ ...one, yard_name: yards.find((yard) => yard.id === one.yard)?.name })));
  fill("deliveries", await Promise.all(items.map(card)));
  if (!items.length) fill("deliveries", make("li", { class: "nothing" }, "No truck has come, and none is announced."));
  find("truck").hidden = !page.comes || !page.me.may("builder");
  if (ready) return;
  ready = true;
  find("truck").addEventListener("submit", (event) => { event.preventDefault(); run(announce); });
}

async function announce() {
  await ask("PUT", `deliveries/${newId()}`, { order: page.order.id, expected_on: find("expected_on").value || null });
  find("expected_on").value = "";
  tell("Written down.");
  await page.again();
}

async function card(delivery, at) {
  const words = `Truck ${at + 1}`;
  const logs = delivery.state === "announced" ? [] : await all(`deliveries/${delivery.id}/logs`);
  const may = page.me.may("builder") && page.comes;
  return make("li", { class: "card" }, make("h3", {}, words),
    make("p", {}, DELIVERY_STATES[delivery.state], delivery.expected_on && delivery.state !== "received" ? `, expected on ${day(delivery.expected_on)}` : "",
      delivery.received_at ? ` on ${day(delivery.received_at)}` : "", logs.length ? `: ${logs.length} logs` : ""),
    delivery.remarks ? make("p", {}, delivery.remarks) : "",
    may && delivery.state !== "received" ? tallyForm(delivery, words) : "",
    may && delivery.state === "tallied" ? receiveForm(delivery, words) : "",
    logs.length ? logsTable(logs, words) : "");
}

function tallyForm(delivery, words) {
  const input = make("input", { type: "file", id: `tally-${delivery.id}`, accept: `.csv,.xlsx,text/csv,${WORKBOOK}`, required: true });
  const faults = make("div", { role: "status" });
  const read = async () => {
    const [file] = input.files;
    fill(faults);
    const type = file.name.toLowerCase().endsWith(".xlsx") ? WORKBOOK : "text/csv";
    try {
      await ask("PUT", `deliveries/${delivery.id}/tally`, file, { type, version: delivery.version });
    } catch (error) {
      fill(faults, make("p", { class: "fault" }, error.message), make("ul", {}, (error.errors || []).map((one) => make("li", {}, faultWords(one)))));
      throw error;
    }
    tell("The tally is read. Look through it, then lay the logs on a rack.");
    await page.again();
  };
  return make("form", { submit: (event) => { event.preventDefault(); run(read); } },
    make("div", { class: "field" }, make("label", { for: input.id }, delivery.state === "tallied" ? `Another tally of ${words.toLowerCase()}` : `The mill's tally of ${words.toLowerCase()}`),
      make("p", { class: "hint" }, "CSV or XLSX, in the columns of its form"), input), faults,
    make("button", { type: "submit" }, "Read the tally in", make("span", { class: "unseen" }, ` of ${words}`)));
}

const faultWords = (one) => `${one.row ? `Row ${one.row}${one.column ? `, ${one.column}` : ""}: ` : ""}${one.detail}${one.read ? ` It reads “${one.read}”.` : ""}`;

function receiveForm(delivery, words) {
  if (!racks.length) return make("p", { class: "notice" }, "Make a rack first, to lay the logs on: ", make("a", { href: "/yard" }, "to the yard"), ".");
  const select = make("select", { id: `rack-${delivery.id}` });
  choices(select, racks.map((one) => [one.id, `${one.yard_name}, ${one.name}`]));
  const receive = async () => {
    await ask("POST", `deliveries/${delivery.id}/receive`, { rack: select.value });
    tell("The logs lie on the rack with the mill's figures. Measure them.");
    await page.again();
  };
  return make("form", { submit: (event) => { event.preventDefault(); run(receive); } },
    make("div", { class: "field" }, make("label", { for: select.id }, "Rack"), select),
    make("button", { type: "submit", class: "main" }, "Logs unloaded on this rack", make("span", { class: "unseen" }, `, ${words}`)));
}

function logsTable(logs, words) {
  const { long, thick } = page.me.length;
  const heads = ["Mill's number", "In the yard", "Line", "Length", "Middle", "", ""];
  const lines = logs.map((one) => row(one.number || String(one.place), one.log ? make("a", { href: `/logs/${one.log}` }, one.yard_number) : "–",
    lineOf(one), [long(one.length_mm), "number"], [thick(one.middle_mm), "number"], one.rejected_at ? [`rejected: ${one.reject_reason}`, "bad"] : "", judging(one)));
  return make("details", {}, make("summary", {}, `The logs of ${words.toLowerCase()}`), make("div", { class: "table", tabindex: "0", role: "group", "aria-label": `Logs of ${words}` },
    make("table", {}, make("thead", {}, make("tr", {}, heads.map((one) => (one ? make("th", { scope: "col" }, one) : make("td", {}))))), make("tbody", {}, lines))));
}

const called = (log) => `log ${log.yard_number || log.number || log.place}`;

/** Which line it counts for, to be put right where the guess was wrong. */
function lineOf(log) {
  if (!page.me.may("builder") || !page.comes) return log.line_number ? String(log.line_number) : "none";
  const select = make("select", { "aria-label": `Line that ${called(log)} counts for` });
  choices(select, [["", "none"], ...page.lines.map((one) => [String(one.line), String(one.line)])], log.line_number ? String(log.line_number) : "");
  select.addEventListener("change", () => run(() => judge(log, "count-for", { line: select.value ? Number(select.value) : null })));
  return select;
}

function judging(log) {
  if (!page.me.may("builder") || !page.comes) return "";
  const [verb, words] = log.rejected_at ? ["accept", "Take it after all"] : ["reject", "Reject"];
  const act = async () => {
    if (log.rejected_at) { await judge(log, verb); return; }
    const reason = await askWhy(`Why does ${called(log)} go back?`, { yes: "Reject" });
    if (reason) await judge(log, verb, { reason });
  };
  return make("button", { type: "button", click: () => run(act) }, words, make("span", { class: "unseen" }, `: ${called(log)}`));
}

async function judge(log, verb, body) {
  await ask("POST", `delivered-logs/${log.id}/${verb}`, body);
  tell("Done.");
  await page.again();
}
