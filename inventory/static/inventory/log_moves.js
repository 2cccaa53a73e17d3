// A log put aside, taken back to its rack, written off: asked once, with the reason that is kept with it.

import { all, ask } from "../crews/api.js";
import { askSure, askWhy } from "../crews/dialog.js";
import { choices, make, tell } from "../crews/dom.js";
import { run } from "../crews/shell.js";

/** Buttons for what can become of the log as it is now; `moved` gets the log as it is stored then. */
export function movesOf(log, me, moved) {
  const button = (words, act) => make("button", { type: "button", click: () => run(act) }, words);
  const done = async (stored, words) => { tell(words); await moved(stored); };
  const withReason = async (verb, question, yes, words) => {
    const reason = await askWhy(question, { yes });
    if (reason) await done(await ask("POST", `logs/${log.id}/${verb}`, { reason }), words);
  };
  const putAside = () => withReason("put-aside", `Why is log ${log.number} put aside?`, "Put it aside", "It is put aside: kept for short pieces.");
  const writeOff = () => withReason("write-off", writeOffQuestion(log), "Write it off", "It is written off.");
  const takeBack = async () => {
    const racks = (await all(`racks?yard=${log.yard}`)).map((one) => [one.id, one.name]);
    const select = make("select", { id: "dialog-rack" });
    choices(select, log.rack ? racks : [["", "no rack in particular"], ...racks], log.rack ?? "");
    const field = make("div", { class: "field" }, make("label", { for: select.id }, "It lies on"), select);
    if (!await askSure(log.state === "gone" ? `Is log ${log.number} here after all?` : `Is log ${log.number} good for a wall after all?`, { yes: "Back to the rack", more: [field] })) return;
    await done(await ask("POST", `logs/${log.id}/return-to-rack`, { rack: select.value || null }), "It is on the rack again.");
  };
  return [
    log.state === "in_rack" ? button("Put it aside", putAside) : "",
    ["put_aside", "gone"].includes(log.state) ? button("Back to the rack", takeBack) : "",
    ["in_rack", "put_aside", "reserved", "cut_up"].includes(log.state) && me.may("builder") ? button("Write it off", writeOff) : "",
  ];
}

function writeOffQuestion(log) {
  if (log.state === "reserved") return `Why is log ${log.number} gone? It is reserved for a cabin, whose place then wants another log.`;
  return log.state === "cut_up" ? `Why is what is left of log ${log.number} gone?` : `Why is log ${log.number} gone?`;
}
