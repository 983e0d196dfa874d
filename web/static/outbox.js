// What was fitted, looked at or read while there was no line waits here, on the phone, and is sent in its order when the line is back. It is
// not recorded before the register has answered, and every page says so until then. Each act carries the id that its form
// was made with, so that one sent twice happens once, and who filled it in, so that it is never recorded as another's.
"use strict";
globalThis.outbox = (() => {
  const key = "stillwatch-outbox", patience = 10000; // milliseconds for one answer
  const list = () => { try { return JSON.parse(localStorage.getItem(key)) ?? []; } catch { return []; } };
  const save = (items) => { if (items.length) localStorage.setItem(key, JSON.stringify(items)); else localStorage.removeItem(key); tell(); };
  let sending = false, said;

  // post sends one form. It gives {told} once the register has answered, with ok for yes; nothing when there is no line.
  const post = async (item) => {
    const body = new URLSearchParams(item.body), wait = Math.round((Date.now() - item.at) / 1000);
    if (item.kept && wait > 0) body.set("kept_s", wait);
    try {
      const answer = await fetch(item.path, { method: "POST", body, headers: { Accept: "application/json" }, credentials: "same-origin", signal: AbortSignal.timeout(patience) });
      if (answer.status >= 500) return undefined; // it may have happened: the same id is sent again
      return { ok: answer.ok, status: answer.status, told: await answer.json() };
    } catch { return undefined; }
  };

  // flush sends what waits, oldest first, and stops at the first that is refused or finds no line. What was refused is
  // sent again only by hand.
  const flush = async (byHand = false) => {
    if (sending || !list().length || said && !byHand) return;
    sending = true;
    try {
      for (let items = list(); items.length; items = list()) {
        const got = await post(items[0]);
        if (!got) break;
        if (!got.ok) { said = got.told; break; }
        said = undefined;
        save(list().slice(1));
        document.dispatchEvent(new CustomEvent("outbox:sent", { detail: { item: items[0], told: got.told } }));
      }
    } finally { sending = false; tell(); }
  };

  // tell shows on every page what waits.
  const tell = () => {
    const items = list();
    let box = document.querySelector("[data-outbox]");
    if (!items.length) { box?.remove(); return; }
    if (!box) {
      box = document.createElement("section");
      box.className = "notice alarm"; box.dataset.outbox = ""; box.setAttribute("role", "status");
      document.querySelector("main").before(box);
    }
    const p = (text, tag = "p") => { const e = document.createElement(tag); e.textContent = text; return e; };
    const names = items.map((i) => i.name).join(", ");
    const parts = [p(`Not recorded yet: ${names}. ${items.length === 1 ? "It is" : "They are"} on this phone only, and ${items.length === 1 ? "is" : "are"} sent when there is a line. Keep this phone.`)];
    if (said) parts.push(p(`${items[0].name} was refused: ${said.what ?? ""} ${said.opens ?? ""}`));
    const again = p("Send now", "button"); again.type = "button"; again.className = "small";
    again.addEventListener("click", () => flush(true));
    parts.push(again);
    if (said) {
      const drop = p(`Forget ${items[0].name} on this phone`, "button"); drop.type = "button"; drop.className = "small plain";
      drop.addEventListener("click", () => { if (confirm(`${items[0].name} will not be recorded. Tell the officer of the watch what hangs there. Forget it?`)) { said = undefined; save(list().slice(1)); flush(); } });
      parts.push(drop);
    }
    box.replaceChildren(...parts);
  };

  const keep = (item) => save([...list(), { ...item, kept: true }]);

  // Readings: where there is no line their form is kept here instead of being lost with the page. A line is there when
  // anything answers. The verdict comes when it is recorded, and not before.
  const line = () => fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(4000) }).then(() => true, () => false);
  document.addEventListener("submit", async (e) => {
    const form = e.target, name = form.dataset.keep, button = e.submitter;
    if (!name || e.defaultPrevented) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    if (form.dataset.sending) return;
    form.dataset.sending = "yes";
    const body = new URLSearchParams(new FormData(form));
    if (button?.name) body.set(button.name, button.value);
    const at = Date.now();
    if (!list().length && await line()) {
      if (button?.name) { const i = document.createElement("input"); i.type = "hidden"; i.name = button.name; i.value = button.value; form.append(i); }
      document.dispatchEvent(new Event("outbox:leaves"));
      form.submit();
      setTimeout(() => { delete form.dataset.sending; }, 3000);
      return;
    }
    keep({ name, permit: /^\/permits\/(\d+)/.exec(form.getAttribute("action"))?.[1], path: form.getAttribute("action"), body: body.toString(), at });
    const p = document.createElement("p");
    p.className = "mind"; p.setAttribute("role", "status"); p.dataset.keptReading = "";
    p.textContent = `Kept on this phone: ${name}. It is NOT recorded yet, and nobody has judged it. Rely on nothing before.`;
    form.replaceWith(p);
    flush();
  }, true);

  // newID draws the id of an act: a UUID of version 7, as the server draws them.
  const newID = () => {
    const b = crypto.getRandomValues(new Uint8Array(16)), at = Date.now();
    for (let i = 0; i < 6; i++) b[i] = Math.floor(at / 256 ** (5 - i)) % 256;
    b[6] = b[6] & 15 | 0x70;
    b[8] = b[8] & 63 | 0x80;
    return [...b].map((x, i) => ([4, 6, 8, 10].includes(i) ? "-" : "") + x.toString(16).padStart(2, "0")).join("");
  };

  document.addEventListener("outbox:sent", () => { if (!list().length && document.querySelector("[data-kept-reading]")) location.reload(); });

  addEventListener("online", () => flush());
  addEventListener("storage", tell);
  setInterval(() => flush(), 5000);
  tell();
  flush();
  return { list, post, keep, flush, newID };
})();
