// The service worker: without a line it answers with what the phone keeps. It keeps the pages that somebody needs at
// the points (permit, plan, walks, tags that were opened) for whoever opened them, and for nobody else: they go when
// somebody signs out or in. A page from the phone is never passed off as the register: each says how old it is. Nothing
// that was sent is kept here, so no PIN is.
"use strict";
const shell = "stillwatch-shell", pages = "stillwatch-pages";
const longest = 12 * 3600 * 1000, patience = 5000; // milliseconds: no page is older than a session; waiting for an answer before the copy is shown
const keeps = (path) => /^\/permits\/\d+(\/(plan|walk|looks))?$/.test(path) || /^\/[Tt]\/[0-9A-Za-z]{17}$/.test(path);
const ends = ["/sign-out", "/sign-in", "/pin", "/screens"]; // after these another person has the phone, or nobody
const forget = () => caches.delete(pages);

self.addEventListener("install", (e) => e.waitUntil(caches.open(shell).then((c) => c.add("/kept")).then(() => self.skipWaiting())));
self.addEventListener("activate", (e) => e.waitUntil(self.clients.claim()));

// put keeps a page for the person whom it was made for. What is kept for another goes first.
const put = async (path, answer) => {
  const who = answer.headers.get("Stillwatch-For");
  if (!who || !answer.ok || answer.redirected) return;
  if ((await whose()) !== who) await forget();
  const headers = new Headers(answer.headers);
  headers.set("Kept-At", String(Date.now()));
  const body = await answer.blob(), cache = await caches.open(pages);
  await cache.put("/kept/who", new Response(who));
  await cache.put(path, new Response(body, { status: 200, headers }));
};
const whose = async () => (await (await caches.match("/kept/who", { cacheName: pages }))?.text()) ?? "";

// copy returns the page that is kept, with its age in words at its head; nothing where there is none, or too old a one.
const copy = async (path) => {
  const found = await caches.match(path, { cacheName: pages });
  if (!found) return undefined;
  const at = Number(found.headers.get("Kept-At")), age = Date.now() - at;
  if (!(Math.abs(age) < longest)) { await (await caches.open(pages)).delete(path); return undefined; }
  const html = await found.text(), made = /data-now="[^"T]*T(\d\d:\d\d)/.exec(html)?.[1] ?? "an unknown time";
  const words = age < 0 ? "of unknown age, since this phone's clock was changed" : age < 60000 ? "less than a minute old" : age < 3600000 ? Math.floor(age / 60000) + " min old" : Math.floor(age / 3600000) + " h " + Math.floor(age / 60000) % 60 + " min old";
  const head = `<section class="notice alarm kept" data-kept-note role="status"><div><p><b>No line. This page is a copy on this phone, <span data-kept-age>${words}</span>, as it stood at ${made}.</b> The register may stand otherwise now. Go by what you see at the point.</p></div></section>`;
  return new Response(html.replace("<body ", `<body data-kept="${at}" `).replace(/<main [^>]*>/, (m) => m + head), { headers: found.headers });
};

// page answers when somebody opens a page: from the register, else with the copy, else with the page that lists copies.
const page = async (e, request, path) => {
  const asked = fetch(request).then((answer) => {
    if (path === "/sign-in" && answer.ok) e.waitUntil(forget()); // nobody is signed in
    if (keeps(path)) e.waitUntil(put(path, answer.clone()));
    return answer;
  });
  const slow = keeps(path) && new Promise((_, fail) => setTimeout(fail, patience));
  try {
    return await (slow ? Promise.race([asked, slow]) : asked);
  } catch {
    const kept = keeps(path) && await copy(path);
    return kept || asked.catch(async () => await caches.match("/kept", { cacheName: shell }) ?? Response.error());
  }
};

const asset = async (request) => {
  const kept = await caches.match(request.url, { cacheName: shell });
  return kept ?? fetch(request);
};

self.addEventListener("fetch", (e) => {
  const request = e.request, url = new URL(request.url), path = url.pathname;
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && ends.includes(path)) e.waitUntil(forget());
  if (request.method !== "GET") return;
  if (path.startsWith("/static/")) e.respondWith(asset(request));
  else if (request.mode === "navigate") e.respondWith(page(e, request, path));
  else if (keeps(path)) {
    // A script that follows the register gets no copy: it would put the old in the place of the new.
    e.respondWith(fetch(request).then((answer) => { e.waitUntil(put(path, answer.clone())); return answer; }));
  }
});

// keep fetches what a page says that it needs: pages anew each time, assets once; older assets go.
const keep = async ({ paths, assets }) => {
  const cache = await caches.open(shell);
  for (const path of paths.filter(keeps)) {
    try { await put(path, await fetch(path, { credentials: "same-origin", headers: { "Stillwatch-By-Itself": "yes" } })); } catch { return; }
  }
  let news = false;
  for (const url of assets) { if (!await cache.match(url)) { try { await cache.add(url); news = true; } catch { return; } } }
  if (!news) return;
  await cache.add("/kept");
  for (const old of await cache.keys()) { const path = new URL(old.url).pathname; if (path.startsWith("/static/") && !path.includes("/scanner/") && !assets.includes(path)) await cache.delete(old); }
};

// list returns what is kept: address, title and age of each page.
const list = async () => {
  const cache = await caches.open(pages), out = [];
  for (const request of await cache.keys()) {
    const path = new URL(request.url).pathname, found = await cache.match(request);
    if (!keeps(path)) continue;
    out.push({ path, at: Number(found.headers.get("Kept-At")), title: /<title>([^<]*)<\/title>/.exec(await found.text())?.[1] ?? path });
  }
  return out;
};

self.addEventListener("message", (e) => e.waitUntil((async () => {
  if (e.data.keep) await keep(e.data.keep);
  if (e.data.forget) await forget();
  e.ports[0]?.postMessage(await list());
})()));
