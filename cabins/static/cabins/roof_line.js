// The roof line of gables of logs: between the fields of the layout page and the API's keys, and in words.

/** Fill the fields from a stored layout. */
export function showRoofLine(old, { input }) {
  input("ridge").value = old.roof_line?.ridge ?? "none";
  input("slope").value = old.roof_line?.slope ?? "";
}

/** Show the slope's field where gables are wanted. */
export function showSlope(input) {
  const wanted = input("ridge").value !== "none";
  input("slope").closest(".field").hidden = !wanted;
  input("slope").required = wanted;
}

/** Whether a roof line that is wanted has its slope. */
export const hasSlope = (input) => input("ridge").value === "none" || input("slope").value.trim() !== "";

/** The API's key for what is typed, a slope as `0.5` or `6:12`; what the page has no field for stays as it was. */
export function roofLineTyped(old, { input }) {
  const ridge = input("ridge").value;
  if (ridge === "none") return null;
  const typed = input("slope").value.trim().replace(",", ".");
  const [rise, run] = typed.split(/\s*(?::|\/|in)\s*/).map(Number);
  const slope = run === undefined ? rise : rise / run;
  return { ...old?.roof_line, ridge, slope: Number.isFinite(slope) ? slope : typed };
}

/** A roof line in words; null where there is none. */
export const roofLineWords = (one) => (one ? `ridge ${one.ridge} the longer side, slope ${one.slope} rise over run` : null);

/** The gable logs of a layout's answer in words, wall by wall. */
export function gableWords(logs, long) {
  const walls = [...new Set(logs.map((one) => one.wall))];
  return walls.map((wall) => {
    const own = logs.filter((one) => one.wall === wall);
    return `wall ${wall}: ${own.length}, to cut ${long(own[0].length_mm)} and shorter`;
  }).join("; ");
}
