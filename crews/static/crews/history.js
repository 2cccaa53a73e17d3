// What happened to a thing: each change with who made it and when, the last one first.

import { get } from "./api.js";
import { make } from "./dom.js";
import { run } from "./shell.js";
import { when } from "./times.js";

const PAGE = 20;

/**
 * A part of the page that is filled once it is opened. `words` names the columns that are told; `value(column, stored)`
 * writes what one held, and undefined where only the fact of the change is told; `made` is said of the first change.
 */
export function historyOf(kind, id, { words, value, made }) {
  const list = make("ul", { class: "lines" });
  const more = make("button", { type: "button", hidden: true, click: () => run(show) }, "Show earlier ones");
  let next;
  const show = async () => {
    const page = await get(`history/${kind}/${id}?order=-at&limit=${PAGE}${next ? `&after=${encodeURIComponent(next)}` : ""}`);
    if (!next) list.replaceChildren();
    list.append(...page.items.map((one) => ({ one, told: told(one) })).filter(({ told }) => told.length).map(({ one, told }) => line(one, told)));
    next = page.next;
    more.hidden = !next;
  };
  const told = ({ before, after }) => {
    if (!before) return [made];
    return Object.keys(words).filter((column) => column in before).map((column) => change(words[column], value(column, before[column]), value(column, after[column])));
  };
  const part = make("details", { toggle: () => { if (part.open) { next = null; run(show); } } }, make("summary", {}, "Who changed what"), list, more);
  return part;
}

const change = (words, was, is) => (was === undefined || is === undefined ? `${words} changed` : `${words}: ${was || "nothing"}, now ${is || "nothing"}`);

/** When it was done, by whom; what a phone kept without a signal is told at the time it was typed. */
const line = (one, told) => make("li", {}, make("span", {}, make("strong", {}, `${when(one.made_at ?? one.at)}, ${one.member_name ?? "the service"}`), `: ${told.join("; ")}`));
