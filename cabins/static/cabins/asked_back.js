// What was recorded on this phone and asked back by the service: to be confirmed, or thrown away.

import { fill, make } from "../crews/dom.js";
import { confirm, drop, isDoubt, unsent } from "../crews/outbox.js";
import { run, sendWaiting } from "../crews/shell.js";

/** Show what was refused: not measures of logs, put right where logs are charted, nor what is asked `elsewhere` on the page. */
export async function showAskedBack(crew, elsewhere = {}) {
  const back = (await unsent()).filter((one) => one.state === "refused" && one.kind !== "log" && one.id !== elsewhere.entry);
  fill("asked-back", back.map((entry) => {
    const errors = entry.problem.errors?.length ? entry.problem.errors.map((one) => one.detail) : [entry.problem.detail];
    const sure = () => run(async () => { await confirm(entry); await sendWaiting(crew); });
    return make("div", { class: "caution danger" }, make("strong", {}, isDoubt(entry) ? `${entry.label}: look again` : `${entry.label}: not taken`),
      make("ul", {}, errors.map((words) => make("li", {}, words))),
      isDoubt(entry) ? make("button", { type: "button", class: "main", click: sure }, "It is right") : "",
      make("button", { type: "button", click: () => run(() => drop(entry.id)) }, "Throw away and enter it again"));
  }));
}
