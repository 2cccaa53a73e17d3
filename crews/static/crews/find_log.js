// A log by its number, from every page; without a signal too.

import { find, make, tell } from "./dom.js";
import { logNowOrKept, logsOfNumber } from "./kept.js";

/** The field in the head of the page leads to the log, or asks which one where several yards have the number. */
export async function findLog() {
  const number = find("find-number").value.trim();
  if (!number) { find("find-number").focus(); return; }
  const ids = await logsOfNumber(number);
  if (ids.length === 1) { location.assign(`/logs/${ids[0]}`); return; }
  if (!ids.length) throw new Error(`No log ${number} is charted in your yards.`);
  const logs = await Promise.all(ids.map(async (id) => (await logNowOrKept(id)).log));
  const words = (log) => `Log ${log.number}${log.rack_name ? `, rack ${log.rack_name}` : ""}`;
  tell("", "asks");
  find("told").replaceChildren(make("p", {}, `Several logs have the number ${number}:`), make("ul", {}, logs.map((log) => make("li", {}, make("a", { href: `/logs/${log.id}` }, words(log))))));
}
