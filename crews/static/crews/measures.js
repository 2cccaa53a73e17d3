// Lengths in fields: what stood there and was not touched goes back exactly as it was stored.

import { meant, written } from "./lengths.js";

/** Show a stored length in a field, in the crew's unit. */
export function putLength(input, mm, unit, fraction) {
  input.value = mm === null || mm === undefined ? "" : written(mm, unit, fraction);
  input.dataset.mm = mm ?? "";
  input.dataset.shown = input.value;
}

/** A field's length as the API takes it: millimetres if nobody touched it, else what was typed with its unit. */
export function lengthIn(input, unit) {
  const untouched = input.dataset.mm && input.value === input.dataset.shown;
  return untouched ? Number(input.dataset.mm) : meant(input.value, unit);
}
