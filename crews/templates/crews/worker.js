{% autoescape off %}// Keeps the pages' frames and files so that they open without a signal. What the API answers is never kept.
const KEPT = "roundlay-{{ mark }}";
const PAGES = [{% for address in pages %}"{{ address }}", {% endfor %}];
const FILES = [{% for address in files %}"{{ address }}", {% endfor %}];
const ID = /[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g;

self.addEventListener("install", (event) => {
  const asked = [...PAGES, ...FILES].map((address) => new Request(address, { headers: { Accept: "text/html, */*" } }));
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
  if (event.request.method === "GET" && ours) event.respondWith(freshOrKept(event.request, address.pathname, page));
});

// A page's frame is the same for every id: one that was kept opens them all.
const frameOf = (path) => path.replace(ID, "{{ any_id }}");

async function freshOrKept(request, path, page) {
  const kept = await caches.open(KEPT);
  const frame = frameOf(path);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected && (!page || PAGES.includes(frame))) await kept.put(frame, answer.clone());
    return answer;
  } catch (lost) {
    const answer = (await kept.match(frame)) ?? (page ? await kept.match("{{ no_signal }}") : undefined);
    if (answer) return answer;
    throw lost;
  }
}
{% endautoescape %}
