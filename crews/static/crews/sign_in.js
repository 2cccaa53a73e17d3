// Tries the key before it is kept, so that a typing mistake is told beside the field.

import { find } from "./dom.js";

const form = find("sign-in");

find("show-key").addEventListener("change", (event) => {
  find("key").type = event.target.checked ? "text" : "password";
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const key = find("key").value.trim();
  let opens = true;
  try {
    const answer = await fetch("/api/v1/me", { headers: { Authorization: `Bearer ${key}` } });
    opens = answer.status !== 401;
  } catch {
    opens = false;
  }
  if (opens) return form.submit();
  find("key-fault").hidden = false;
  find("key").setAttribute("aria-invalid", "true");
  find("key").focus();
});
