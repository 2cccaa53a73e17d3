// A key or a secret is shown once: nobody, not even the service, can show it again.

import { fill, find, make, tell } from "./dom.js";
import { run } from "./shell.js";

/** Show it at the head of the page, below what it is, with what to do with it. */
export function showSecret(secret, what, words) {
  const copy = async () => { await navigator.clipboard.writeText(secret); tell("Copied."); };
  fill("new-secret", make("div", { class: "notice" }, make("strong", {}, what), make("p", { class: "secret" }, make("code", {}, secret)),
    make("p", {}, words),
    navigator.clipboard ? make("button", { type: "button", click: () => run(copy) }, "Copy it") : "",
    make("button", { type: "button", click: () => fill("new-secret") }, "Done, hide it")));
  find("new-secret").scrollIntoView();
}
