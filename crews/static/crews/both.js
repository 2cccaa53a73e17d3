// Someone else changed what is being changed here: both stand side by side, and the person chooses.

import { make, row } from "./dom.js";

/** `lines`: [what, mine, theirs]. Shows those that differ; `keepMine` and `takeTheirs` are what the buttons do. */
export function bothVersions(lines, { keepMine, takeTheirs, id = "both" }) {
  const differ = lines.filter(([, mine, theirs]) => mine !== theirs);
  const heads = ["", "Yours", "Stored"].map((words) => make("th", { scope: "col" }, words));
  const table = make("div", { class: "table", tabindex: "0", role: "group", "aria-label": "Both versions" },
    make("table", {}, make("thead", {}, make("tr", {}, heads)), make("tbody", {}, differ.map(([what, mine, theirs]) => row(what, mine, theirs)))));
  return make("section", { class: "caution danger", id, tabindex: "-1", "aria-label": "Changed by someone else" },
    make("strong", {}, "Someone else changed this while you did. Nothing of yours is stored yet."),
    differ.length ? table : make("p", {}, "Both read alike."),
    make("button", { type: "button", class: "main", click: keepMine }, "Keep mine instead"),
    make("button", { type: "button", click: takeTheirs }, "Take what is stored"));
}
