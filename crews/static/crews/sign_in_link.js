// Sends what the link holds behind its mark, once the person says so; the answer brings the key as a cookie.

import { get } from "./api.js";
import { find } from "./dom.js";
import { forgetKept } from "./kept.js";

const FAULTS = {
  410: "This link was used already, or is older than ten minutes. Whoever runs the service can make another one (make sign-in).",
  429: "Too many links that open nothing came from here. Wait a minute, then try again.",
};
const form = find("sign-in");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  find("fault").hidden = true;
  const fault = await whyNot();
  if (!fault) { location.replace("/"); return; }
  find("fault").textContent = fault;
  find("fault").hidden = false;
});

/** Why this browser could not be signed in; null if it is. */
async function whyNot() {
  find("link").value = location.hash.slice(1);
  let answer;
  try {
    answer = await fetch(form.action, { method: "POST", body: new FormData(form), credentials: "same-origin" });
  } catch {
    return "No network. Signing in needs a signal.";
  }
  if (!answer.ok) return FAULTS[answer.status] || "The service cannot sign this browser in just now. Try again in a moment.";
  await forgetOtherCrew();
  return null;
}

/** What the browser keeps of another crew is not shown to this one. */
async function forgetOtherCrew() {
  const known = localStorage.getItem("kept me");
  if (known && JSON.parse(known).crew.id !== (await get("me")).crew.id) await forgetKept();
}
