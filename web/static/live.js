// Live pages: listens for entries of the log and fetches the page anew, unless somebody is filling in a form. Without
// scripts the page is the same, only not anew by itself.
"use strict";
(() => {
  const body = document.body;
  if (!("live" in body.dataset) || !window.EventSource) return;
  const shown = document.querySelector("[data-live-state]");
  let heard = Date.now(), touched = Boolean(document.querySelector(".refusal")), fetching = false, again = false, leaving = false;

  const say = (words) => { if (shown) { shown.hidden = false; shown.textContent = body.dataset.kept ? "a copy, not up to date" : words; } };
  document.addEventListener("input", (e) => { if (e.target.closest("main form")) touched = true; });

  document.addEventListener("submit", () => { leaving = true; }); // the answer comes as a page of its own
  document.addEventListener("outbox:leaves", () => { leaving = true; });
  addEventListener("pageshow", () => { leaving = false; });

  // Inside main, somebody who types or has a form or a menu open is not disturbed.
  const busy = () => {
    const at = document.activeElement;
    return touched || Boolean(at && at.closest("main form, main details[open]"));
  };

  // An alarm breaks in also on somebody who is typing: it alone is put in, and the form stays as it is.
  const cry = (fresh) => {
    const was = document.querySelector("main [data-alarm]"), is = fresh.querySelector("[data-alarm]");
    if (was && is) { if (was.textContent !== is.textContent) was.replaceWith(is); } else if (is) { document.querySelector("main").prepend(is); } else if (was) { was.remove(); }
  };

  // What somebody does on the walk is shown there at once: the entry that it makes is no news to this page.
  let sending = false, news = [];
  document.addEventListener("walk:sends", () => { sending = true; news = []; });
  document.addEventListener("walk:sent", (e) => {
    const own = e.detail?.told?.entry;
    sending = leaving = false;
    if (e.detail?.ok) { touched = false; told = undefined; }
    known = Math.max(known, own ?? 0);
    if (news.some((n) => n !== own)) renew();
  });
  let known = 0; // the newest entry that this page made

  // words is what the page tells, without what only answers the reader's own last step.
  const words = (main) => {
    const copy = main.cloneNode(true);
    copy.querySelectorAll(".refusal, .done, .changed, [data-walk-say], [data-until]").forEach((e) => e.remove());
    return copy.textContent.replace(/\s+/g, " ");
  };
  let told = words(document.querySelector("main"));

  const renew = async () => {
    if (leaving) return;
    if (fetching) { again = true; return; }
    fetching = true;
    try {
      const answer = await fetch(body.dataset.path, { credentials: "same-origin", headers: { "Stillwatch-By-Itself": "yes" } });
      if (!answer.ok || answer.redirected) { document.querySelector("[data-changed]").hidden = false; return; }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.querySelector("main"), old = document.querySelector("main");
      if (fresh && busy()) {
        if (words(fresh) !== told) document.querySelector("[data-changed]").hidden = false;
        cry(fresh);
      } else if (fresh) {
        const folds = (e, css) => [...e.querySelectorAll(css)], word = (s) => s.textContent.replace(/[0-9]+/g, "");
        const open = new Set(folds(old, "details[open] > summary").map(word));
        for (const s of folds(fresh, "summary")) { if (open.has(word(s))) s.parentElement.open = true; }
        told = words(fresh);
        delete body.dataset.kept; // it is no copy any more
        old.replaceChildren(...fresh.childNodes);
        document.dispatchEvent(new Event("live:renewed"));
      }
    } catch { /* the line is down: the state beside the clock says so */ } finally {
      fetching = false;
      if (again) { again = false; renew(); }
    }
  };

  const events = new EventSource("/events");
  events.onopen = () => { heard = Date.now(); say("up to date"); if (body.dataset.kept) renew(); };
  events.addEventListener("beat", () => { heard = Date.now(); });
  events.addEventListener("entry", (e) => {
    heard = Date.now();
    const n = Number(e.lastEventId);
    if (sending) news.push(n); else if (n !== known) renew();
  });
  events.onerror = () => say("no line");
  setInterval(() => {
    const silent = Math.abs(Date.now() - heard); // a line that has died without a word still looks open
    if (events.readyState === EventSource.OPEN && silent < 35000) { say("up to date"); return; }
    say("last heard " + Math.round(silent / 1000) + " s ago");
  }, 5000);
})();
