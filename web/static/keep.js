// Has the service worker keep what somebody needs at the points, and says on a page that the phone kept how old it is.
// Over plain HTTP browsers have no service worker: then a page that was left is gone until there is a line.
"use strict";
(() => {
  const worker = navigator.serviceWorker, body = document.body, me = body.dataset.me;
  if (!window.isSecureContext || !worker) return;
  const ask = async (what) => {
    const ready = await worker.ready, line = new MessageChannel();
    return new Promise((done) => { line.port1.onmessage = (e) => done(e.data); ready.active.postMessage(what, [line.port2]); });
  };
  const kept = Number(body.dataset.kept);
  const words = (ms) => ms < 0 ? "of unknown age, since this phone's clock was changed" : ms < 60000 ? "less than a minute old" : ms < 3600000 ? Math.floor(ms / 60000) + " min old" : Math.floor(ms / 3600000) + " h " + Math.floor(ms / 60000) % 60 + " min old";

  // What the page needs to be shown again: its assets, the walk's own pages, and there the reader of photos.
  const permit = document.querySelector("[data-walk]")?.dataset.walk ?? /^\/permits\/(\d+)/.exec(location.pathname)?.[1];
  const assets = () => {
    const of = (css, name) => [...document.querySelectorAll(css)].map((e) => e.getAttribute(name));
    const scanner = document.querySelector("[data-walk]") ? [...of("[data-scan]", "data-scan"), ...of("[data-wasm]", "data-wasm")] : [];
    return [...new Set([...of("link[rel=stylesheet], link[rel=icon]", "href"), ...of("script[src]", "src"), ...scanner])].filter((u) => u.startsWith("/static/"));
  };
  const paths = () => permit ? [location.pathname, "/permits/" + permit, "/permits/" + permit + "/plan", "/permits/" + permit + "/walk", "/permits/" + permit + "/looks"] : [location.pathname];
  let waits;
  const keep = () => { if (body.dataset.kept) return; clearTimeout(waits); waits = setTimeout(() => ask({ keep: { paths: paths(), assets: assets() } }).then(() => { body.dataset.keeps = "yes"; }), 300); };
  if (me) {
    worker.register("/worker.js").then(keep).catch(() => {});
    for (const name of ["walk:sent", "outbox:sent", "live:renewed"]) document.addEventListener(name, keep);
  }

  // On a copy nothing is signed: what is not kept on the phone for sending waits for a page of the register.
  if (kept) {
    for (const e of document.querySelectorAll("[name=act_id]")) if (e.value) e.value = outbox.newID(); // the copy is shown more than once
    document.addEventListener("submit", (e) => {
      if (!body.dataset.kept || e.defaultPrevented || e.target.closest("[data-walk-now], [data-keep], #f-fit, #f-look") || e.target.method === "get") return;
      e.preventDefault();
      e.target.querySelector("[data-kept-no]")?.remove();
      const p = document.createElement("p");
      p.className = "mind"; p.dataset.keptNo = ""; p.setAttribute("role", "alert");
      p.textContent = "Nothing is recorded: this page is a copy. Load it anew where there is a line, then do it again.";
      e.target.prepend(p);
    });
    setInterval(() => { for (const e of document.querySelectorAll("[data-kept-age]")) e.textContent = words(Date.now() - kept); }, 10000);
    const back = () => body.dataset.kept && fetch(location.pathname, { credentials: "same-origin", headers: { "Stillwatch-By-Itself": "yes" } }).then((a) => {
      if (!a.ok || a.redirected || document.querySelector("[data-kept-back]")) return;
      const p = document.createElement("p"), link = document.createElement("a");
      p.dataset.keptBack = ""; link.href = location.href; link.textContent = "There is a line again. Show the page as the register has it."; link.className = "button";
      p.append(link); document.querySelector("[data-kept-note] div")?.append(p);
    }).catch(() => {});
    setInterval(back, 5000);
  }

  // The code of a tag that was scanned without a line goes into the walk's form.
  const code = new URLSearchParams(location.search).get("code"), field = document.querySelector("[data-walk-now] [name=code]");
  if (code && field && !field.value) { field.value = code; field.form.elements.how.value = "phone"; }

  // The page that comes when there is no line and no copy: it lists what is kept.
  const place = document.querySelector("[data-kept-list]");
  if (place) {
    const tag = /^\/[Tt]\/([0-9A-Za-z]{17})$/.exec(location.pathname)?.[1].toUpperCase();
    const link = (href, text) => { const a = document.createElement("a"); a.href = href; a.textContent = text; a.className = "button"; return a; };
    caches.has("stillwatch-pages").then((any) => any ? ask({ list: true }) : []).then((list) => {
      const walks = list.filter((p) => p.path.endsWith("/walk"));
      if (tag) {
        const p = document.createElement("p");
        p.className = "big"; p.textContent = walks.length ? "You scanned the tag " + tag + ". Whose it is cannot be looked up now. If it belongs to a permit below, open that walk with it:" : "You scanned the tag " + tag + ". No walk is kept on this phone: nothing can be recorded here now.";
        place.before(p);
      }
      for (const page of (tag ? walks : list)) {
        const li = document.createElement("li");
        li.append(link(page.path + (tag ? "?code=" + tag : ""), page.title.replace(/ · .*$/, "") + ", " + words(Date.now() - page.at)));
        place.append(li);
      }
      if (!list.length) { const p = document.createElement("p"); p.textContent = "No page is kept on this phone."; place.before(p); }
      body.dataset.listed = "yes";
    });
  }
})();
