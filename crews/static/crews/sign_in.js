// Tries the key before it is kept, so that a typing mistake is told beside the field.

import { find } from "./dom.js";
import { forgetKept } from "./kept.js";

const form = find("sign-in");
const wanted = sessionStorage.getItem("wanted");
const known = localStorage.getItem("kept me");

find("show-key").addEventListener("change", (event) => {
  find("key").type = event.target.checked ? "text" : "password";
});

if (wanted && !known) {
  // Nobody was signed in here: no key was refused, there was none.
  find("first").hidden = false;
  showFault(null);
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const fault = await whyNot(find("key").value.trim());
  showFault(fault);
  if (fault) { find("key").focus(); return; }
  find("wanted").value = wanted || "";
  sessionStorage.removeItem("wanted");
  form.submit();
});

/** Why the key cannot be used; null if it opens a crew. */
async function whyNot(key) {
  try {
    const answer = await fetch("/api/v1/me", { headers: { Authorization: `Bearer ${key}` }, credentials: "omit" });
    if (answer.status === 401) return "This key is not valid. Look for a missing letter, or ask your lead for a new key.";
    if (!answer.ok) return "The service cannot look at the key just now. Try again in a moment.";
    const { crew } = await answer.json();
    if (known && JSON.parse(known).crew.id !== crew.id) await forgetKept();
    return null;
  } catch {
    return "No network. Signing in needs a signal.";
  }
}

function showFault(words) {
  find("key-fault").hidden = !words;
  if (!words) { find("key").removeAttribute("aria-invalid"); return; }
  find("key-fault").textContent = words;
  find("key").setAttribute("aria-invalid", "true");
}
