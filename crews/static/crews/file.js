// Files of the API as downloads; a refusal is told on the page instead of being saved or shown raw.

import { ask } from "./api.js";
import { make } from "./dom.js";
import { run } from "./shell.js";

/** A link that fetches a file and saves it under a name. */
export function fileLink(path, words, name) {
  const fetched = async () => {
    const file = URL.createObjectURL(await ask("GET", path, undefined, { as: "blob" }));
    make("a", { href: file, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(file), 60_000);
  };
  const click = (event) => { event.preventDefault(); run(fetched); };
  return make("a", { class: "button", href: `/api/v1/${path}`, download: name, click }, words);
}

/** How a crew prints here: the paper that goes with the lengths it writes, times as the clock here tells them. */
export function onPaper(crew) {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const paper = ["in", "ft_in"].includes(crew.length_unit) ? "letter" : "a4";
  return `paper=${paper}${zone?.includes("/") && !zone.startsWith("Etc/") ? `&zone=${encodeURIComponent(zone)}` : ""}`;
}
