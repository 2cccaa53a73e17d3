// The API's drawings, put into the page so that their words can be read out and their parts pointed at.

import { ask } from "./api.js";
import { fill, make } from "./dom.js";

let count = 0;

/** Show a drawing, or the words `instead` if there is none. Resolves to the `<svg>`, or null. */
export async function draw(place, path, { label, instead }) {
  let text;
  try {
    text = await ask("GET", path, undefined, { as: "text" });
  } catch (error) {
    fill(place, make("p", { class: "nothing" }, instead || error.message));
    return null;
  }
  const svg = document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
  if (svg.localName !== "svg") throw new Error(`No drawing came from ${path}.`);
  makeIdsOwn(svg, `drawing-${(count += 1)}-`);
  const [, , width, height] = svg.getAttribute("viewBox").split(/\s+/).map(Number);
  svg.removeAttribute("width");
  svg.removeAttribute("height");
  const frame = make("div", { class: width > height * 1.2 ? "drawing broad" : "drawing", tabindex: "0", role: "region", "aria-label": label });
  frame.append(svg);
  const whole = make("a", { class: "whole", href: `/api/v1/${path}`, target: "_blank" }, "Open to print or enlarge", make("span", { class: "unseen" }, ` ${label}`));
  fill(place, frame, whole);
  return svg;
}

/** Two drawings on one page must not share ids. */
function makeIdsOwn(svg, start) {
  for (const part of [svg, ...svg.querySelectorAll("*")]) {
    for (const { name, value } of [...part.attributes]) {
      if (name === "id") part.setAttribute(name, start + value);
      else if (name.startsWith("aria-")) part.setAttribute(name, value.split(" ").map((id) => start + id).join(" "));
      else if (value.includes("url(#")) part.setAttribute(name, value.replace("url(#", `url(#${start}`));
      else if (name.endsWith("href") && value.startsWith("#")) part.setAttribute(name, `#${start}${value.slice(1)}`);
    }
  }
}

/** The parts of an elevation: `[{ part, wall, round, piece }]`, read from what each part says of itself. */
export function placesIn(svg) {
  return [...svg.querySelectorAll("g > title")].flatMap((title) => {
    const told = title.textContent.match(/wall (.+), round (\d+), piece (\d+)/);
    return told ? [{ part: title.parentNode, wall: told[1], round: Number(told[2]), piece: Number(told[3]), words: title.textContent }] : [];
  });
}
