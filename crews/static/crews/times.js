// Days and times as a person here reads them: in the zone of this phone or desk.

const WAY = "en-GB";

/** "4 May 2026, 09:12", without the year in the year we are in. */
export function when(iso) {
  const at = new Date(iso);
  const year = at.getFullYear() === new Date().getFullYear() ? undefined : "numeric";
  return at.toLocaleString(WAY, { day: "numeric", month: "short", year, hour: "2-digit", minute: "2-digit" });
}

/** "4 May 2026": a moment's day here, or a day that was written down as one. */
export function day(iso) {
  const at = /^\d{4}-\d\d-\d\d$/.test(iso) ? new Date(`${iso}T12:00`) : new Date(iso);
  return at.toLocaleDateString(WAY, { day: "numeric", month: "short", year: "numeric" });
}
