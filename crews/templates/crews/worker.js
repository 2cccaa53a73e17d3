{% autoescape off %}// Keeps the pages' frames and files so that they open without a signal. What the API answers is never kept.
const KEPT = "roundlay-{{ mark }}";
const FILES = [{% for address in kept %}"{{ address }}", {% endfor %}];

self.addEventListener("install", (event) => {
  const asked = FILES.map((address) => new Request(address, { headers: { Accept: "text/html, */*" } }));
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(asked)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("roundlay-") && name !== KEPT);
  event.waitUntil(
    caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  const page = event.request.mode === "navigate" && !/^\/(api|sign-in|sign-out)/.test(address.pathname);
  const ours = address.origin === location.origin && (page || address.pathname.startsWith("/static/"));
  if (event.request.method === "GET" && ours) event.respondWith(freshOrKept(event.request, address.pathname));
});

async function freshOrKept(request, path) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await kept.put(path, answer.clone());
    return answer;
  } catch (lost) {
    const answer = await kept.match(path);
    if (answer) return answer;
    throw lost;
  }
}
{% endautoescape %}
