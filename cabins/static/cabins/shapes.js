// A rectangle or an L between what a person types and the API's layout document.

const FOLLOWS = { rectangle: ["along", "across"], l: ["along", "across", "leg_across", "far_along"] };
/** Where each corner lies: names of typed lengths for x and y, 0 for the origin. */
const CORNERS = {
  rectangle: [[0, 0], ["along", 0], ["along", "across"], [0, "across"]],
  l: [[0, 0], ["along", 0], ["along", "leg_across"], ["far_along", "leg_across"], ["far_along", "across"], [0, "across"]],
};

/** The ends of walls that may run on past an L's inner corner: the field, which wall, and at which end. */
export const RUN_ONS = [["run_on_to_corner", 2, "runs_on_end"], ["run_on_from_corner", 3, "runs_on_start"]];

/** The names of the lengths that a shape takes. */
export const lengthsOf = (shape) => FOLLOWS[shape];

/** Corners and walls of a shape, named as `old` names them if it has as many. */
export function wallsOf(shape, typed, old) {
  const places = CORNERS[shape];
  const same = old?.corners.length === places.length;
  // A corner is called by the walls that meet there: AB.
  const letter = (at) => "ABCDEF"[(at + places.length) % places.length];
  const name = (at) => (same ? old.corners[at].id : letter(at - 1) + letter(at));
  const corners = places.map(([x, y], at) => ({ id: name(at), x_mm: x ? typed[x] : 0, y_mm: y ? typed[y] : 0 }));
  const walls = places.map((_, at) => ({
    id: same ? old.walls[at].id : letter(at), from: name(at), to: name((at + 1) % places.length),
    start: same ? old.walls[at].start : at % 2 ? "high" : "low",
    runs_on_start: false, runs_on_end: false,
    overhang_start_mm: same ? old.walls[at].overhang_start_mm : null, overhang_end_mm: same ? old.walls[at].overhang_end_mm : null,
  }));
  if (shape === "l") for (const [field, at, end] of RUN_ONS) walls[at][end] = Boolean(typed[field]);
  return { corners, walls };
}

/** The shape of a layout and its lengths in mm; null if it is no rectangle or L as drawn here. */
export function shapeOf(layout) {
  const beyond = layout.partitions.length || (layout.members || []).length;
  for (const [shape, places] of Object.entries(CORNERS)) {
    if (beyond || layout.corners.length !== places.length || layout.walls.length !== places.length) continue;
    const typed = {};
    const fits = places.every(([x, y], at) => {
      const corner = layout.corners[at];
      return [[x, corner.x_mm], [y, corner.y_mm]].every(([name, value]) => {
        if (!name) return value === 0;
        typed[name] ??= value;
        return typed[name] === value;
      });
    });
    const inOrder = layout.walls.every((wall, at) => wall.from === layout.corners[at].id && wall.to === layout.corners[(at + 1) % places.length].id);
    if (fits && inOrder) return { shape, typed, runsOn: shape === "l" ? RUN_ONS.filter(([, at, end]) => layout.walls[at][end]).map(([field]) => field) : [] };
  }
  return null;
}

/** The field of the page that a fault of the API belongs to. */
export function fieldOf(shape, pointer) {
  const [, part, at, name] = pointer.split("/");
  if (part === "corners") {
    const field = CORNERS[shape][Number(at)]?.[name === "x_mm" ? 0 : 1];
    return field || "along";
  }
  if (part === "walls" && name?.startsWith("runs_on")) return RUN_ONS.find(([, , end]) => end === name)[0];
  if (part === "gap") return at || "smallest_mm";
  if (part === "sill_flat") return "flat_mm";
  if (part === "half_logs") return "high_start";
  if (part === "roof_line") return at === "slope" ? "slope" : "ridge";
  if (part === "openings") return `${name || "id"}-${at}`;
  return part || "";
}
