// A layout in lines of words, so that two of them can stand side by side.

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
  lines.set("High walls start on", layout.high_start.replace("_", " "));
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
