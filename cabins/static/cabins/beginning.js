// How the walls begin and end: between the fields of the layout page and the API's keys.

const STARTS = { half_logs: ["half_log", true], half_log_unplaced: ["half_log", false], raised_deck: ["raised_deck", false] };
const written = (field) => field.value.trim() !== "";

/** Fill the fields from a stored layout. */
export function showBeginning(old, { input, put }) {
  input("high_start").value = old.high_start === "raised_deck" ? "raised_deck" : old.half_logs ? "half_logs" : "half_log_unplaced";
  const flat = old.sill_flat;
  input("sill_flat").value = !flat ? "none" : flat.width_mm === null ? "depth" : "width";
  if (flat) put("flat_mm", flat.width_mm ?? flat.depth_mm);
  else input("flat_mm").value = "";
  for (const [name, mm] of [["sealer_mm", old.sealer_mm || null], ["deck_raise_mm", old.deck_raise_mm]]) {
    if (mm === null) input(name).value = "";
    else put(name, mm);
  }
  input("top").value = old.top;
}

/** Show the fields that go with what is chosen. */
export function showFirst(input) {
  const flat = input("sill_flat").value !== "none";
  for (const [name, shown] of [["flat_mm", flat], ["sealer_mm", flat], ["deck_raise_mm", input("high_start").value === "raised_deck"]]) {
    input(name).closest(".field").hidden = !shown;
  }
}

/** Whether a flat that is chosen has its size. */
export const isTold = (input) => input("sill_flat").value === "none" || written(input("flat_mm"));

/** The API's keys for what is typed; what the page has no field for stays as it was. */
export function beginningTyped(old, { input, length }) {
  const [high_start, half_logs] = STARTS[input("high_start").value];
  const by = input("sill_flat").value;
  const told = (name, wanted) => (wanted && written(input(name)) ? length(name) : null);
  return {
    high_start, half_logs, rip_kerf_mm: old?.rip_kerf_mm ?? 5, top: input("top").value,
    sill_flat: by === "none" ? null : { [`${by}_mm`]: length("flat_mm") },
    sealer_mm: told("sealer_mm", by !== "none") ?? 0,
    deck_raise_mm: told("deck_raise_mm", high_start === "raised_deck"),
  };
}
