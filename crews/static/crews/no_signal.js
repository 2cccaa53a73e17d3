// Stands in for a page that needs a signal; the page that was wanted opens when it is back.

import { get } from "./api.js";
import { find } from "./dom.js";
import { run, start } from "./shell.js";

const EVERY_MS = 4_000;
const standsIn = location.pathname !== "/no-signal";
const again = () => { if (standsIn) location.reload(); else location.assign("/"); };

find("again").addEventListener("click", again);
if (standsIn) setInterval(() => get("me").then(again, () => {}), EVERY_MS); // not every phone says that it is online again
run(start);
