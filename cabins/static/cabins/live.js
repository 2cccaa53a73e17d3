// The layout as it is typed, drawn from what the API says of it: the floor, and every wall with its places.

const NS = "http://www.w3.org/2000/svg";

function part(tag, given, ...inside) {
  const made = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(given)) made.setAttribute(name, value);
  made.append(...inside);
  return made;
}

/** What crosses a wall, along it. */
const columnsOf = (checked, wall) => checked.columns.filter((one) => one.wall === wall.id);

/** Every wall's elevation under each other. `checked` is the API's answer to a layout. */
export function liveWalls(checked, walls, words) {
  return walls.map((wall) => {
    const places = checked.places.filter((one) => one.wall === wall.id);
    const columns = columnsOf(checked, wall);
    const [first, last] = [columns[0], columns.at(-1)];
    const from = Math.min(...places.map((one) => one.start_mm));
    const to = Math.max(...places.map((one) => one.end_mm));
    const pitch = checked.pitch_mm;
    const high = wall.start === "high" ? pitch / 2 : 0;
    const top = checked.rounds * pitch + pitch / 2;
    const told = `Wall ${wall.id}: ${words(last.at_mm)} from ${first.crossing} to ${last.crossing}, ${wall.start === "high" ? "starts half a log up" : "starts low"}, ${places.length} places.`;
    // Half logs lie under the first round of high walls, and over the last one of low walls.
    const half = (one) => one.round === 0 || one.round > checked.rounds;
    const above = (one) => (one.round === 0 ? pitch / 2 : half(one) ? checked.rounds * pitch + pitch / 2 : one.round * pitch + high);
    const logs = places.map((one) => part("rect", {
      class: "live-log", x: one.start_mm, y: top - above(one), width: one.end_mm - one.start_mm, height: half(one) ? pitch / 2 : pitch, rx: pitch / 5,
    }));
    const svg = part("svg", { class: "live", role: "img", "aria-label": told, viewBox: `${from - 60} -40 ${to - from + 120} ${top + 80}` },
      ...logs, part("line", { class: "live-deck", x1: from, x2: to, y1: top, y2: top }),
      ...columns.map(({ at_mm: x }) => part("line", { class: "live-corner", x1: x, x2: x, y1: 0, y2: top })));
    return [svg, told];
  });
}

/** The floor: corners joined, a line where a wall runs on past one, each wall's letter beside it. Lengths come from the API's columns, not from
 * typed text. */
export function liveFloor(checked, walls) {
  const turns = walls.length === 6 ? [1, 1, 1, -1, 1, 1] : [1, 1, 1, 1];
  const points = [[0, 0]];
  const letters = [];
  const runOns = [];
  let angle = 0;
  walls.forEach((wall, at) => {
    const columns = columnsOf(checked, wall);
    const [from, to] = [wall.from, wall.to].map((corner) => columns.find((one) => one.crossing === corner).at_mm);
    const [x, y] = points.at(-1);
    const [dx, dy] = [Math.round(Math.cos(angle)), -Math.round(Math.sin(angle))];
    const point = (along) => [x + dx * (along - from), y + dy * (along - from)];
    points.push(point(to));
    if (from > 0) runOns.push([point(0), point(from)]);
    if (columns.at(-1).at_mm > to) runOns.push([point(to), point(columns.at(-1).at_mm)]);
    letters.push([wall.id, ...point((from + to) / 2)]);
    angle += (turns[(at + 1) % turns.length] * Math.PI) / 2;
  });
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  const size = Math.max(...xs, -Math.min(...ys));
  const edge = size / 8;
  const svg = part("svg", { class: "live floor", role: "img", "aria-label": `Floor with the walls ${walls.map((one) => one.id).join(", ")}`,
    viewBox: `${-edge} ${Math.min(...ys) - edge} ${Math.max(...xs) + 2 * edge} ${-Math.min(...ys) + 2 * edge}` },
    part("polygon", { class: "live-floor", points: points.slice(0, -1).map((one) => one.join(",")).join(" "), "stroke-width": size / 30 }),
    ...runOns.map(([[x1, y1], [x2, y2]]) => part("line", { class: "live-floor", x1, y1, x2, y2, "stroke-width": size / 30 })));
  for (const [id, x, y] of letters) svg.append(part("text", { x, y, "font-size": size / 14, "text-anchor": "middle", "dominant-baseline": "central", class: "live-letter", "stroke-width": size / 40 }, id));
  return svg;
}
