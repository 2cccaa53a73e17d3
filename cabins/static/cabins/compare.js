// A layout in lines of words, so that two of them can stand side by side.

import { roofLineWords } from "./roof_line.js";

/** `say(value, kind)` writes a length, stored or typed. Returns a map of what to its words. */
export function linesOf(layout, say) {
  const lines = new Map();
  const at = ({ x_mm, y_mm }) => `${say(x_mm, "long")} along, ${say(y_mm, "long")} across`;
  layout.corners.forEach((corner) => lines.set(`Corner ${corner.id}`, at(corner)));
  lines.set("Wall height", say(layout.wall_height_mm, "long"));
  lines.set("Rounds", String(layout.rounds ?? "as the height needs"));
  lines.set("Usual middle", say(layout.log_middle_mm, "thick"));
  lines.set("Overhang", say(layout.overhang_mm, "thick"));
  lines.set("Corner notch", layout.notch.replace("_", " "));
  const unplaced = layout.high_start === "half_log" && !layout.half_logs ? ", not planned" : "";
  lines.set("High walls start on", layout.high_start.replace("_", " ") + unplaced);
  if (layout.deck_raise_mm) lines.set("Deck raised by", say(layout.deck_raise_mm, "thick"));
  const flat = layout.sill_flat;
  lines.set("First logs lie on", !flat ? "packing as high as the gap" : flat.width_mm ? `a flat ${say(flat.width_mm, "thick")} wide` : `a flat ${say(flat.depth_mm, "thick")} deep`);
  if (layout.sealer_mm) lines.set("Sill sealer", say(layout.sealer_mm, "thick"));
  lines.set("Walls end", layout.top.replaceAll("_", " "));
  if (layout.roof_line) lines.set("Gables of logs", roofLineWords(layout.roof_line));
  lines.set("Gap", ["smallest_mm", "target_mm", "largest_mm"].map((name) => say(layout.gap[name], "thick")).join(", "));
  for (const one of layout.openings) {
    const [offset, width, sill, head] = ["offset_mm", "width_mm", "sill_mm", "head_mm"].map((name) => say(one[name], "thick"));
    lines.set(`Opening ${one.id}`, `${one.kind} in wall ${one.wall}, ${offset} from its start, ${width} wide, from ${sill} to ${head}`);
  }
  return lines;
}

/** Lines of `[what, mine, theirs]` of two layouts. */
export function sideBySide(mine, theirs, say) {
  const [left, right] = [linesOf(mine, say), linesOf(theirs, say)];
  return [...new Set([...left.keys(), ...right.keys()])].map((what) => [what, left.get(what) ?? "none", right.get(what) ?? "none"]);
}
