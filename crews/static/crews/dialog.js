// Questions in a dialog of the page: a reason to type, or a yes. Nothing is done until one of them is answered.

import { make } from "./dom.js";

/** Ask once; true if the person says so. `yes` is what the button says. */
export const askSure = (question, { yes, more = [] }) => asked(question, { yes, more, answer: () => true, no: false });

/** Ask for a reason in words; null if nothing is to be done. With `optional` it may stay empty. */
export function askWhy(question, { yes = "Save", optional = false } = {}) {
  const input = make("input", { class: "wide", id: "dialog-reason", name: "reason", maxlength: "500", autocomplete: "off", required: !optional });
  const label = make("label", { for: input.id }, optional ? "Reason (optional)" : "Reason");
  return asked(question, { yes, more: [make("div", { class: "field" }, label, input)], answer: () => input.value.trim(), no: null, first: input });
}

function asked(question, { yes, more, answer, no, first }) {
  const back = document.activeElement;
  return new Promise((done) => {
    let told = no;
    const agree = make("button", { type: "submit", class: "main" }, yes);
    const form = make("form", { method: "dialog" }, make("h2", { id: "dialog-question" }, question), more,
      make("div", { class: "row" }, agree, make("button", { type: "button", click: () => dialog.close() }, "Cancel")));
    const dialog = make("dialog", { "aria-labelledby": "dialog-question" }, form);
    form.addEventListener("submit", (event) => { event.preventDefault(); told = answer(); dialog.close(); });
    dialog.addEventListener("close", () => { dialog.remove(); back?.focus?.(); done(told); });
    document.body.append(dialog);
    dialog.showModal();
    (first ?? agree).focus();
  });
}
