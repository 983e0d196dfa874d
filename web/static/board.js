// A board screen. It hears every few seconds how many entries the log has, and fetches the board anew when that is not
// the number that it shows. It says "live" only while it knows that it shows the register as it is: not when the line
// is merely open, not when it was heard of but could not be fetched, and not after a sleep. Its page says "not live"
// until this script has found out better.
"use strict";
(() => {
  const main = document.querySelector("main"), state = document.querySelector("[data-bs-state]");
  const clock = document.querySelector("[data-bs-clock]"), band = document.querySelector("[data-bs-stale]");
  const lasts = 12000, apart = 100, anew = 30000; // milliseconds: trust without a word, between two fetches, before one without an entry
  let sure, skew = Date.parse(main.querySelector("[data-board]").dataset.now) - Date.now(), lost = "";
  let fetching = false, again = false, last = 0;

  const board = () => main.querySelector("[data-board]");
  const size = () => Number(board().dataset.size);
  const madeAgo = () => Date.now() + skew - Date.parse(board().dataset.made);
  const two = (n) => String(n).padStart(2, "0");
  const span = (s) => {
    const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
    return h >= 48 ? Math.floor(h / 24) + " days" : h ? h + " h " + two(m) + " min" : m >= 10 ? m + " min" : m ? m + " min " + two(s % 60) + " s" : s + " s";
  };
  // The zone of the ship is that of the server's own times.
  const zone = () => { const z = /([+-])(\d\d):(\d\d)$/.exec(board().dataset.now); return z ? (z[1] + "1") * (z[2] * 60 + +z[3]) * 60000 : 0; };
  const shipTime = (ms) => { const t = new Date(ms + zone()); return two(t.getUTCHours()) + ":" + two(t.getUTCMinutes()) + ":" + two(t.getUTCSeconds()); };

  // age is for how long nothing is known, by two clocks: the steady one stands still in a sleep, the other can be set back.
  const age = () => sure && Math.max(Date.now() - sure.wall, performance.now() - sure.steady);
  const know = () => { sure = { wall: Date.now(), steady: performance.now() }; lost = ""; };

  const tell = () => {
    const old = age(), live = old !== undefined && old < lasts;
    state.textContent = live ? "up to date" : old === undefined ? "not up to date" : "OUT OF DATE " + span(Math.round(old / 1000));
    state.classList.toggle("ok", live);
    if (band.hidden !== live) {
      band.hidden = live;
      band.querySelector("b").textContent = sure ? "Out of date." : "Not up to date.";
    }
    if (!live) {
      const ago = Math.max(0, Math.round(madeAgo() / 1000));
      const why = lost || (sure ? "Nothing was heard from the register for " + span(Math.round(old / 1000)) + "." : "This page does not follow the register yet.");
      band.querySelector("[data-bs-why]").textContent = why;
      band.querySelector("[data-bs-age]").textContent = span(ago) + " ago";
    }
  };

  const count = () => {
    let over = false;
    for (const e of main.querySelectorAll("[data-until]")) {
      const left = Math.ceil((Date.parse(e.dataset.until) - Date.now() - skew) / 1000);
      over ||= left <= 0 && e.dataset.left > 0;
      e.dataset.left = left;
      const wait = e.dataset.ends === "read";
      e.textContent = left > 0 ? wait ? span(left) + " to wait" : "runs out in " + span(left) : wait ? "over: read it" : "ran out " + span(-left) + " ago";
    }
    if (over) renew();
  };

  const renew = async () => {
    if (fetching) { again = true; return; }
    fetching = true; again = false;
    const wait = last + apart - performance.now();
    if (wait > 0) await new Promise((done) => setTimeout(done, wait));
    last = performance.now();
    try {
      const answer = await fetch("/screen/now", { credentials: "same-origin", headers: { "Stillwatch-By-Itself": "yes" }, cache: "no-store", signal: AbortSignal.timeout(8000) });
      if (answer.redirected || answer.status === 401 || answer.status === 403) {
        sure = undefined; lost = "This screen may show the board no more. It was ended, or whoever was signed in is not.";
      } else if (answer.ok) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.querySelector("[data-board]");
        if (fresh.dataset.version !== board().dataset.version) { location.reload(); return; }
        band.querySelector(".bs-asof").firstChild.data = page.querySelector(".bs-asof").firstChild.data;
        const folds = (e) => [...e.querySelectorAll("details")], shut = folds(board()).map((d) => !d.open);
        folds(fresh).forEach((d, i) => { d.open = !shut[i]; });
        board().replaceWith(document.adoptNode(fresh));
        skew = Date.parse(answer.headers.get("Stillwatch-Now")) - Date.now();
        know();
        document.dispatchEvent(new Event("board:renewed"));
      } else { lost = "The register answers with a fault."; }
    } catch { /* no line: the age says so */ } finally {
      fetching = false;
      tell(); count();
      if (again) renew();
    }
  };

  let events;
  const listen = () => {
    events = new EventSource("/screen/events");
    events.addEventListener("beat", (e) => {
      if (Number(e.data) === size() && madeAgo() < 2 * anew) know(); else renew();
      tell();
    });
    events.onerror = () => {
      tell();
      if (events.readyState === EventSource.CLOSED) { setTimeout(listen, 5000); renew(); }
    };
  };
  listen();

  const tick = () => { clock.textContent = shipTime(Date.now() + skew); tell(); count(); };
  tick();
  setInterval(tick, 1000);
  setInterval(renew, anew);
  addEventListener("pageshow", tick);
  document.addEventListener("visibilitychange", () => { tick(); if (document.visibilityState === "visible") stay(); });

  const full = document.querySelector("[data-bs-full]");
  full.hidden = !document.fullscreenEnabled;
  full.addEventListener("click", () => (document.fullscreenElement ? document.exitFullscreen() : document.documentElement.requestFullscreen()).catch(() => {}));
  document.addEventListener("fullscreenchange", () => { full.textContent = document.fullscreenElement ? "Leave full screen" : "Full screen"; });
  const stay = () => { navigator.wakeLock?.request("screen").catch(() => {}); };
  stay();
})();
