// What is typed at the wall and not yet saved outlives a reload: kept in this browser for each cabin.

import { find } from "../crews/dom.js";

const place = (cabin) => `draft of wall ${cabin}`;
const fields = (form) => [...form.elements].filter((one) => one.name);

function typedIn(form) {
  return Object.fromEntries(fields(form).map((one) => [one.name, one.type === "checkbox" ? one.checked : one.value]));
}

/** Keep what both forms hold; `log` is the place and log that the first form is about. */
export function keepDraft(cabin, log) {
  localStorage.setItem(place(cabin), JSON.stringify({ log, set: typedIn(find("set")), heights: typedIn(find("heights")) }));
}

/** Take up what was typed before; what was typed for another log is not taken. */
export function takeDraft(cabin, log, showCorners) {
  const draft = JSON.parse(localStorage.getItem(place(cabin)) || "null");
  if (!draft) return;
  if (draft.log === log) putInto(find("set"), draft.set);
  const { wall, round, ...heights } = draft.heights;
  if (!Object.values(heights).some(Boolean)) return;
  putInto(find("heights"), { wall, round });
  showCorners();
  putInto(find("heights"), heights);
}

function putInto(form, values) {
  for (const one of fields(form)) {
    if (values[one.name] === undefined) continue;
    if (one.type === "checkbox") one.checked = values[one.name];
    else one.value = values[one.name];
  }
}
