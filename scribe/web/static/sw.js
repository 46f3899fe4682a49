// Pages for later: what was seen last opens without the machine too, to be read and ticked.
// Browsers run this on 127.0.0.1 and on secured addresses only.

const STORE = "scribe-seen-1";
const KEPT_PATHS = [/^\/$/, /^\/static\//, /^\/jobs\/[^/]+\/(print|photos|outline|piece|cut|lens)$/, /\/(small|shown|picture|sight|drawing\.svg)$/, /^\/jobs\/[^/]+\/made\//];
const MOST = 250;

self.addEventListener("install", (event) => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.searchParams.has("key") || !KEPT_PATHS.some((each) => each.test(url.pathname))) return;
  event.respondWith(freshOrKept(event.request));
});

async function freshOrKept(request) {
  const store = await caches.open(STORE);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await kept(store, request, answer.clone());
    return answer;
  } catch (fault) {
    const old = await store.match(request, { ignoreVary: true });
    if (old) return old;
    if (request.mode !== "navigate") throw fault;
    return new Response(MISSING, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
  }
}

async function kept(store, request, answer) {
  await store.put(request, answer);
  const all = await store.keys();
  for (const each of all.slice(0, Math.max(0, all.length - MOST))) await store.delete(each);
}

const MISSING = `<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>No answer - scribe</title>
<link rel="stylesheet" href="/static/page.css"><main><h1>The machine doesn't answer</h1>
<p>This screen was not opened before, so nothing of it is kept here. See that the machine is on and that <code>scribe serve</code> still runs there; then load the page again.</p>
<p><a href="/">All jobs</a></p></main></html>`;
