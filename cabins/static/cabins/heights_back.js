// Heights that the service doubts or refuses: back in their fields, with the question, the focus and what to do.

import { clearFaults, fill, find, make, showFaults } from "../crews/dom.js";
import { confirm, drop, isDoubt } from "../crews/outbox.js";
import { run, sendWaiting } from "../crews/shell.js";

/** Which entry the fields show; the list of what was asked back leaves it out. */
export const shownInFields = { entry: null, clear() { this.entry = null; fill("heights-asked"); } };

export const asksAbout = (cabin) => (one) => one.kind === "heights" && one.path === `/api/v1/cabins/${cabin}/heights`;

export function backInFields(entry, { crew, showCorners, focus }) {
  const form = find("heights");
  const { heights } = entry.body;
  const typedSince = [...form.elements].some((one) => one.tagName === "INPUT" && one.value.trim());
  if (typedSince) return;
  form.elements.wall.value = heights[0].wall;
  form.elements.round.value = String(heights[0].round);
  showCorners();
  for (const one of heights) form.elements[one.end].value = one.height_mm ?? "";
  shownInFields.entry = entry.id;
  const fieldOf = (pointer) => heights[pointer.match(/^\/heights\/(\d+)/)?.[1]]?.end ?? pointer.slice(1);
  const before = document.activeElement;
  const rest = showFaults(form, entry.problem.errors ?? [], fieldOf);
  if (!entry.problem.errors?.length) rest.push(entry.problem.detail ?? entry.problem.title);
  const finish = (work) => () => run(async () => {
    await work();
    clearFaults(form);
    for (const one of form.elements) if (one.tagName === "INPUT") one.value = "";
    shownInFields.clear();
    await sendWaiting(crew);
  });
  fill("heights-asked",
    rest.map((words) => make("p", { class: "fault" }, words)),
    isDoubt(entry)
      ? [make("p", {}, "Look again: correct the height and save it, or say that it is right."),
        make("button", { type: "button", class: "main", click: finish(() => confirm(entry)) }, "It is right")]
      : make("p", {}, "Correct the height and save it again."),
    make("button", { type: "button", click: finish(() => drop(entry.id)) }, "Throw these heights away"));
  if (focus) (form.querySelector("[aria-invalid]") ?? form.elements[heights[0].end]).focus();
  else before?.focus?.();
}
