// One order: its lines, what is owed, its form for the mill, its states, deliveries and the account.

import { all, ask, get } from "../crews/api.js";
import { askSure, askWhy } from "../crews/dialog.js";
import { facts, fill, find, make, row, tell } from "../crews/dom.js";
import { fileLink } from "../crews/file.js";
import { here, nothing, run, start } from "../crews/shell.js";
import { when } from "../crews/times.js";
import { showDeliveries } from "./deliveries.js";
import { writeLines } from "./order_lines.js";
import { ORDER_STATES, PRICE_BY } from "./words.js";

const COMING = ["sent", "confirmed", "part_delivered", "delivered"];
let me, order, lines;

run(async () => {
  me = await start();
  await showAll();
});

async function showAll() {
  order = await here("orders");
  find("name").textContent = order.name;
  document.title = `Order ${order.name} – Roundlay`;
  lines = await get(`orders/${order.id}/lines`);
  const [figures, account] = await Promise.all([figuresIfAny(), order.state === "draft" ? null : get(`orders/${order.id}/reconciliation`)]);
  showFacts(figures);
  showWays();
  showLines(figures, account);
  showAccount(account);
  fill("cautions", figures?.cautions.length && lines.items.length
    ? make("div", { class: "caution" }, make("ul", {}, [...new Set([...figures.cautions, ...(account?.cautions || [])])].map((one) => make("li", {}, one)))) : "");
  const comes = COMING.includes(order.state);
  await Promise.all([showForm(), showProposals(), showHistory(), showDeliveries({ order, lines: lines.items, me, again: showAll, comes })]);
  const writes = order.state === "draft" && me.may("builder");
  if (writes) await writeLines({ order, lines, me, again: showAll });
  find("write").hidden = !writes; // shown only once its buttons listen
}

/** The order's figures; none if the mill's terms leave a line without a log, which is told. */
async function figuresIfAny() {
  try {
    return await get(`orders/${order.id}/figures`);
  } catch (error) {
    if (error.status !== 409) throw error;
    tell(error.message, "wrong");
    return null;
  }
}

const money = (amount) => (amount === null || amount === undefined ? "" : `${amount} ${order.currency}`);

function showFacts(figures) {
  const { total, truckloads } = figures || { total: {} };
  facts("facts", [
    ["State", ORDER_STATES[order.state]], ["Mill", order.mill_name], ["Wanted on", order.wanted_on], ["Sent on", order.sent_on],
    ["Priced by the", PRICE_BY[order.price_by]], ["Logs", total.count || null],
    ["Board feet", total.board_feet ? Math.round(total.board_feet).toLocaleString("en") : null], ["Volume", total.volume_m3 ? me.length.volume(total.volume_m3) : null],
    ["Weight, estimated", total.high_kg ? `${me.length.weight(total.low_kg)} to ${me.length.weight(total.high_kg)}` : null],
    ["Truckloads", truckloads ? (truckloads.fewest === truckloads.most ? truckloads.most : `${truckloads.fewest} to ${truckloads.most}`) : null],
    ["Amount", money(total.amount)], ["Remarks", order.remarks],
  ]);
}

/** What may be done with the order as it stands. */
function showWays() {
  const way = (words, act, kind = "") => make("button", { type: "button", class: kind, click: () => run(act) }, words);
  const ways = {
    draft: lines.items.length ? [way("Mark as sent", sendIt, "main"), way("Withdraw it", withReason("withdraw", "Why is it withdrawn?"))] : [way("Withdraw it", withReason("withdraw", "Why is it withdrawn?"))],
    sent: [way("The mill confirmed it", () => move("confirm"), "main"), way("Withdraw it", withReason("withdraw", "Why is it withdrawn?"))],
    confirmed: [way("Withdraw it", withReason("withdraw", "Why is it withdrawn?"))],
    part_delivered: [way("Close it; nothing more is expected", withReason("close", "Why is it closed short?"))],
    delivered: [way("Close it", withReason("close", "A word on closing it?"))],
  };
  fill("ways", me.may("builder") ? ways[order.state] || "" : "");
}

const withReason = (verb, question) => async () => {
  const reason = await askWhy(question, { optional: true });
  if (reason !== null) await move(verb, { reason });
};

/** Sending binds the crew, so it asks once. */
async function sendIt() {
  const { items } = lines;
  const logs = items.reduce((sum, one) => sum + one.count, 0);
  if (await askSure(`Mark “${order.name}” as sent? Its ${logs} logs cannot be changed afterwards.`, { yes: "Mark as sent" })) await move("send");
}

async function move(verb, body) {
  await ask("POST", `orders/${order.id}/${verb}`, body);
  tell("Done.");
  await showAll();
}

function showLines(figures, account) {
  const { long, thick } = me.length;
  const some = lines.items.length > 0;
  find("lines-table").hidden = !some;
  find("no-lines").hidden = some;
  fill("lines", lines.items.map((one) => {
    const told = account?.lines.find((other) => other.line === one.line);
    const of = figures?.lines.find((other) => other.line === one.line);
    const middle = `${thick(one.least_middle_mm)} to ${thick(one.largest_middle_mm)}${one.sawn_thickness_mm ? `, sawn to ${thick(one.sawn_thickness_mm)}` : ""}`;
    return row(String(one.line), [one.count, "number"], [told ? told.short : "", told?.short ? "number bad" : "number"], [long(one.length_mm), "number"], [middle, "one-line"], [one.species, "one-line"],
      [told ? told.delivered : "", "number"], [told ? told.rejected : "", "number"], [one.price ?? "", "number"], [of?.amount ?? "", "number"], [one.note, "words"]);
  }));
}

function showAccount(account) {
  const came = account && account.total.delivered > 0;
  find("account-part").hidden = !came;
  if (!came) return;
  const { total } = account;
  facts("account", [
    ["Ordered", total.ordered], ["Delivered", total.delivered], ["Accepted", total.accepted], ["Rejected", total.rejected], ["Still owed", total.short], ["More than ordered", total.over],
    ["Outside the class ordered", total.outside], ["Not measured by you yet", total.not_measured],
    ["Billed", money(total.billed_amount)], ["To pay", money(total.to_pay_amount)], ["By your own measures", money(total.our_amount)], ["Difference", money(total.difference_amount)],
  ]);
  const named = (one) => `Log ${one.yard_number || one.number}: ${me.length.long(one.length_mm)}, middle ${me.length.thick(one.middle_mm)}`;
  fill("odd", account.outside_logs.map((one) => make("li", {}, `${named(one)}: ${one.why.join(", ")}.`)),
    account.rejected_logs.map((one) => make("li", {}, `${named(one)}, rejected: ${one.reason}.`)));
}

async function showForm() {
  const place = `orders/${order.id}/form`;
  if (!lines.items.length) { fill("form", nothing("Once there are lines, the mill's own form can be fetched here.")); return; }
  let form;
  try {
    form = await get(place);
  } catch (error) {
    if (error.status !== 409) throw error;
    fill("form", make("p", { class: "notice" }, error.message));
    return;
  }
  fill("form", form.rounded.length ? make("p", { class: "caution" }, `The mill's form rounds lengths under: ${form.rounded.join(", ")}.`) : "",
    make("p", {}, [["pdf", "to print (PDF)"], ["xlsx", "as a workbook (XLSX)"], ["csv", "as CSV"]].map(([ending, words]) =>
      fileLink(`${place}.${ending}`, `The form ${words}`, `order.${ending}`))));
}

async function showProposals() {
  const open = (await all(`orders/${order.id}/proposals`)).filter((one) => one.state === "open");
  const wish = (one) => [one.length_mm === null ? "" : `length ${me.length.long(one.length_mm)}`, one.count === null ? "" : `${one.count} logs`, one.wanted_on ? `on ${one.wanted_on}` : ""].filter(Boolean).join(", ");
  const answer = (one, verb, words) => make("button", { type: "button", click: () => run(async () => {
    await ask("POST", `proposals/${one.id}/${verb}`);
    await showAll();
  }) }, words, make("span", { class: "unseen" }, `: ${wish(one)}`));
  fill("proposals", open.map((one) => make("div", { class: "caution" },
    make("strong", {}, `The mill proposes${one.line_number ? ` for line ${one.line_number}` : ""}: `), wish(one), one.reason ? ` (${one.reason})` : "",
    me.may("builder") ? make("p", {}, answer(one, "accept", "Accept"), answer(one, "decline", "Decline")) : "")));
}

async function showHistory() {
  const steps = await all(`orders/${order.id}/history`);
  find("history-part").hidden = !steps.length;
  fill("history", steps.reverse().map((one) => make("li", {}, make("span", {}, `${one.what.replaceAll("_", " ")}${one.detail ? `: ${one.detail}` : ""}`),
    make("span", {}, `${one.member_name || one.mill_key_name || ""}, ${when(one.created_at)}`))));
}
