// Making and filling elements; text is always text, never markup.

/** An element: `make("td", { class: "number" }, "12")`. A property that is a function listens. */
export function make(tag, given = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") made.addEventListener(name, value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...inside.flat(Infinity).filter((one) => one !== null && one !== undefined && one !== ""));
  return made;
}

export const find = (id) => document.getElementById(id);

/** Replace what is in an element; lists in lists are laid flat. */
export function fill(place, ...inside) {
  const there = typeof place === "string" ? find(place) : place;
  there.replaceChildren(...inside.flat(Infinity).filter((one) => one !== null && one !== undefined && one !== ""));
}

/** Pairs of a word and its value, for a `<dl class="facts">`. */
export function facts(place, pairs) {
  fill(place, pairs.filter(([, value]) => value !== null && value !== undefined && value !== "")
    .map(([word, value]) => make("div", {}, make("dt", {}, word), make("dd", {}, value))));
}

/** The choices of a `<select>`: pairs of value and words. */
export function choices(select, pairs, chosen) {
  fill(select, pairs.map(([value, words]) => make("option", { value, selected: value === chosen }, words)));
}

/** A box to be ticked, one of those of this name. */
export const checkbox = (name, { id, name: words }, checked) => make("label", { class: "check" }, make("input", { type: "checkbox", name, value: id, checked }), words);

/** The ids of the ticked boxes of a name. */
export const ticked = (name) => [...document.querySelectorAll(`input[name=${name}]:checked`)].map((one) => one.value);

/** A row of a table; the first cell heads it. Cells are texts, elements, or [content, class]. */
export function row(head, ...cells) {
  return make("tr", {}, make("th", { scope: "row" }, head), cells.map((cell) => {
    const [inside, kind] = Array.isArray(cell) ? cell : [cell];
    return make("td", { class: kind }, inside ?? "");
  }));
}

/** Tell everybody, also a screen reader, what just happened. */
export function tell(words, kind = "done") {
  const place = find("told");
  place.className = `told ${kind}`;
  place.textContent = words;
  clearTimeout(tell.later);
  if (kind === "done") tell.later = setTimeout(() => { place.textContent = ""; }, 8000);
}

// What went wrong stays until the person does something about it.
for (const kind of ["click", "submit"]) {
  document.addEventListener(kind, (event) => {
    const place = find("told");
    if (place.classList.contains("wrong") && (kind === "submit" || event.target.closest("button"))) place.textContent = "";
  }, true);
}

/** Mark what the API found wrong at the fields it names; returns what belongs to no field. */
export function showFaults(form, errors, fieldOf = (pointer) => pointer.slice(1).split("/")[0]) {
  clearFaults(form);
  const rest = [];
  for (const error of errors) {
    const input = form.elements.namedItem(fieldOf(error.pointer));
    if (!(input instanceof HTMLElement)) { rest.push(error.detail); continue; }
    const place = make("p", { class: "fault", id: `${input.id}-fault` }, error.detail);
    input.setAttribute("aria-invalid", "true");
    input.dataset.hints ??= input.getAttribute("aria-describedby") || "";
    input.setAttribute("aria-errormessage", place.id);
    input.setAttribute("aria-describedby", `${input.dataset.hints} ${place.id}`.trim());
    input.closest(".field").append(place);
  }
  form.querySelector("[aria-invalid]")?.focus();
  return rest;
}

/** Send a form; what the API finds wrong stands at its fields, and what belongs to none is told. */
export async function saveForm(form, send, fieldOf) {
  clearFaults(form);
  try {
    return await send();
  } catch (error) {
    if (!error.errors?.length) throw error;
    const rest = showFaults(form, error.errors, fieldOf);
    throw new Error(rest.join(" ") || error.message, { cause: error });
  }
}

export function clearFaults(form) {
  form.querySelectorAll("p.fault").forEach((place) => place.remove());
  form.querySelectorAll("[aria-invalid]").forEach((input) => {
    input.removeAttribute("aria-invalid");
    input.removeAttribute("aria-errormessage");
    if (input.dataset.hints) input.setAttribute("aria-describedby", input.dataset.hints);
    else input.removeAttribute("aria-describedby");
  });
}
